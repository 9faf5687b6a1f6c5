"""Labels made, renewed and scanned; what a label tells, and to whom."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from typing import Any
from unittest.mock import patch

import pytest
from django.db import IntegrityError, connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from drills.engine.layout import StockLine
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import (
    import_layout,
    make_labels,
    refit_rig,
    renew_labels,
    tell_difference,
)
from drills.rigs.actions.labels import SCANS_COUNTED_FOR, SCANS_OF_ADDRESS, SCANS_OF_PERSON
from drills.rigs.models import Item, ItemTerms, Need, Place, PlaceLabel, Rig, ScanTally, TieDecision
from drills.rigs.records import erase, record_of
from tests.layouts import practice_rig
from tests.rigs.conftest import FRAGMENT, NOW, ClientOf

SIGN_IN = reverse("people:sign_in")
SECRETS = ("Midazolam", "Fentanyl")


@pytest.fixture
def labels(rig: Rig, keeper: Person) -> dict[str, PlaceLabel]:
    """Every place of the practice rig labelled, by code; a place's key is its code there."""
    rows = make_labels(rig, list(Place.objects.filter(layout=rig.layout)), by=keeper, now=NOW)
    return {row.place.key: row for row in rows}


def url_of(token: str) -> str:
    return reverse("rigs:label", args=[token])


def plain(response: Any, token: str) -> tuple[int, str, list[tuple[str, str]]]:
    """An answer without the token asked for, what is random in every page, and the time."""
    body = re.sub(
        r'(?<=csrfmiddlewaretoken" value=")\w+|(?<="x-csrftoken": ")\w+', "", _text(response)
    )
    told = {name: value.replace(token, "") for name, value in response.headers.items()}
    told.pop("Expires")  # the second of the answer
    return response.status_code, body.replace(token, ""), sorted(told.items())


def _text(response: Any) -> str:
    return str(response.content.decode())


def place(key: str) -> Place:
    return Place.objects.get(key=key)


def test_each_place_gets_one_label_however_often_sheets_are_made(
    rig: Rig, keeper: Person, labels: dict[str, PlaceLabel]
) -> None:
    again = make_labels(rig, [place("S1")], by=keeper, now=NOW)

    assert again == []
    assert len({row.token for row in labels.values()}) == 9
    assert AuditEntry.objects.filter(action="make labels").count() == 1


def test_a_token_is_random_and_says_nothing_of_its_place(labels: dict[str, PlaceLabel]) -> None:
    """96 bits take 16 letters of 64; two of them share no more than chance has them share."""
    tokens = [row.token for row in labels.values()]

    assert {len(token) for token in tokens} == {16}
    assert len({token[:3] for token in tokens}) == len(tokens)


def test_a_place_that_the_rig_does_not_have_gets_no_label(rig: Rig, keeper: Person) -> None:
    strange = Place.objects.create(layout=rig.layout, key="ROOF")

    with pytest.raises(ValueError, match="Rig 11 has no place ROOF"):
        make_labels(rig, [place("S1"), strange], by=keeper, now=NOW)

    assert PlaceLabel.objects.count() == 0


def test_the_database_holds_one_open_label_of_a_place(
    rig: Rig, labels: dict[str, PlaceLabel]
) -> None:
    with pytest.raises(IntegrityError):
        PlaceLabel.objects.create(rig=rig, place=labels["S1"].place, made_at=NOW)


def test_a_renewed_label_is_dead_at_once_as_if_it_had_never_been(
    rig: Rig, keeper: Person, hire: Person, client_of: ClientOf, labels: dict[str, PlaceLabel]
) -> None:
    old, client = labels["S1"], client_of(hire)
    assert client.get(url_of(old.token)).status_code == 200

    counts = renew_labels(rig, [old.place], by=keeper, now=NOW)

    dead, never = client.get(url_of(old.token)), client.get(url_of("A" * 16))
    assert counts == (1, 1)
    assert dead.status_code == never.status_code == 404
    assert plain(dead, old.token) == plain(never, "A" * 16)
    new = rig.labels.open().get(place=old.place)
    assert new.token != old.token
    assert client.get(url_of(new.token)).status_code == 200
    assert client.get(url_of(labels["S1A"].token)).status_code == 200


def test_a_whole_rig_is_renewed_at_once_and_no_other(
    rig: Rig, keeper: Person, labels: dict[str, PlaceLabel]
) -> None:
    other = Rig.objects.create(unit="12", layout=rig.layout, revision=rig.revision)
    make_labels(other, [place("S1")], by=keeper, now=NOW)

    counts = renew_labels(rig, None, by=keeper, now=NOW)

    assert counts == (9, 9)
    assert not {row.token for row in labels.values()} & {row.token for row in rig.labels.open()}
    assert PlaceLabel.objects.get(rig=other).ended_at is None
    ended = PlaceLabel.objects.filter(rig=rig).exclude(ended_at=None)
    assert {(row.ended_at, row.ended_by) for row in ended} == {(NOW, keeper)}
    told = AuditEntry.objects.filter(action__endswith="labels", subject="11")
    assert list(told.order_by("pk").values_list("action", flat=True)) == [
        *("make labels", "end labels", "make labels")
    ]
    assert not any(row.token in str(entry.after) for row in labels.values() for entry in told)


def test_renewing_is_all_or_nothing(
    rig: Rig, keeper: Person, labels: dict[str, PlaceLabel]
) -> None:
    at = "drills.rigs.actions.labels.PlaceLabel.objects.bulk_create"
    with patch(at, side_effect=OSError("full")), pytest.raises(OSError, match="full"):
        renew_labels(rig, None, by=keeper, now=NOW)

    assert rig.labels.open().count() == 9
    assert not AuditEntry.objects.filter(action="end labels").exists()


@pytest.fixture
def refitted(rig: Rig, keeper: Person, labels: dict[str, PlaceLabel]) -> Rig:
    """Another revision, in which the lid pocket is gone with what was in it."""
    layout = practice_rig()
    kept = tuple(each for each in layout.compartments if each.code != "BAG-L")
    stock = tuple(each for each in layout.stock if each.compartment != "BAG-L")
    changed = replace(layout, compartments=kept, stock=stock)
    import_layout(changed, by=keeper, now=NOW, publish=True)
    return refit_rig(rig, by=keeper, now=NOW)


def test_a_refit_keeps_the_labels_of_places_that_stay(
    refitted: Rig, hire: Person, client_of: ClientOf, labels: dict[str, PlaceLabel]
) -> None:
    found = client_of(hire).get(url_of(labels["BAG-M"].token)).content.decode()

    assert "Main pocket" in found
    assert "rev. 2" in found


def test_a_label_whose_place_is_gone_is_to_be_taken_off(
    refitted: Rig,
    keeper: Person,
    hire: Person,
    client_of: ClientOf,
    labels: dict[str, PlaceLabel],
) -> None:
    url = reverse("rigs:labels", args=["11"])
    said = client_of(keeper).get(url).content.decode()
    scanned = client_of(hire).get(url_of(labels["BAG-L"].token)).content.decode()

    assert "Take off <span>1</span>" in said
    assert "<b>BAG-L</b> Lid pocket" in said
    assert "This place is gone" in scanned
    assert "Oral airway set" not in scanned

    client_of(keeper).post(reverse("rigs:renew_labels", args=["11"]), {"place": "BAG-L"})

    assert refitted.labels.open().count() == 8
    assert client_of(hire).get(url_of(labels["BAG-L"].token)).status_code == 404
    assert "Take off" not in client_of(keeper).get(url).content.decode()


def test_a_scan_shows_what_belongs_there_with_par(
    hire: Person, client_of: ClientOf, labels: dict[str, PlaceLabel]
) -> None:
    found = client_of(hire).get(url_of(labels["BAG-M"].token)).content.decode()

    for said in ("BAG-M Main pocket", "S1 Street cabinet › Lower shelf › Response bag", "Rig"):
        assert said in found
    assert "Trauma dressing</span>" in found
    assert "par <b>4</b>" in found
    assert "Splint" not in found
    assert f"{reverse('rigs:revision', args=['practice-rig', 1])}?open=S1#opened" in found


def test_a_door_shows_all_that_is_behind_it(
    hire: Person, client_of: ClientOf, labels: dict[str, PlaceLabel]
) -> None:
    found = client_of(hire).get(url_of(labels["S1"].token)).content.decode()

    for item in ("Traffic cone", "Splint", "Oral airway set", "Trauma dressing"):
        assert item in found


@pytest.mark.parametrize("who", ["hire", "keeper", "admin"])
@pytest.mark.parametrize("code", ["I1B", "I1"])
def test_what_is_behind_a_lock_is_told_by_no_label(
    code: str,
    who: str,
    client_of: ClientOf,
    labels: dict[str, PlaceLabel],
    request: pytest.FixtureRequest,
) -> None:
    """Neither by that of the locked drawer nor by that of the cabinet it is in."""
    client = client_of(request.getfixturevalue(who))

    found = client.get(url_of(labels[code].token)).content.decode()

    assert "Locked drawer" in found
    assert "is not shown by" in found
    assert not [item for item in SECRETS if item in found]
    assert ("Gauze roll" in found) is (code == "I1")


def test_a_label_tells_what_the_rig_carries_elsewhere(
    rig: Rig, keeper: Person, hire: Person, client_of: ClientOf, labels: dict[str, PlaceLabel]
) -> None:
    tell_difference(rig, thing="splint", place="", here="I1A", by=keeper, now=NOW)
    client = client_of(hire)

    assert "Splint" in client.get(url_of(labels["I1A"].token)).content.decode()
    assert "Splint" not in client.get(url_of(labels["S1A"].token)).content.decode()


def test_what_a_rig_carries_outside_its_lock_is_told_by_no_label_either(
    rig: Rig, keeper: Person, hire: Person, client_of: ClientOf, labels: dict[str, PlaceLabel]
) -> None:
    tell_difference(rig, thing="midazolam", place="", here="I1A", by=keeper, now=NOW)

    found = client_of(hire).get(url_of(labels["I1A"].token)).content.decode()

    assert "Gauze roll" in found
    assert "Midazolam" not in found


def test_what_is_controlled_is_told_by_no_label_though_no_lock_is_drawn(
    hire: Person, client_of: ClientOf, labels: dict[str, PlaceLabel]
) -> None:
    gauze = Item.objects.get(key="gauze roll")
    need = Need.objects.create(
        key="x", name_us="X", name_intl="X", category="medicines", is_controlled=True
    )
    TieDecision.objects.create(item=gauze, need=need, decided_at=NOW)

    found = client_of(hire).get(url_of(labels["I1A"].token)).content.decode()

    assert "Tourniquet" in found
    assert "Gauze roll" not in found


@pytest.mark.parametrize("presentation", ["", "250 mcg / 5 mL", "0.1 mg / 2 mL"])
@pytest.mark.parametrize("name", ["Fentanyl", "Fentanyl citrate", "fentanil", "Lolly (strong one)"])
def test_what_is_controlled_is_told_by_no_label_however_it_is_packed(
    hire: Person, client_of: ClientOf, rig: Rig, keeper: Person, presentation: str, name: str
) -> None:
    """By its name in either spelling or another word, whole among the item's own."""
    need = Need.objects.create(
        key="fentanyl",
        name_us="Fentanyl",
        name_intl="Fentanil",
        category="medicines",
        size="100 mcg / 2 mL",
        medicine="fentanyl",
        aliases=["strong one"],
        is_controlled=True,
    )
    line = StockLine("I1A", name, 3, category="medicines", presentation=presentation)
    drawn = practice_rig()
    new = import_layout(
        replace(drawn, stock=(*drawn.stock, line)),
        by=None,
        now=NOW,
        publish=True,
    )
    ItemTerms.objects.filter(need=need).update(need=None)
    rig.revision = new
    rig.save()
    (label,) = make_labels(rig, [place("I1A")], by=keeper, now=NOW)

    found = client_of(hire).get(url_of(label.token)).content.decode()

    assert "Tourniquet" in found
    assert name not in found


def test_a_scan_asks_what_is_controlled_of_its_own_place_alone(
    hire: Person, client_of: ClientOf, rig: Rig, labels: dict[str, PlaceLabel]
) -> None:
    """With what the rig carries there; to ask it of every item would take most of a second."""
    tell_difference(rig, thing="splint", place="S1A", here="I1", by=hire, now=NOW)

    with patch("drills.rigs.labels.controlled_items", return_value=set()) as asked:
        client_of(hire).get(url_of(labels["I1"].token))

    assert asked.call_args.args[1] == {"tourniquet", "gauze roll", "splint"}


def test_a_stranger_is_told_nothing_not_even_whether_there_is_such_a_label(
    keeper: Person, rig: Rig, labels: dict[str, PlaceLabel]
) -> None:
    """Living, dead and made up are answered alike, after the same questions to the database."""
    token, dead = labels["S1"].token, labels["I1"].token
    renew_labels(rig, [labels["I1"].place], by=keeper, now=NOW)
    answers = []
    for each in (token, dead, "B" * 16, "made-up"):
        response = Client().get(url_of(each))
        assert response["Location"] == f"{SIGN_IN}?next=/rigs/l/{each}/"
        answers.append(plain(response, each))
        page = _text(Client().get(response["Location"]))
        told = ("Street", "Rig 11", "S1", "Practice")
        assert not [said for said in told if re.search(rf"\b{said}\b", page)]

    assert all(answer == answers[0] for answer in answers)


def test_a_stranger_costs_no_look_at_the_labels(labels: dict[str, PlaceLabel]) -> None:
    """The time it takes could tell as well."""
    Client().get(url_of("C" * 16))
    asked = []
    for token in (labels["S1"].token, "B" * 16):
        with CaptureQueriesContext(connection) as queries:
            Client().get(url_of(token))
        asked.append([query["sql"].split(" WHERE")[0] for query in queries.captured_queries])

    assert not [sql for sql in asked[0] + asked[1] if "placelabel" in sql]
    assert [sql[:20] for sql in asked[0]] == [sql[:20] for sql in asked[1]] != []


def test_a_stranger_is_led_back_to_the_label_once_signed_in(
    hire: Person, labels: dict[str, PlaceLabel]
) -> None:
    client = Client()
    where = client.get(url_of(labels["S1"].token))["Location"]
    client.force_login(hire)

    assert client.get(where)["Location"] == url_of(labels["S1"].token)


def test_who_has_left_is_a_stranger(
    hire: Person, client_of: ClientOf, labels: dict[str, PlaceLabel]
) -> None:
    client = client_of(hire)
    hire.is_active = False
    hire.save(update_fields=["is_active"])

    assert client.get(url_of(labels["S1"].token))["Location"].startswith(SIGN_IN)


@pytest.mark.parametrize("token", ["S1", "made up"])
def test_labels_are_closed_while_an_assessed_prompt_is_open(
    token: str, assessed_hire: Person, client_of: ClientOf, labels: dict[str, PlaceLabel]
) -> None:
    response = client_of(assessed_hire).get(url_of(labels[token].token if token == "S1" else "D"))

    assert response.status_code == 403
    assert "Closed for now" in response.content.decode()
    assert "Street" not in response.content.decode()


def test_scanning_changes_nothing_and_takes_no_post(
    hire: Person, client_of: ClientOf, labels: dict[str, PlaceLabel]
) -> None:
    before = list(PlaceLabel.objects.values()), AuditEntry.objects.count()

    client_of(hire).get(url_of(labels["S1"].token))

    assert (list(PlaceLabel.objects.values()), AuditEntry.objects.count()) == before
    assert client_of(hire).post(url_of(labels["S1"].token)).status_code == 405


@pytest.fixture
def clock() -> Iterator[list[timedelta]]:
    """Time that a test moves on, by what it puts first."""
    moved, began = [timedelta(0)], timezone.now()
    with patch("drills.rigs.views.labels.timezone.now", side_effect=lambda: began + moved[0]):
        yield moved


def test_scanning_is_slowed_for_one_person_and_for_no_other(
    hire: Person,
    outsider: Person,
    client_of: ClientOf,
    labels: dict[str, PlaceLabel],
    clock: list[timedelta],
) -> None:
    """The sixty-first within ten minutes waits and says until when; made-up tokens count too."""
    client, url = client_of(hire), url_of(labels["S1"].token)
    statuses = [client.get(url).status_code for _ in range(SCANS_OF_PERSON - 1)]
    assert client.get(url_of("made-up")).status_code == 404
    clock[0] = timedelta(minutes=8, seconds=30)

    refused = client.get(url)

    assert set(statuses) == {200}
    assert refused.status_code == 429
    assert refused["Retry-After"] == "90"
    assert "Wait 2 minutes, then scan again" in refused.content.decode()
    assert "Street" not in refused.content.decode()
    assert client_of(outsider).get(url).status_code == 200
    clock[0] = SCANS_COUNTED_FOR
    assert client.get(url).status_code == 200


def test_strangers_are_slowed_sooner_by_their_address(
    hire: Person, client_of: ClientOf, labels: dict[str, PlaceLabel], clock: list[timedelta]
) -> None:
    assert SCANS_OF_ADDRESS < SCANS_OF_PERSON
    url = url_of(labels["S1"].token)
    statuses = [Client().get(url).status_code for _ in range(SCANS_OF_ADDRESS)]

    refused = Client().get(url)

    assert set(statuses) == {302}
    assert refused.status_code == 429
    assert "Rig" not in refused.content.decode().replace("Rigs", "")
    assert Client(REMOTE_ADDR="198.51.100.7").get(url).status_code == 302
    assert client_of(hire).get(url).status_code == 200


def test_waiting_is_not_made_longer_by_trying(
    hire: Person, client_of: ClientOf, labels: dict[str, PlaceLabel], clock: list[timedelta]
) -> None:
    client, url = client_of(hire), url_of(labels["S1"].token)
    for _ in range(SCANS_OF_PERSON + 5):
        client.get(url)
    clock[0] = timedelta(minutes=9)
    assert client.get(url)["Retry-After"] == "60"
    clock[0] = timedelta(minutes=10)

    assert client.get(url).status_code == 200


def test_counts_of_scans_name_nobody_and_are_forgotten(
    hire: Person,
    outsider: Person,
    client_of: ClientOf,
    labels: dict[str, PlaceLabel],
    clock: list[timedelta],
) -> None:
    client_of(hire).get(url_of("x"))
    (row,) = ScanTally.objects.values()
    assert row["who"] not in ("HIRE", str(hire.pk))
    assert len(row["who"]) == 64
    clock[0] = SCANS_COUNTED_FOR

    client_of(outsider).get(url_of("x"))

    assert ScanTally.objects.count() == 1
    assert not ScanTally.objects.filter(who=row["who"]).exists()


def test_an_erased_keeper_leaves_the_labels_and_no_count_of_scans(
    rig: Rig, keeper: Person, client_of: ClientOf, labels: dict[str, PlaceLabel]
) -> None:
    client_of(keeper).get(url_of(labels["S1"].token))
    renew_labels(rig, [labels["S1"].place], by=keeper, now=NOW)
    told = record_of(keeper)
    assert (len(told["labels made"]), len(told["labels ended"])) == (10, 1)
    assert told["labels ended"] == [{"label": "label of S1 on Rig 11", "at": NOW}]

    went, stays = erase(keeper)

    assert went["counts of scans"] == 1
    assert (stays["labels made"], stays["labels ended"]) == (10, 1)


def test_a_fragment_leads_a_stranger_to_sign_in_too(labels: dict[str, PlaceLabel]) -> None:
    response = Client().get(url_of(labels["S1"].token), headers=FRAGMENT)

    assert response["HX-Redirect"].startswith(SIGN_IN)
