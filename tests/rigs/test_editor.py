"""A draft changed on its page: every deed without scripts, with htmx, and refused."""

import re
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from drills.demo.factories import PersonFactory, rig_on
from drills.engine.editing import change_line, change_place, change_point
from drills.engine.layout import Layout, Rect
from drills.people.models import Person, Role
from drills.rigs.actions import edit_draft, open_draft, publish_revision, report_absence
from drills.rigs.models import Item, Place, PlacePhoto, Revision, Rig
from drills.rigs.reading import layout_of
from tests.layouts import demo_layout
from tests.rigs.conftest import FRAGMENT, NOW, ClientOf

DRAFT = reverse("rigs:draft", args=["practice-rig"])


@pytest.fixture
def client(keeper: Person, client_of: ClientOf) -> Client:
    return client_of(keeper)


@pytest.fixture
def draft(rig: Rig, keeper: Person) -> Revision:
    return open_draft(rig.layout, by=keeper, now=NOW)


def now_of(draft: Revision) -> Layout:
    return layout_of(Revision.objects.get(pk=draft.pk))


def mark_in(client: Client, query: str, form: str = "cells") -> str:
    """What the page gives along with a form: of the row, the pad, or the one that takes out."""
    page = client.get(f"{DRAFT}?{query}").content.decode()
    return mark_of_form(page, form)


def mark_of_form(page: str, form: str = "cells") -> str:
    deeds = {"cells": r'class="cells"', "pad": r'id="nudge"', "out": r"/draft/remove-"}
    (found,) = re.findall(rf'<form[^>]*{deeds[form]}.*?name="mark" value="(\w+)"', page, re.DOTALL)
    return str(found)


def send(client: Client, deed: str, *, part: bool = False, **posted: Any) -> Any:
    address = reverse("rigs:edit", args=["practice-rig", deed])
    return client.post(address, posted, headers=FRAGMENT if part else {})


def test_a_layout_without_a_draft_offers_to_open_one(client: Client, rig: Rig) -> None:
    page = client.get(DRAFT).content.decode()
    assert "no draft is open" in page

    answer = client.post(reverse("rigs:open_draft", args=["practice-rig"]))

    assert answer["Location"] == DRAFT
    assert rig.layout.draft is not None
    assert "draft rev. 2" in client.get(DRAFT).content.decode()


def test_a_draft_is_said_to_be_a_copy_of_what_is_copied(
    client: Client, draft: Revision, keeper: Person
) -> None:
    assert "A draft is a copy of rev." not in client.get(DRAFT).content.decode()

    day = NOW.date() + timedelta(days=5)
    publish_revision(draft, by=keeper, now=NOW, effective_on=day)

    assert "A draft is a copy of rev. 2" in client.get(DRAFT).content.decode()


def test_the_page_has_every_door_as_a_link_and_every_point(client: Client, draft: Revision) -> None:
    page = client.get(DRAFT).content.decode()

    for code in ("S1", "I1", "P1"):
        assert f'href="?at={code}#panel"' in page
    for code in ("SIDE", "COT", "SEAT", "O2"):
        assert f'href="?point={code}#panel"' in page


def test_what_is_chosen_is_shown_with_all_its_cells(client: Client, draft: Revision) -> None:
    page = client.get(f"{DRAFT}?at=I1A").content.decode()

    assert 'value="Upper drawer"' in page
    assert '<option value="drawer" selected>' in page
    assert '<option value="I1" selected>' in page
    assert "Gauze roll" in page
    assert 'href="?at=I1#panel"' in page  # the way up


@pytest.mark.parametrize("part", [False, True])
def test_a_compartment_is_added_with_a_free_spot(
    part: bool, client: Client, draft: Revision
) -> None:
    answer = send(client, "place", part=part, code="S2", name="Locker", face="street", inside="")

    assert now_of(draft).by_code["S2"].rect == Rect(6, 0, 4, 3)
    if part:
        assert answer.status_code == 200
        assert answer["HX-Push-Url"] == f"{DRAFT}?at=S2"
        assert 'value="Locker"' in answer.content.decode()
        assert "<html" not in answer.content.decode()
    else:
        assert answer["Location"] == f"{DRAFT}?at=S2"


def test_a_compartment_is_renamed_and_its_code_changed(client: Client, draft: Revision) -> None:
    mark = mark_in(client, "at=I1")

    answer = send(client, "place", at="I1", mark=mark, code="TALL", name="Tall cabinet")

    assert answer["Location"] == f"{DRAFT}?at=TALL"
    assert now_of(draft).by_code["TALL"].place == "I1"


def test_a_tick_taken_off_is_taken_off(client: Client, draft: Revision) -> None:
    mark = mark_in(client, "at=I1B")

    send(client, "place", at="I1B", mark=mark, locked=["no"], sealed=["no", "yes"])

    found = now_of(draft).by_code["I1B"]
    assert (found.locked, found.sealed) == (False, True)


def test_the_pad_moves_and_stretches_by_one(client: Client, draft: Revision) -> None:
    for move in ("right", "down", "wider", "shorter"):
        send(client, "shift", at="I1", move=move)

    assert now_of(draft).by_code["I1"].rect == Rect(11, 5, 5, 3)


def test_a_rectangle_let_go_by_the_pointer_is_taken_whole(client: Client, draft: Revision) -> None:
    mark = mark_in(client, "at=P1", "pad")
    send(client, "shift", at="P1", mark=mark, x="8", y="0", w="6", h="2")

    assert now_of(draft).by_code["P1"].rect == Rect(8, 0, 6, 2)


@pytest.mark.parametrize(
    "posted",
    [
        {"move": "sideways"},
        {"x": "-1", "y": "0", "w": "4", "h": "2"},
        {"x": "٣", "y": "0", "w": "4", "h": "2"},
        {"x": "9" * 40, "y": "0", "w": "4", "h": "2"},
        {},
    ],
)
def test_a_rectangle_that_is_none_changes_nothing(
    posted: dict[str, Any], client: Client, draft: Revision
) -> None:
    mark = mark_in(client, "at=P1", "pad")

    answer = send(client, "shift", at="P1", mark=mark, **posted)

    assert answer.status_code == 422
    assert "came in for" in answer.content.decode()
    assert now_of(draft).by_code["P1"].rect == Rect(2, 4, 4, 2)


def test_what_is_refused_keeps_what_was_typed_and_says_why(client: Client, draft: Revision) -> None:
    mark = mark_in(client, "at=I1")
    answer = send(client, "place", at="I1", mark=mark, name="  ", code="S1", part=True)

    page = answer.content.decode()
    assert answer.status_code == 422
    assert 'value="S1"' in page
    assert 'id="row-name-fault"' in page
    assert "a code of its own" in page
    assert now_of(draft).by_code["I1"].name == "Wall cabinet"


def test_a_compartment_is_taken_out_after_saying_how_much_goes_with_it(
    client: Client, draft: Revision
) -> None:
    page = client.get(f"{DRAFT}?at=S1").content.decode()
    assert "with 7 lines" in page

    send(client, "remove-place", at="S1", mark=mark_in(client, "at=S1", "out"))

    assert "BAG" not in now_of(draft).by_code


def test_an_item_is_put_in_changed_moved_and_taken_out(client: Client, draft: Revision) -> None:
    send(client, "line", compartment="I1", item="Foil blanket", par="3")
    assert now_of(draft).lines_in["I1"][0].par == 3

    mark = mark_in(client, "line=I1/foil%20blanket")
    send(client, "line", at="I1/foil blanket", mark=mark, par="5", compartment="S1")
    assert [line.par for line in now_of(draft).lines_in["S1"]] == [4, 5]

    mark = mark_in(client, "line=S1/foil%20blanket")
    send(client, "remove-line", at="S1/foil blanket", mark=mark)
    assert "foil blanket" not in now_of(draft).things


def test_an_item_of_another_layout_brings_what_belongs_to_it(
    client: Client, draft: Revision
) -> None:
    other = rig_on(demo_layout("arroyo-van"), unit="88")
    line = next(each for each in layout_of(other.revision).stock if each.presentation)

    send(client, "line", compartment="S1", item=line.item.upper(), par="1")
    send(client, "paste", at="I1", compartment="I1", rows=f"{line.item}\t4\t")

    for code, par in (("S1", 1), ("I1", 4)):
        found = now_of(draft).lines_in[code][-1]
        assert (found.item, found.par) == (line.item, par)
        assert (found.category, found.presentation) == (line.category, line.presentation)


def test_a_line_moved_to_its_like_adds_up(client: Client, draft: Revision) -> None:
    mark = mark_in(client, "line=I1A/tourniquet")
    send(client, "line", at="I1A/tourniquet", mark=mark, par="1", compartment="BAG-M")

    assert now_of(draft).lines_in["BAG-M"][0].par == 3


def test_rows_are_pasted_together_or_not_at_all(client: Client, draft: Revision) -> None:
    rows = "Tape roll\t2\nFoil blanket\tsome\n"
    answer = send(client, "paste", at="S1", compartment="S1", rows=rows)
    assert answer.status_code == 422
    assert "Tape roll" in answer.content.decode()  # kept to be mended
    assert "some" in answer.content.decode()
    assert "tape roll" not in now_of(draft).things

    send(client, "paste", at="S1", compartment="S1", rows=rows.replace("some", "1"))
    assert [line.item for line in now_of(draft).lines_in["S1"]][1:] == ["Tape roll", "Foil blanket"]


def test_a_point_is_added_changed_and_taken_out(client: Client, draft: Revision) -> None:
    answer = send(
        client, "point", code="RADIO", kind="control", name="Radio", face="cab", x="3", y="4"
    )
    assert answer["Location"] == f"{DRAFT}?point=RADIO"

    mark = mark_in(client, "point=RADIO")
    send(client, "point", at="RADIO", mark=mark, x="5,5")
    assert now_of(draft).points[-1].x == 5.5

    send(client, "remove-point", at="RADIO", mark=mark_in(client, "point=RADIO"))
    assert [point.code for point in now_of(draft).points] == ["SIDE", "COT", "SEAT", "O2"]


def test_two_keepers_at_one_row_are_told_and_choose(client: Client, draft: Revision) -> None:
    other = PersonFactory.create(roles=[Role.KEEPER])
    mark = mark_in(client, "at=I1")
    edit_draft(
        draft.layout,
        lambda layout: change_place(layout, "I1", {"name": "Theirs"}),
        by=other,
        now=NOW,
    )

    answer = send(client, "place", at="I1", mark=mark, name="Mine", part=True)

    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Somebody changed this meanwhile" in page
    assert "yours: Mine" in page
    assert "theirs: Theirs" in page
    assert now_of(draft).by_code["I1"].name == "Theirs"
    send(client, "place", at="I1", mark=mark_of_form(page), name="Mine")
    assert now_of(draft).by_code["I1"].name == "Mine"


def test_two_keepers_at_two_rows_are_not_in_each_others_way(
    client: Client, draft: Revision, keeper: Person
) -> None:
    mark = mark_in(client, "at=I1")
    edit_draft(
        draft.layout,
        lambda layout: change_place(layout, "S1", {"name": "Theirs"}),
        by=keeper,
        now=NOW,
    )

    send(client, "place", at="I1", mark=mark, name="Mine")

    names = {each.code: each.name for each in now_of(draft).compartments}
    assert (names["S1"], names["I1"]) == ("Theirs", "Mine")


def test_a_row_that_another_took_out_is_not_made_again(client: Client, draft: Revision) -> None:
    mark = mark_in(client, "line=I1A/gauze%20roll")
    send(client, "remove-line", at="I1A/gauze roll", mark=mark)

    answer = send(client, "line", at="I1A/gauze roll", mark=mark, par="9")

    assert answer.status_code == 422
    assert "taken out or renamed meanwhile" in answer.content.decode()
    assert "gauze roll" not in now_of(draft).things


def test_the_last_step_is_named_and_undone(client: Client, draft: Revision) -> None:
    send(client, "shift", at="I1", move="right")
    page = client.get(DRAFT).content.decode()
    assert "I1: moved" in page

    client.post(reverse("rigs:undo", args=["practice-rig"]), {"step": "1"})

    assert now_of(draft).by_code["I1"].rect == Rect(10, 4, 4, 4)


@pytest.mark.parametrize("step", ["2", "0", "", "x", "9" * 30, "²"])
def test_a_step_that_is_not_the_last_is_left(step: str, client: Client, draft: Revision) -> None:
    send(client, "shift", at="I1", move="right")

    client.post(reverse("rigs:undo", args=["practice-rig"]), {"step": step})

    assert now_of(draft).by_code["I1"].rect == Rect(11, 4, 4, 4)


def test_a_draft_published_meanwhile_is_not_changed(
    client: Client, draft: Revision, keeper: Person
) -> None:
    mark = mark_in(client, "at=I1")
    publish_revision(draft, by=keeper, now=NOW)

    answer = send(client, "place", at="I1", mark=mark, name="Late")

    assert answer["Location"] == DRAFT
    assert now_of(draft).by_code["I1"].name == "Wall cabinet"
    assert draft.layout.draft is None


def test_a_draft_that_is_another_by_now_is_not_changed(
    client: Client, draft: Revision, keeper: Person
) -> None:
    publish_revision(draft, by=keeper, now=NOW)
    another = open_draft(draft.layout, by=keeper, now=NOW)

    answer = send(client, "shift", at="I1", move="right", rev="2")

    assert answer["Location"] == DRAFT
    assert now_of(another).by_code["I1"].rect == Rect(10, 4, 4, 4)


def test_presses_of_one_button_are_one_step(client: Client, draft: Revision) -> None:
    for _ in range(3):
        send(client, "shift", at="I1", move="right")
    send(client, "shift", at="I1", move="wider")
    assert draft.steps.count() == 2

    for step in ("2", "1"):
        client.post(reverse("rigs:undo", args=["practice-rig"]), {"step": step})

    assert now_of(draft).by_code["I1"].rect == Rect(10, 4, 4, 4)


def test_another_keepers_presses_are_another_step(
    client: Client, draft: Revision, client_of: ClientOf
) -> None:
    send(client, "shift", at="I1", move="right")
    send(client_of(PersonFactory.create(roles=[Role.KEEPER])), "shift", at="I1", move="right")

    assert draft.steps.count() == 2


def test_a_rectangle_dragged_from_where_it_is_not_any_more_is_asked_about(
    client: Client, draft: Revision
) -> None:
    mark = mark_in(client, "at=I1", "pad")
    send(client, "shift", at="I1", move="left")

    answer = send(client, "shift", at="I1", mark=mark, x="10", y="4", w="6", h="4")

    assert answer.status_code == 422
    assert "Somebody changed this meanwhile" in answer.content.decode()
    assert now_of(draft).by_code["I1"].rect == Rect(9, 4, 4, 4)


@pytest.mark.parametrize(
    ("query", "deed", "name"),
    [
        ("at=I1", "remove-place", "I1"),
        ("line=I1A/tourniquet", "remove-line", "I1A/tourniquet"),
        ("point=SEAT", "remove-point", "SEAT"),
    ],
)
def test_what_changed_since_it_was_seen_is_not_taken_out(
    query: str, deed: str, name: str, client: Client, draft: Revision, keeper: Person
) -> None:
    mark = mark_in(client, query, "out")

    def change(layout: Layout) -> Layout:
        changed = change_line(layout, "I1A/tourniquet", {"par": "9"})
        return change_point(changed, "SEAT", {"name": "Front seat"})

    edit_draft(draft.layout, change, by=keeper, now=NOW)
    before = now_of(draft)
    answer = send(client, deed, at=name, mark=mark, part=True)

    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Somebody changed this meanwhile" in page
    assert now_of(draft) == before
    send(client, deed, at=name, mark=mark_of_form(page, "out"))
    assert now_of(draft) != before


def test_a_form_sent_whole_leaves_the_old_spot_when_it_goes_into_another(
    client: Client, draft: Revision
) -> None:
    """The form sends every cell; the numbers of the old face would be nonsense in the new one."""
    mark = mark_in(client, "at=I1")
    whole: dict[str, Any] = {"face": "interior-curb", "x": "10", "y": "4", "w": "4", "h": "4"}

    send(client, "place", at="I1", mark=mark, name="Wall cabinet", code="I1", inside="S1", **whole)

    found = now_of(draft)
    assert (found.by_code["I1"].rect, found.face_of("I1")) == (None, "street")


def test_a_point_added_by_hand_can_be_asked_for_and_reported(
    client: Client, draft: Revision, rig: Rig, keeper: Person, hire: Person
) -> None:
    send(
        client, "point", code="RADIO", kind="control", name="Radio set", face="cab", x="3", y="4",
        serves="I1",
    )  # fmt: skip
    published = publish_revision(draft, by=keeper, now=NOW)

    (report,) = report_absence(
        ["I1"], thing="radio set", rig=rig, revision=published, by=hire, now=NOW
    )

    assert report.item == Item.objects.get(key="radio set")


def test_undo_brings_back_a_place_with_its_photo(
    client: Client, draft: Revision, keeper: Person
) -> None:
    send(client, "place", code="S2", name="Locker", face="street", inside="")
    place = Place.objects.get(key="S2")
    PlacePhoto.objects.create(
        place=place, image=b"x", width=1, height=1, alt="A locker", uploaded_by=keeper,
        uploaded_at=NOW,
    )  # fmt: skip
    send(client, "remove-place", at="S2", mark=mark_in(client, "at=S2", "out"))

    client.post(reverse("rigs:undo", args=["practice-rig"]), {"step": "2"})

    assert PlacePhoto.objects.get().place == Place.objects.get(key="S2") == place


def test_a_deed_that_is_none_is_not_found(client: Client, draft: Revision) -> None:
    assert send(client, "burn").status_code == 404


@pytest.mark.parametrize("query", ["at=NOPE", "line=NOPE/x", "point=NOPE", "new=layout", "at=%FF"])
def test_a_row_that_is_none_shows_the_draft_all_the_same(
    query: str, client: Client, draft: Revision
) -> None:
    assert client.get(f"{DRAFT}?{query}").status_code == 200


def test_a_name_that_does_not_fit_its_door_stands_beneath_the_drawing(
    client: Client, draft: Revision
) -> None:
    page = client.get(DRAFT).content.decode()
    beneath = "".join(re.findall(r'<p class="keyed".*?</p>', page, re.DOTALL))

    cut = set(re.findall(r'class="cell x[^"]* t1[^"]*"[^>]*href="\?at=(\w+)', page))
    assert cut
    assert set(re.findall(r"<b>(\w+)</b>", beneath)) == cut
