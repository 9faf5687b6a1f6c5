"""Single things at the open doors: asked for one by one, each on a watch of its own."""

from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.competency.models import Evidence
from drills.demo.factories import PersonFactory, RecipeFactory
from drills.engine.observing import FOUND, HELPED, NOT_FOUND, SheetError
from drills.engine.signing import SigningError
from drills.people.models import Person, Role
from drills.rigs.models import Rig
from drills.runs.actions import (
    answer_thing,
    close_sheet,
    contest_sheet,
    decide_sheet_contest,
    leave_sheet,
    lines_of,
    open_sheet,
    refuse_to_sign,
    start_thing,
)
from drills.runs.models import Sheet, Verdict
from drills.runs.records import record_of
from drills.scenarios.models import Drill, Recipe
from tests.runs.conftest import FRAGMENT, NOW, SEED, ClientOf

pytestmark = pytest.mark.django_db

OPENED = {"service": "in", "told": "dispatch", "rig": "11", "person": "HIRE", "things": "three"}


@pytest.fixture
def recipe(db: None) -> Recipe:
    return RecipeFactory.create(slug="three", kinds="locate:3", limit_at_rig_s=15.0)


@pytest.fixture
def sheet(hire: Person, fto: Person, rig: Rig, recipe: Recipe) -> Sheet:
    return open_sheet(
        hire,
        officer=fto,
        rig=rig,
        call_type=None,
        things=recipe,
        in_service=True,
        told="dispatch",
        now=NOW,
        seed=SEED,
    )


def at(seconds: float) -> Any:
    return NOW + timedelta(seconds=seconds)


def seen(sheet: Sheet, number: int, said: str, took: float = 9.0, **other: Any) -> Sheet:
    """One thing a minute, with the officer's own watch."""
    start_thing(sheet, number, now=at(60 * number + 10))
    given = {"wrong_places": 0, "claim": took} | other
    return answer_thing(sheet, number, said, now=at(60 * number + 50), **given)


def all_seen(sheet: Sheet) -> Sheet:
    seen(sheet, 0, FOUND)
    seen(sheet, 1, HELPED, 15.5)
    return seen(sheet, 2, NOT_FOUND, 15.6, wrong_places=2)


def test_each_has_its_own_time_and_the_sheet_adds_them_up(sheet: Sheet) -> None:
    found = all_seen(sheet)
    assert [each["seconds"] for each in found.timed.values()] == [9.0, 15.5, 15.6]
    assert found.seconds == pytest.approx(40.1)
    assert (found.state, found.watch, found.wrong_doors) == ("stopped", "verified", 2)


def test_a_time_that_cannot_be_is_the_servers(sheet: Sheet) -> None:
    found = seen(sheet, 0, FOUND, 900.0)
    assert found.timed["0"] == {"seconds": 40.0, "watch": "unverified", "wrong": 0}


def test_one_after_the_other_and_no_other_way(sheet: Sheet) -> None:
    with pytest.raises(SheetError, match="Thing 2 came in; thing 1 is asked for now"):
        start_thing(sheet, 1, now=NOW)
    with pytest.raises(SheetError, match="Thing 4 came in; this sheet has things 1 to 3"):
        answer_thing(sheet, 3, FOUND, wrong_places=0, now=NOW)
    with pytest.raises(SheetError, match="'brought' came in for a thing"):
        answer_thing(sheet, 0, "brought", wrong_places=0, now=NOW)
    sheet.refresh_from_db()
    assert (sheet.state, sheet.seen) == ("opened", {})


def test_sent_twice_is_one_and_the_first_answer_stands(sheet: Sheet) -> None:
    first = seen(sheet, 0, FOUND)
    again = answer_thing(sheet, 0, FOUND, wrong_places=0, now=at(55))
    assert again.stopped_at == first.stopped_at
    assert start_thing(sheet, 0, now=at(56)).state == "opened"
    with pytest.raises(SheetError, match="Thing 1 was answered before, and the first stands"):
        answer_thing(sheet, 0, NOT_FOUND, wrong_places=0, now=at(57))


def test_sent_ten_minutes_later_it_was_done_when_it_was_pressed(sheet: Sheet) -> None:
    start_thing(sheet, 0, now=at(700), ago=640.0)
    found = answer_thing(sheet, 0, FOUND, wrong_places=0, now=at(700), claim=12.0, ago=628.0)
    assert (found.started_at, found.stopped_at) == (at(60), at(72))
    assert found.timed["0"]["watch"] == "verified"


def test_it_is_kept_as_hands_on_evidence_by_thing(sheet: Sheet, rig: Rig) -> None:
    all_seen(sheet)
    assert not Evidence.objects.exists()
    close_sheet(sheet, back=range(3), now=at(300))
    things = [line.thing for line in lines_of(sheet)]
    rows = Evidence.objects.filter(fact__item__isnull=False).select_related("fact__item")
    kept = {row.fact.item.key: row for row in rows if row.fact.item is not None}
    told = [
        (each.outcome, each.is_first, each.is_assisted, each.time_verdict, each.limit_seconds)
        for each in (kept[thing] for thing in things)
    ]
    assert told == [
        ("right", True, False, "in time", 15.0),
        ("partly", False, True, "in time", 15.0),
        ("wrong", True, False, "late", 15.0),
    ]
    drawn = set(sheet.drill.prompts.filter(is_spare=False).values_list("chosen", flat=True))
    assert set(Evidence.objects.values_list("chosen_by", flat=True)) == drawn
    shared = set(Evidence.objects.values_list("rig", "modality", "kind"))
    assert shared == {(rig.pk, "hands-on", "locate")}


def test_the_limit_is_stretched_by_the_allowance_and_comes_without_one(
    sheet: Sheet, hire: Person
) -> None:
    Drill.objects.update(limit_at_rig_s=None)
    Person.objects.filter(pk=hire.pk).update(time_allowance="1.50")
    all_seen(Sheet.objects.get())
    close_sheet(sheet, back=range(3), now=at(300))
    assert set(Evidence.objects.values_list("limit_seconds", "time_verdict")) == {(22.5, "in time")}


def test_closes_only_when_every_place_is_shut_again(sheet: Sheet) -> None:
    all_seen(sheet)
    name = lines_of(sheet)[2].name
    with pytest.raises(SheetError, match=f"Not ticked as back in its place: {name}"):
        close_sheet(sheet, back=[0, 1], now=at(300))
    assert not Evidence.objects.exists()


def test_a_call_voids_the_thing_that_was_looked_for_and_keeps_the_rest(sheet: Sheet) -> None:
    seen(sheet, 0, FOUND)
    start_thing(sheet, 1, now=at(70))
    leave_sheet(sheet, now=at(75))
    name = lines_of(sheet)[1].name
    with pytest.raises(SheetError, match=f"Not ticked as back in its place: {name}\\."):
        close_sheet(sheet, back=[0], now=at(300))
    with pytest.raises(SheetError, match="called away"):
        answer_thing(sheet, 1, FOUND, wrong_places=0, now=at(301))
    found = close_sheet(sheet, back=[0, 1], now=at(302))
    assert found.outcome == "right"
    assert set(
        Evidence.objects.exclude(fact__item=None).values_list("fact__item__key", flat=True)
    ) <= {lines_of(sheet)[0].thing}


def test_a_call_between_two_things_leaves_nothing_more_to_put_back(sheet: Sheet) -> None:
    seen(sheet, 0, FOUND)
    leave_sheet(sheet, now=at(75))
    assert close_sheet(sheet, back=[0], now=at(300)).is_open is False


def test_a_call_before_any_thing_counts_for_nothing(sheet: Sheet) -> None:
    start_thing(sheet, 0, now=at(10))
    leave_sheet(sheet, now=at(12))
    assert close_sheet(sheet, back=[0], now=at(300)).outcome == ""
    assert not Evidence.objects.exists()


def test_it_signs_nothing_off(sheet: Sheet, fto: Person) -> None:
    for number in range(3):
        seen(sheet, number, FOUND)
    closed = close_sheet(sheet, back=range(3), now=at(300))
    with pytest.raises(SigningError, match="Single things sign nothing off"):
        refuse_to_sign(closed, by=fto, now=at(400))


def test_one_that_was_contested_and_voided_counts_for_nothing(sheet: Sheet, hire: Person) -> None:
    all_seen(sheet)
    closed = close_sheet(sheet, back=range(3), now=at(300))
    contested = contest_sheet(closed, part="2", because="It hung there.", by=hire, now=at(400))
    other = PersonFactory.create(roles=[Role.EDUCATOR])
    decide_sheet_contest(
        contested, verdict=Verdict.VOIDED, answer="So it did.", by=other, now=at(500)
    )
    sheet.refresh_from_db()
    assert sheet.outcome == "partly"
    standing = Evidence.objects.standing()
    assert set(standing.values_list("outcome", flat=True)) == {"right", "partly"}
    assert standing.count() < Evidence.objects.count()


def test_what_was_seen_is_in_the_record_of_its_person(sheet: Sheet, hire: Person) -> None:
    all_seen(sheet)
    close_sheet(sheet, back=range(3), now=at(300))
    (told,) = record_of(hire)["seen at the rig"]
    assert list(told["lines"].values()) == ["found", "helped", "not-found"]
    assert told["of each thing"]["2"]["wrong"] == 2


def deed(client: Client, sheet: Sheet, deed: str, **given: Any) -> Any:
    address = reverse("runs:deed", args=[sheet.pk])
    return client.post(address, {"deed": deed} | given, follow=True)


def visible(content: str) -> str:
    """What a page shows: without the paragraphs and parts that are hidden."""
    kept = []
    for piece in content.split("<p data-told=")[1:]:
        head, _, rest = piece.partition(">")
        kept.append("" if "hidden" in head else rest.split("</p>")[0])
    return "".join(kept)


@pytest.fixture
def officer(fto: Person, client_of: ClientOf) -> Client:
    return client_of(fto)


def test_a_sheet_of_things_is_kept_from_opening_to_closing_without_scripts(
    officer: Client, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    assert "Single things: " in officer.get(reverse("runs:hands_on")).content.decode()
    officer.post(reverse("runs:hands_on"), OPENED)
    sheet = Sheet.objects.get()
    page, lines = reverse("runs:sheet", args=[sheet.pk]), lines_of(sheet)
    for headers in ({}, FRAGMENT):
        content = officer.get(page, headers=headers).content.decode()
        assert "Thing 1 of 3. Read it out:" in content
        assert visible(content) == ""
    for number, said in enumerate((FOUND, HELPED, NOT_FOUND)):
        content = deed(officer, sheet, "start", thing=str(number)).content.decode()
        assert visible(content) == ""
        content = deed(officer, sheet, said, thing=str(number), wrong_doors="1").content.decode()
        assert f"<b>{lines[number].name}:</b>" in visible(content)
        assert "1 wrong place, 0:00" in visible(content)
    assert "Back in place?" in content
    refused = deed(officer, sheet, "close", back="0 1")
    assert refused.status_code == 422
    content = deed(officer, sheet, "close", back="0 1 2").content.decode()
    assert "One by one" in content
    assert "Did not find, 1 wrong place" in content
    assert "Limit 15 s for each; 0 late." in content
    assert "Single things sign nothing off" in content
    assert not Sheet.objects.get().is_open


def test_deeds_of_a_kit_are_refused(officer: Client, sheet: Sheet) -> None:
    response = deed(officer, sheet, "stop", thing="0")
    assert response.status_code == 422
    told = "start, found, helped, not-found, away, close are accepted"
    assert told in response.content.decode()
    assert "Thing 100 came in" in deed(officer, sheet, "start", thing="one").content.decode()


@pytest.mark.parametrize("slug", ["find-four", "nothing"])
def test_only_recipes_of_places_alone_are_taken(
    officer: Client, hire: Person, rig: Rig, recipe: Recipe, slug: str
) -> None:
    RecipeFactory.create(slug="find-four", kinds="locate:3;contents:1")
    response = officer.post(reverse("runs:hands_on"), OPENED | {"things": slug})
    assert response.status_code == 422
    told = f"What is asked for: Choose a recipe of the list, or a call's kit. {slug} came in."
    assert told in unescape(response.content.decode())
    assert not Sheet.objects.exists()


def test_nobody_else_keeps_it_and_its_person_reads_it_once_it_is_closed(
    sheet: Sheet, hire: Person, client_of: ClientOf
) -> None:
    page = reverse("runs:sheet", args=[sheet.pk])
    other = client_of(PersonFactory.create(roles=[Role.FTO]))
    assert deed(other, sheet, "start", thing="0").status_code == 404
    assert deed(client_of(hire), sheet, "start", thing="0").status_code == 403
    assert client_of(hire).get(page).status_code == 404
    assert deed(Client(), sheet, "start", thing="0").redirect_chain
    sheet.refresh_from_db()
    assert sheet.state == "opened"
    Sheet.objects.update(opened_at=timezone.now())
    all_seen(sheet)
    close_sheet(sheet, back=range(3), now=at(300))
    assert "One by one" in client_of(hire).get(page).content.decode()
