"""A week of drills given as one: every day at once, to do, changed, excused and withdrawn."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import CohortFactory, PersonFactory, RecipeFactory
from drills.engine.series import due_days
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.runs.actions import (
    HaveSeriesError,
    assign_series,
    excuse_from_series,
    move_series,
    take_back_from_series,
    withdraw_series,
)
from drills.runs.models import Assigned, Assignment, Run, RunState, Series
from drills.runs.series import Days, series_to
from drills.scenarios.models import Recipe
from tests.runs.assignments import taken
from tests.runs.conftest import ClientOf

ASSIGN = reverse("runs:assign")
pytestmark = pytest.mark.django_db


@pytest.fixture
def week(db: None) -> list[Recipe]:
    """A week of three days: two by compartment, then a mixed one."""
    orders = ("by compartment: outside", "by compartment: inside", "mixed")
    return [
        RecipeFactory.create(
            slug=f"week-{step}",
            name=f"New rig in a week, day {step}",
            kinds="locate:3",
            order=order,
            series="new-rig-week",
            step=step,
            minutes=step * 5,
            pass_marks_percent=60 + step,
        )
        for step, order in enumerate(orders, start=1)
    ]


def today() -> date:
    return timezone.localdate()


def later(days: int) -> date:
    return today() + timedelta(days=days)


def given(week: list[Recipe], *to: Person, by: Person, **changes: Any) -> Series:
    how: dict[str, Any] = {"first_due": later(1), "by": by, "now": timezone.now()}
    return assign_series(week, to=to, **(how | changes))


def of(person: Person) -> Days:
    (found,) = series_to(person, today=today())
    return found


def do(person: Person, recipe: Recipe, rig: Rig) -> Run:
    pick_rig(person, rig, now=timezone.now())
    return taken(person, recipe, rig, now=timezone.now() - timedelta(minutes=5))


def form(*to: str, **changes: str) -> dict[str, Any]:
    due = later(1).isoformat()
    return {"recipe": "series:new-rig-week", "due_on": due, "to": list(to)} | changes


def page(client: Client, series: Series) -> str:
    return client.get(reverse("runs:series", args=[series.pk])).content.decode()


def test_a_cohort_is_given_every_day_in_one_form(
    client_of: ClientOf, fto: Person, hire: Person, week: list[Recipe]
) -> None:
    PersonFactory.create_batch(3, cohorts=hire.cohorts.all())

    response = client_of(fto).post(ASSIGN, form("cohort:first-intake", every="2", note="Bay 2"))

    made = Series.objects.get()
    assert response["Location"] == reverse("runs:series", args=[made.pk])
    days = list(made.assignments.order_by("due_on"))
    assert [each.recipe for each in days] == week
    assert [each.due_on for each in days] == [later(1), later(3), later(5)]
    assert [each.minutes for each in days] == [5, 10, 15]
    assert [each.pass_marks_percent for each in days] == [61, 62, 63]
    assert [each.assigned.count() for each in days] == [4, 4, 4]
    assert {each.note for each in days} == {"Bay 2"}


def test_a_week_begins_on_a_day_of_its_own(
    client_of: ClientOf, fto: Person, hire: Person, week: list[Recipe]
) -> None:
    """One drill is offered by Friday, a week from tomorrow on."""
    browser, friday = client_of(fto), later(5).isoformat()
    offered = browser.get(ASSIGN).content.decode()
    past = form("person:HIRE", due_on=friday, first_on="2020-01-01")
    refused = browser.post(ASSIGN, past)
    browser.post(ASSIGN, past | {"first_on": later(2).isoformat()})

    assert f'name="first_on" value="{later(1).isoformat()}"' in offered
    assert refused.status_code == 422
    days = Series.objects.get().assignments.order_by("due_on")
    assert [each.due_on for each in days] == [later(2), later(3), later(4)]


def test_one_entry_of_the_audit_says_all_of_it(
    fto: Person, hire: Person, week: list[Recipe]
) -> None:
    given(week, hire, by=fto)

    entry = AuditEntry.objects.get(action__startswith="assign")
    assert entry.action == "assign series"
    assert entry.after == {
        "due": [later(each).isoformat() for each in (1, 2, 3)],
        "to": ["HIRE"],
    }


def test_who_has_days_of_it_to_do_is_left_out_and_named(
    client_of: ClientOf, fto: Person, hire: Person, week: list[Recipe]
) -> None:
    given(week, hire, by=fto)
    PersonFactory.create(cohorts=hire.cohorts.all())

    again = client_of(fto).post(ASSIGN, form("person:HIRE"))
    cohort = client_of(fto).post(ASSIGN, form("cohort:first-intake"), follow=True)

    assert (again.status_code, Series.objects.count()) == (422, 2)
    assert "everybody has days of it to do already" in again.content.decode()
    assert "1 left out, who has it to do by then" in cohort.content.decode()
    with pytest.raises(HaveSeriesError, match="1 people have days of New rig in a week"):
        given(week, hire, by=fto)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"to": []}, "To whom: nobody was chosen"),
        ({"recipe": "series:none"}, "Which drill: “series:none” came in. There is no such drill"),
        ({"due_on": "2020-01-01"}, "Due on: “2020-01-01” came in. That day is past; "),
        ({"every": "8"}, "Days from one to the next: “8” came in. A whole number from 1 to 7"),
        ({"marks": "90"}, "Another standard: each day of New rig in a week has its own"),
        ({"layout": "none"}, "Drilled on: “none” came in. Choose a layout of the list"),
    ],
)
def test_what_cannot_be_is_refused_and_none_of_it_is_given(
    client_of: ClientOf, fto: Person, hire: Person, week: list[Recipe], changes: Any, words: str
) -> None:
    response = client_of(fto).post(ASSIGN, form("person:HIRE") | changes)

    assert (response.status_code, Assignment.objects.count()) == (422, 0)
    assert words in response.content.decode()


def test_a_day_that_cannot_be_given_keeps_all_of_it_back(
    fto: Person, hire: Person, week: list[Recipe]
) -> None:
    week[1].retired_on = today()
    week[1].save()

    with pytest.raises(ValueError, match="day 2 is retired"):
        given(week, hire, by=fto)

    assert (Series.objects.count(), Assignment.objects.count()) == (0, 0)


@pytest.mark.parametrize("every", [0, 8])
def test_days_are_one_to_seven_apart(every: int) -> None:
    with pytest.raises(ValueError, match=f"{every} days apart came in; from 1 to 7 is accepted"):
        due_days(date(2026, 12, 1), every=every, count=7)


def test_todays_page_shows_it_as_one_with_the_days_met_and_starts_the_next(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig, week: list[Recipe]
) -> None:
    given(week, hire, by=fto)
    run = do(hire, week[0], rig)

    content = client_of(hire).get(reverse("boards:home"), follow=True).content.decode()

    shown = content.partition("Assigned to you")[2].partition("</section>")[0]
    assert run.assigned is not None
    assert shown.count('<li class="rowline">') == 1
    assert "1 of 3 days met" in shown
    assert "next: New rig in a week, day 2" in shown
    assert 'name="recipe" value="week-2"' in shown
    assert 'name="recipe" value="week-3"' not in shown
    assert reverse("rigs:walk", args=[rig.layout.slug]) in shown


def test_a_mixed_day_offers_no_walk(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig, week: list[Recipe]
) -> None:
    given(week, hire, by=fto)
    for recipe in week[:2]:
        do(hire, recipe, rig)

    content = client_of(hire).get(reverse("boards:home"), follow=True).content.decode()

    shown = content.partition("Assigned to you")[2].partition("</section>")[0]
    assert "next: New rig in a week, day 3" in shown
    assert "Walk it first" not in shown


def test_the_givers_page_shows_each_person_with_their_days(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig, week: list[Recipe]
) -> None:
    series = given(week, hire, *PersonFactory.create_batch(2), by=fto)
    do(hire, week[0], rig)

    content = page(client_of(fto), series)

    assert "<b>1</b> of 3" in content
    assert "2 more who are not paired with you" in content
    assert "1 of 3 days met" in content
    board = client_of(fto).get(reverse("boards:fto")).content.decode()
    listed = client_of(fto).get(reverse("runs:assignments")).content.decode()
    for told in (board, listed):
        assert reverse("runs:series", args=[series.pk]) in told
        assert all(reverse("runs:assignment", args=[day.pk]) not in told for day in _days(series))


def test_of_one_other_person_no_states_are_counted_however_many_days(
    client_of: ClientOf, fto: Person, hire: Person, outsider: Person, week: list[Recipe]
) -> None:
    given(week, hire, outsider, by=fto)

    listed = client_of(fto).get(reverse("runs:assignments")).content.decode()

    assert "1 person, whose state is not shown: fewer than three" in listed
    assert "6 not started" not in listed


def test_every_day_is_due_otherwise_in_one_change(
    client_of: ClientOf, fto: Person, hire: Person, week: list[Recipe]
) -> None:
    series = given(week, hire, by=fto)
    wish = {"first_due": later(4).isoformat(), "every": "3", "note": "After leave"}

    client_of(fto).post(reverse("runs:change_series", args=[series.pk]), wish)

    days = _days(series)
    assert [each.due_on for each in days] == [later(4), later(7), later(10)]
    assert {each.note for each in days} == {"After leave"}
    series.refresh_from_db()
    assert (series.every, series.note) == (3, "After leave")
    entry = AuditEntry.objects.get(action="change series")
    assert (entry.before or {})["due"][0] == later(1).isoformat()


def test_the_same_again_changes_nothing(fto: Person, hire: Person, week: list[Recipe]) -> None:
    series = given(week, hire, by=fto)

    now = timezone.now()
    assert not move_series(series, first_due=later(1), every=1, note="", by=fto, now=now)
    assert not AuditEntry.objects.filter(action="change series").exists()


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"first_due": "2020-01-01"}, "2020-01-01 came in, which is past"),
        ({"first_due": ""}, "The first is due on: nothing came in"),
        ({"every": "9"}, "Days from one to the next: “9” came in"),
    ],
)
def test_a_change_that_cannot_be_is_refused(
    client_of: ClientOf, fto: Person, hire: Person, week: list[Recipe], wish: Any, words: str
) -> None:
    series = given(week, hire, by=fto)
    url = reverse("runs:change_series", args=[series.pk])

    response = client_of(fto).post(url, {"first_due": later(1).isoformat()} | wish)

    assert response.status_code == 422
    assert words in response.content.decode()
    assert [each.due_on for each in _days(series)] == [later(1), later(2), later(3)]


def test_withdrawing_ends_every_day_and_keeps_what_was_met(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig, week: list[Recipe]
) -> None:
    series = given(week, hire, by=fto)
    do(hire, week[0], rig)

    client_of(fto).post(reverse("runs:withdraw_series", args=[series.pk]))

    assert all(each.withdrawn_at for each in _days(series))
    assert series_to(hire, today=today()) == []
    assert Run.objects.get().state == RunState.FINISHED
    content = page(client_of(fto), series)
    assert "<b>1</b> of 3" in content
    assert "Withdraw every day" not in content
    assert withdraw_series(series, by=fto, now=timezone.now()) == 0
    with pytest.raises(ValueError, match="New rig in a week was withdrawn"):
        move_series(series, first_due=later(1), every=1, note="x", by=fto, now=timezone.now())


def test_who_is_excused_is_so_from_every_day_not_met_and_back(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig, week: list[Recipe]
) -> None:
    series = given(week, hire, by=fto)
    do(hire, week[0], rig)
    url, browser = reverse("runs:excuse_series", args=[series.pk]), client_of(fto)

    nobody = browser.post(url, {"because": "On leave"})
    reasonless = browser.post(url, {"who": "HIRE", "because": " "})
    browser.post(url, {"who": "HIRE", "because": "On leave"})

    assert (nobody.status_code, reasonless.status_code) == (422, 422)
    assert [each.state for each in of(hire).days] == ["met", "excused", "excused"]
    browser.post(url, {"who": "HIRE", "back": "1"})
    assert [each.state for each in of(hire).days] == ["met", "not started", "not started"]


def test_nobody_excuses_themselves(fto: Person, week: list[Recipe]) -> None:
    series = given(week, fto, by=fto)

    with pytest.raises(ValueError, match="Nobody excuses themselves"):
        excuse_from_series(series, [fto], because="Busy", by=fto, now=timezone.now())

    assert take_back_from_series(series, [fto], by=fto, now=timezone.now()) == 0
    assert not Assigned.objects.exclude(excused_at=None).exists()


def test_of_a_layout_that_is_named_each_day_is_drilled_there_whatever_they_ride(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig, week: list[Recipe]
) -> None:
    """Also of who picked no rig at all."""
    client_of(fto).post(ASSIGN, form("person:HIRE", layout=rig.layout.slug))
    browser = client_of(hire)

    content = browser.get(reverse("boards:home"), follow=True).content.decode()
    assert f'name="layout" value="{rig.layout.slug}"' in content
    browser.post(reverse("runs:start"), {"recipe": "week-1", "layout": rig.layout.slug})

    run = Run.objects.get()
    assert (run.rig, run.drill.revision) == (None, rig.revision)
    assert run.assigned == of(hire).days[0].assigned


def test_two_hundred_people_are_given_a_week_as_one_act(fto: Person, week: list[Recipe]) -> None:
    people = PersonFactory.create_batch(200, cohorts=[CohortFactory.create()])

    series = given(week, *people, by=fto)

    assert Assigned.objects.filter(assignment__series=series).count() == 600
    assert AuditEntry.objects.filter(action__contains="assign").count() == 1


def _days(series: Series) -> list[Assignment]:
    return list(series.assignments.order_by("due_on"))
