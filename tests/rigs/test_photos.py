"""Photos of places: kept by keepers, shown where a place is, and never of a controlled one."""

from collections.abc import Callable
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from drills.engine.layout import Layout as EngineLayout
from drills.engine.layout import StockLine
from drills.people.models import AuditEntry, Person
from drills.rigs import photographed
from drills.rigs.actions import import_layout, pick_rig, tell_difference
from drills.rigs.actions.photos import keep_photo
from drills.rigs.models import Item, Need, Place, PlacePhoto, Rig, TieDecision
from drills.rigs.picturing import PhotoRefusedError, picture_of
from tests.layouts import MEDICINES, practice_rig
from tests.rigs.conftest import FRAGMENT, NOW, ClientOf

DRAWING = reverse("rigs:layout", args=["practice-rig"])
Sender = Callable[..., Any]


def jpeg(colour: str = "red", size: tuple[int, int] = (400, 300)) -> bytes:
    out = BytesIO()
    Image.new("RGB", size, colour).save(out, "JPEG")
    return out.getvalue()


def place_of(code: str) -> Place:
    return Place.objects.filter(compartments__code=code).distinct().get()


def address(code: str) -> str:
    return reverse("rigs:place_photo", args=[place_of(code).pk])


def kept(code: str, keeper: Person, alt: str = "Shelf with two bags") -> PlacePhoto:
    return keep_photo(place_of(code), picture_of(jpeg()), alt=alt, by=keeper, now=NOW)


def source(photo: PlacePhoto) -> str:
    return reverse("rigs:photo", args=[photo.token])


def changed(rig: EngineLayout, code: str, **how: Any) -> EngineLayout:
    return replace(
        rig,
        compartments=tuple(
            replace(each, **how) if each.code == code else each for each in rig.compartments
        ),
    )


@pytest.fixture
def send(rig: Rig, client_of: ClientOf, keeper: Person) -> Sender:
    """Sends a photo of a place as the keeper's browser does."""
    client = client_of(keeper)

    def sent(
        code: str = "S1A", data: bytes | None = None, alt: str = "Two bags", **more: Any
    ) -> Any:
        file = SimpleUploadedFile("a.jpg", jpeg() if data is None else data)
        return client.post(address(code), {"photo": file, "alt": alt} | more, follow=True)

    return sent


def test_a_photo_is_kept_and_shown_where_its_place_is_opened(
    send: Sender, client_of: ClientOf, hire: Person, keeper: Person
) -> None:
    response = send()

    photo = PlacePhoto.objects.get()
    assert "The photo is kept: 400 x 300 pixels" in response.content.decode()
    assert (photo.place, photo.uploaded_by, photo.alt) == (place_of("S1A"), keeper, "Two bags")
    for headers in ({}, FRAGMENT):
        found = client_of(hire).get(DRAWING, {"open": "S1"}, headers=headers).content.decode()
        assert f'<img src="{source(photo)}" width="400" height="300" alt="Two bags"' in found
    assert source(photo) not in client_of(hire).get(DRAWING).content.decode()
    assert source(photo) not in client_of(hire).get(DRAWING, {"open": "I1"}).content.decode()


def test_a_search_shows_the_photo_of_the_nearest_place(
    send: Sender, client_of: ClientOf, hire: Person
) -> None:
    send("S1A")
    client = client_of(hire)

    in_a_pocket = client.get(DRAWING, {"find": "suction tip"}).content.decode()
    elsewhere = client.get(DRAWING, {"find": "gauze"}).content.decode()

    photo = PlacePhoto.objects.get()
    assert source(photo) in in_a_pocket
    assert source(photo) not in elsewhere
    send("BAG-L", alt="Lid")
    nearer = client.get(DRAWING, {"find": "suction tip"}).content.decode()
    assert 'alt="Lid"' in nearer
    assert source(photo) not in nearer


def test_the_picture_is_sent_as_what_it_is_and_kept_by_nobody(
    send: Sender, client_of: ClientOf, hire: Person
) -> None:
    send()
    photo = PlacePhoto.objects.get()

    response = client_of(hire).get(source(photo))

    assert response.content == bytes(photo.image)
    assert response["Content-Type"] == "image/jpeg"
    assert response["X-Content-Type-Options"] == "nosniff"
    assert {"no-store", "private"} <= {
        each.strip() for each in response["Cache-Control"].split(",")
    }
    assert Image.open(BytesIO(response.content)).size == (400, 300)


def test_a_stranger_gets_no_picture(send: Sender) -> None:
    send()

    response = Client().get(source(PlacePhoto.objects.get()))

    assert response.status_code == 302
    assert response["Location"].startswith(reverse("people:sign_in"))


def test_no_picture_while_an_assessed_prompt_is_open(
    send: Sender, client_of: ClientOf, assessed_hire: Person
) -> None:
    send()

    assert client_of(assessed_hire).get(source(PlacePhoto.objects.get())).status_code == 403


def test_its_address_tells_nothing_of_the_place_and_is_new_with_each(send: Sender) -> None:
    send()
    first = PlacePhoto.objects.get().token
    send(data=jpeg("blue"))

    second = PlacePhoto.objects.get().token
    assert first != second
    assert min(len(first), len(second)) >= 24


def test_another_photo_takes_the_place_of_the_first(send: Sender, keeper: Person) -> None:
    send(alt="Before")
    send(data=jpeg("blue"), alt="After")

    photo = PlacePhoto.objects.get()
    pixel: Any = Image.open(BytesIO(bytes(photo.image))).getpixel((5, 5))
    assert (photo.alt, pixel[2] > 200) == ("After", True)
    lines = AuditEntry.objects.filter(action="keep photo").order_by("id")
    assert [(line.actor, line.before and line.before["alt"]) for line in lines] == [
        (keeper, None),
        (keeper, "Before"),
    ]
    assert {line.subject for line in lines} == {place_of("S1A").key}


def test_a_photo_is_taken_away(send: Sender, client_of: ClientOf, keeper: Person) -> None:
    send()
    photo = PlacePhoto.objects.get()

    for _ in range(2):
        response = client_of(keeper).post(address("S1A"), {"remove": "yes"}, follow=True)
        assert response.status_code == 200

    assert not PlacePhoto.objects.exists()
    assert client_of(keeper).get(source(photo)).status_code == 404
    assert AuditEntry.objects.filter(action="remove photo", actor=keeper).count() == 1


@pytest.mark.parametrize("code", ["I1B", "I1"])
def test_a_locked_place_and_what_holds_one_is_refused(
    send: Sender, client_of: ClientOf, keeper: Person, code: str
) -> None:
    response = send(code)

    assert response.status_code == 422
    assert "Such a place is never photographed" in response.content.decode()
    assert not PlacePhoto.objects.exists()
    assert 'type="file"' not in client_of(keeper).get(address(code)).content.decode()


@pytest.mark.parametrize("tied", ["by rule", "by its keeper", "suggested"])
@pytest.mark.parametrize("code", ["BAG-M", "BAG", "S1A", "S1"])
def test_a_place_with_something_controlled_in_it_is_refused(
    send: Sender, keeper: Person, code: str, tied: str
) -> None:
    names = {"by rule": "Tourniquet", "by its keeper": "Odd", "suggested": "Tourniquet, limb"}
    need = Need.objects.create(
        key="x",
        name_us=names[tied],
        name_intl=names[tied],
        category="circulation and bleeding",
        is_controlled=True,
    )
    if tied == "by its keeper":
        item = Item.objects.get(key="trauma dressing")
        TieDecision.objects.create(item=item, need=need, decided_by=keeper, decided_at=NOW)
    if tied == "by rule":
        import_layout(replace(practice_rig(), notes="x"), by=None, now=NOW, publish=True)

    response = send(code)

    assert response.status_code == 422
    assert "holds something controlled" in response.content.decode()
    assert not PlacePhoto.objects.exists()


def test_a_place_whose_neighbour_is_controlled_may_be_photographed(send: Sender) -> None:
    assert send("I1A").status_code == 200
    assert PlacePhoto.objects.get().place == place_of("I1A")


Later = Callable[[EngineLayout], EngineLayout]


def locked(rig: EngineLayout) -> EngineLayout:
    return changed(rig, "S1A", locked=True)


def door_locked(rig: EngineLayout) -> EngineLayout:
    return changed(rig, "S1", locked=True)


def pocket_locked(rig: EngineLayout) -> EngineLayout:
    return changed(rig, "BAG-L", locked=True)


def holding_opioids(rig: EngineLayout) -> EngineLayout:
    return replace(rig, stock=(*rig.stock, StockLine("BAG-L", "Morphine", 2, category=MEDICINES)))


@pytest.mark.parametrize("publish", [True, False], ids=["published", "draft"])
@pytest.mark.parametrize("later", [locked, door_locked, pocket_locked, holding_opioids])
def test_a_place_that_becomes_controlled_is_shown_no_more(
    rig: Rig, client_of: ClientOf, hire: Person, keeper: Person, later: Later, publish: bool
) -> None:
    Need.objects.create(
        key="m", name_us="Morphine", name_intl="Morphine", category=MEDICINES, is_controlled=True
    )
    photo, client = kept("S1A", keeper), client_of(hire)
    pages = [(DRAWING, {"open": "S1"}), (DRAWING, {"find": "splint"})]
    assert all(source(photo) in client.get(*each).content.decode() for each in pages)

    import_layout(later(practice_rig()), by=None, now=NOW, publish=publish)

    assert client.get(source(photo)).status_code == 404
    assert client_of(keeper).get(source(photo)).status_code == 404
    assert not any(source(photo) in client.get(*each).content.decode() for each in pages)
    told = client_of(keeper).get(address("S1A")).content.decode()
    assert "is shown to nobody" in told
    assert source(photo) not in told
    assert "Take the photo away" in told


def test_a_rig_that_carries_something_controlled_elsewhere_shows_no_photo_of_there(
    rig: Rig, client_of: ClientOf, hire: Person, keeper: Person
) -> None:
    Need.objects.create(
        key="f", name_us="Fentanyl", name_intl="Fentanyl", category=MEDICINES, is_controlled=True
    )
    import_layout(replace(practice_rig(), notes="tied"), by=None, now=NOW, publish=True)
    rig.refresh_from_db()
    photo, client = kept("S1A", keeper), client_of(hire)
    pick_rig(hire, rig, now=timezone.now())
    assert source(photo) in client.get(DRAWING, {"open": "S1"}).content.decode()

    tell_difference(rig, thing="fentanyl", place="", here="S1A", by=keeper, now=NOW)

    assert source(photo) not in client.get(DRAWING, {"open": "S1"}).content.decode()


def test_it_is_shown_again_once_no_rig_rides_what_was_controlled(
    rig: Rig, client_of: ClientOf, hire: Person, keeper: Person
) -> None:
    photo = kept("S1A", keeper)
    import_layout(locked(practice_rig()), by=None, now=NOW, publish=True)
    import_layout(replace(practice_rig(), notes="open"), by=None, now=NOW, publish=True)

    assert client_of(hire).get(source(photo)).status_code == 200


@pytest.mark.parametrize(
    ("data", "more", "said"),
    [
        (b"", {}, "The file is empty."),
        (b"hello" * 50, {}, "no photo that can be read"),
        (b"\x00\x00\x00\x18ftypheic" + bytes(99), {}, "An HEIC photo came in."),
        (jpeg()[:700], {}, "not whole"),
        (bytes(12 * 1024 * 1024 + 1), {}, "12.0 MB came in. At most 12 MB is read."),
        (jpeg(), {"alt": " "}, "Say in words what the photo shows."),
        (jpeg(), {"alt": "x" * 201}, "at most 200 characters"),
        (jpeg(), {"photo": ""}, "No file came in."),
    ],
)
def test_what_cannot_be_kept_is_said_and_nothing_stored(
    send: Sender, data: bytes, more: dict[str, str], said: str
) -> None:
    response = send(data=data, **more)

    assert response.status_code == 422
    assert said in response.content.decode()
    assert not PlacePhoto.objects.exists()
    assert not AuditEntry.objects.filter(action="keep photo").exists()


def test_the_form_says_what_is_not_to_be_in_it(
    rig: Rig, client_of: ClientOf, keeper: Person
) -> None:
    found = client_of(keeper).get(address("S1A")).content.decode()

    assert "No people, no patients in the picture." in found
    assert "No names, no patients." in found


def test_words_of_a_photo_cannot_break_the_page(
    send: Sender, client_of: ClientOf, hire: Person
) -> None:
    send(alt='"><b>x</b>')

    found = client_of(hire).get(DRAWING, {"open": "S1"}).content.decode()

    assert "<b>x</b>" not in found
    assert "&quot;&gt;&lt;b&gt;x" in found


def test_keepers_are_led_to_each_place_behind_a_door_and_crew_are_not(
    rig: Rig, client_of: ClientOf, keeper: Person, hire: Person
) -> None:
    mine = client_of(keeper).get(DRAWING, {"open": "S1"}).content.decode()
    theirs = client_of(hire).get(DRAWING, {"open": "S1"}).content.decode()

    for code in ("S1", "S1A", "BAG", "BAG-L"):
        assert address(code) in mine
    assert address("I1A") not in mine
    assert "/rigs/photos/of/" not in theirs


def test_the_place_of_a_draft_alone_is_for_keepers(
    rig: Rig, client_of: ClientOf, keeper: Person, hire: Person
) -> None:
    first = practice_rig().compartments[1]
    new = replace(first, code="S1N", name="New shelf", rect=None, place="")
    draft = replace(practice_rig(), compartments=(*practice_rig().compartments, new))
    draft = changed(draft, "S1N", rect=None)
    import_layout(draft, by=None, now=NOW)
    photo = kept("S1N", keeper)

    assert client_of(keeper).get(source(photo)).status_code == 200
    assert client_of(hire).get(source(photo)).status_code == 404


def test_a_photo_outlives_the_next_revision(
    rig: Rig, client_of: ClientOf, hire: Person, keeper: Person
) -> None:
    photo = kept("S1A", keeper)

    import_layout(changed(practice_rig(), "S1A", name="Bag shelf"), by=None, now=NOW, publish=True)

    found = client_of(hire).get(DRAWING, {"open": "S1"}).content.decode()
    assert source(photo) in found


def test_pages_without_photos_ask_once(
    rig: Rig, monkeypatch: pytest.MonkeyPatch, client_of: ClientOf, hire: Person
) -> None:
    def refuse(*_: Any, **__: Any) -> None:
        raise AssertionError("looked for what is controlled")

    monkeypatch.setattr(photographed, "controlled_among", refuse)

    assert client_of(hire).get(DRAWING, {"open": "S1"}).status_code == 200


def test_a_controlled_place_is_refused_past_the_page(rig: Rig, keeper: Person) -> None:
    with pytest.raises(PhotoRefusedError, match="never photographed"):
        kept("I1B", keeper)


@pytest.mark.django_db(transaction=True)
def test_a_backup_holds_photos_to_the_byte(rig: Rig, keeper: Person, tmp_path: Path) -> None:
    photo = kept("S1A", keeper)
    image = bytes(PlacePhoto.objects.get().image)
    call_command("backup", str(tmp_path / "one.zip"))
    call_command("flush", interactive=False, verbosity=0)

    call_command("restore", str(tmp_path / "one.zip"))

    assert bytes(PlacePhoto.objects.get(token=photo.token).image) == image
