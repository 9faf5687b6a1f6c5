"""The pages on which drills are given to people, and their states are read."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import CohortFactory, PersonFactory, RecipeFactory
from drills.engine.standards import Standard
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.runs.actions import contest, decide_contest, excuse, withdraw
from drills.runs.models import Assigned, Assignment, Verdict
from drills.runs.recipients import to_whom
from drills.scenarios.models import Recipe
from tests.runs.assignments import given, taken
from tests.runs.conftest import ClientOf
from tests.runs.player import lately, wrong

URL = reverse("runs:assign")
pytestmark = pytest.mark.django_db


@pytest.fixture
def recipe(db: None) -> Recipe:
    return RecipeFactory.create(
        slug="five", name="Find five", kinds="locate:5", pass_marks_percent=80, minutes=7
    )


@pytest.fixture
def officer(client_of: ClientOf, fto: Person) -> Client:
    return client_of(fto)


def tomorrow() -> str:
    return (timezone.localdate() + timedelta(days=1)).isoformat()


def form(*to: str, **changes: str) -> dict[str, Any]:
    return {"recipe": "five", "due_on": tomorrow(), "to": list(to)} | changes


def now_given(recipe: Recipe, *to: Person, by: Person) -> Assignment:
    due = timezone.localdate() + timedelta(days=2)
    return given(recipe, to, by=by, due_on=due, now=timezone.now())


def page(client: Client, assignment: Assignment) -> str:
    return client.get(reverse("runs:assignment", args=[assignment.pk])).content.decode()


def test_a_cohort_is_given_a_drill_in_one_form(
    officer: Client, fto: Person, hire: Person, recipe: Recipe
) -> None:
    intake = hire.cohorts.get()
    PersonFactory.create_batch(3, cohorts=[intake])
    PersonFactory.create(is_active=False, cohorts=[intake])

    response = officer.post(URL, form("cohort:first-intake"))

    made = Assignment.objects.get()
    assert response["Location"] == reverse("runs:assignment", args=[made.pk])
    assert made.assigned.count() == 4
    assert (made.given_by, made.minutes, made.standard) == (fto, 7, Standard(marks=80))


def test_who_is_in_several_choices_is_given_it_once(
    officer: Client, hire: Person, recipe: Recipe
) -> None:
    officer.post(URL, form("cohort:first-intake", "paired:FTO", "person:HIRE"))

    assert Assigned.objects.get().person == hire


def test_another_standard_takes_the_place_of_the_recipes(
    officer: Client, hire: Person, recipe: Recipe
) -> None:
    own = {"has_own_standard": "1", "in_time": "60", "no_unsafe_dose": "1", "minutes": "9"}

    officer.post(URL, form("person:HIRE", note="Before the swap", **own))

    made = Assignment.objects.get()
    assert made.standard == Standard(in_time=60, no_unsafe_dose=True)
    assert (made.minutes, made.note) == (9, "Before the swap")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"to": []}, "To whom: nobody was chosen"),
        ({"to": ["person:OUTSIDER"]}, "To whom: “person:OUTSIDER” came in"),
        ({"to": ["cohort:none"]}, "To whom: “cohort:none” came in"),
        ({"recipe": ""}, "Which drill: nothing came in. Choose a drill."),
        ({"recipe": "no-such"}, "Which drill: “no-such” came in. There is no such drill"),
        ({"due_on": ""}, "Due on: nothing came in. Choose the day it is due."),
        ({"due_on": "Friday"}, "Due on: “Friday” came in. Write the day as 2026-11-27."),
        ({"due_on": "2020-01-01"}, "Due on: “2020-01-01” came in. That day is past; "),
        ({"marks": "101"}, "Marks, of 100: “101” came in. A whole number from 0 to 100 is accept"),
        ({"in_time": "-1"}, "In time, of 100: “-1” came in. A whole number from 0 to 100 is"),
        ({"minutes": "ten"}, "Minutes expected: “ten” came in. A whole number from 1 to 240 is"),
        ({"note": "x" * 201}, "x…” came in. At most 200 characters are accepted"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_lost(
    officer: Client, outsider: Person, recipe: Recipe, changes: dict[str, Any], words: str
) -> None:
    response = officer.post(URL, form("person:HIRE", note="Kept").copy() | changes)

    content = response.content.decode()
    assert response.status_code == 422
    assert words in content
    assert changes.get("note", "Kept") in content
    assert ('value="person:HIRE" checked' in content) is ("to" not in changes)
    assert not Assignment.objects.exists()


def test_everything_that_is_wrong_is_said_at_once(officer: Client, recipe: Recipe) -> None:
    wrong = {"recipe": "", "due_on": "2020-01-01", "marks": "101", "minutes": "0"}

    content = officer.post(URL, form(**wrong)).content.decode()

    for name in ("To whom", "Which drill", "Due on", "Marks, of 100", "Minutes expected"):
        assert f"{name}: " in content
    assert 'value="2020-01-01"' in content
    assert 'value="101"' in content


@pytest.mark.parametrize(
    ("own", "asked"),
    [
        ({"marks": "85"}, Standard(marks=85)),
        ({"marks": "0"}, Standard(marks=0)),
        ({"no_must_missed": "1"}, Standard(no_must_missed=True)),
        ({"has_own_standard": "1"}, Standard()),
        ({"minutes": "9"}, Standard(marks=80)),
    ],
)
def test_whatever_is_filled_in_of_a_standard_is_asked(
    officer: Client, hire: Person, recipe: Recipe, own: dict[str, str], asked: Standard
) -> None:
    officer.post(URL, form("person:HIRE", **own))

    assert Assignment.objects.get().standard == asked


def test_who_has_it_to_do_by_that_day_is_left_out_and_named(
    officer: Client, hire: Person, recipe: Recipe
) -> None:
    intake = hire.cohorts.get()
    officer.post(URL, form("person:HIRE"))
    PersonFactory.create(name="Lou Later", cohorts=[intake])

    shown = officer.post(URL, form("cohort:first-intake"), follow=True).content.decode()

    assert "to 1 person, due" in shown
    assert "1 left out, who has it to do by then: Noor Hire." in shown
    assert Assigned.objects.filter(person=hire).count() == 1


def test_giving_it_again_to_nobody_else_is_refused(
    officer: Client, client_of: ClientOf, hire: Person, educator: Person, recipe: Recipe
) -> None:
    officer.post(URL, form("cohort:first-intake"))

    refused = officer.post(URL, form("cohort:first-intake", note="Again"))

    content = refused.content.decode()
    assert refused.status_code == 422
    assert "To whom: Noor Hire came in, and everybody has this drill to do by" in content
    assert 'value="Again"' in content
    assert Assignment.objects.count() == 1


def test_who_is_not_paired_is_left_out_by_count_alone(
    officer: Client, educator: Person, client_of: ClientOf, recipe: Recipe
) -> None:
    cohort = CohortFactory.create(slug="second", name="Second intake")
    PersonFactory.create(name="Zed Unpaired", cohorts=[cohort])
    client_of(educator).post(URL, form("cohort:second"))

    content = officer.post(URL, form("cohort:second")).content.decode()

    assert "1 other came in, and everybody has this drill" in content
    assert "Zed Unpaired" not in content


@pytest.mark.parametrize("over", ["another day", "withdrawn", "excused", "met"])
def test_what_is_not_to_do_that_day_keeps_nobody_out(
    officer: Client, fto: Person, hire: Person, rig: Rig, recipe: Recipe, over: str
) -> None:
    days = 3 if over == "another day" else 1
    due = timezone.localdate() + timedelta(days=days)
    before = given(recipe, [hire], by=fto, due_on=due, now=timezone.now())
    if over == "withdrawn":
        withdraw(before, by=fto, now=timezone.now())
    elif over == "excused":
        excuse(list(before.assigned.all()), because="leave", by=fto, now=timezone.now())
    elif over == "met":
        taken(hire, recipe, rig, now=lately())

    officer.post(URL, form("person:HIRE", twice=f"five {tomorrow()}"))

    assert Assigned.objects.filter(person=hire).count() == 2


def test_who_has_it_to_do_by_another_day_is_told_before_it_is_given_again(
    officer: Client, fto: Person, hire: Person, recipe: Recipe
) -> None:
    due = timezone.localdate() + timedelta(days=3)
    given(recipe, [hire], by=fto, due_on=due, now=timezone.now())

    asked = officer.post(URL, form("person:HIRE", note="Before Friday"))
    content = asked.content.decode()
    assert asked.status_code == 422
    assert f"Noor Hire has this drill to do already, by {due:%a %-d %b}." in content
    assert 'value="Before Friday"' in content
    assert Assigned.objects.filter(person=hire).count() == 1

    other = (timezone.localdate() + timedelta(days=2)).isoformat()
    still = officer.post(URL, form("person:HIRE", due_on=other, twice=f"five {tomorrow()}"))
    done = officer.post(URL, form("person:HIRE", twice=f"five {tomorrow()}"))
    assert (still.status_code, done.status_code) == (422, 302)
    assert f'name="twice" value="five {tomorrow()}"' in content
    assert Assigned.objects.filter(person=hire).count() == 2


@pytest.mark.parametrize(("to", "is_open"), [("person:HIRE", True), ("cohort:first-intake", False)])
def test_refused_single_people_are_laid_open_only_where_one_was_chosen(
    officer: Client, hire: Person, recipe: Recipe, to: str, is_open: bool
) -> None:
    content = officer.post(URL, form(to, recipe="no-such")).content.decode()

    assert ('<details class="more" open><summary>Or single people' in content) is is_open
    assert f'value="{to}" checked' in content


@pytest.mark.parametrize("over", ["withdrawn", "excused", "met", "another drill"])
def test_nothing_is_said_twice_of_what_is_not_to_do(
    officer: Client, fto: Person, hire: Person, rig: Rig, recipe: Recipe, over: str
) -> None:
    other = RecipeFactory.create(slug="six", name="Find six", kinds="locate:5")
    due, now = timezone.localdate() + timedelta(days=3), timezone.now()
    before = given(
        other if over == "another drill" else recipe, [hire], by=fto, due_on=due, now=now
    )
    if over == "withdrawn":
        withdraw(before, by=fto, now=now)
    elif over == "excused":
        excuse(list(before.assigned.all()), because="leave", by=fto, now=now)
    elif over == "met":
        taken(hire, recipe, rig, now=lately())

    assert officer.post(URL, form("person:HIRE")).status_code == 302


def test_an_fto_is_offered_their_own_people_and_an_educator_everybody(
    client_of: ClientOf, fto: Person, educator: Person, outsider: Person, recipe: Recipe
) -> None:
    of_fto = client_of(fto).get(URL).content.decode()
    of_educator = client_of(educator).get(URL).content.decode()

    assert "Noor Hire" in of_fto
    assert "Uri Side" not in of_fto
    assert "Noor Hire" in of_educator
    assert "Uri Side" in of_educator
    assert "Paired with Ola Field" in of_educator


def test_only_what_can_be_drilled_is_offered(officer: Client, recipe: Recipe) -> None:
    RecipeFactory.create(slug="later", name="Later drill", focus=["what glows"])

    content = officer.get(URL).content.decode()

    assert "Find five" in content
    assert "Standard: 80 of 100 marks" in content
    assert "Later drill" not in content


def test_the_page_goes_down_to_each_attempt(
    officer: Client, fto: Person, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    made = now_given(recipe, hire, by=fto)
    run = taken(hire, recipe, rig, now=lately(), choose=wrong)

    content = page(officer, made)

    assert "not met yet" in content
    assert "marks 0 of 100, 80 asked" in content
    # Five, each missed three times, at four seconds and a bit.
    assert "0 marks, 2 min" in content
    debrief_url = reverse("runs:debrief", args=[run.pk])
    assert f'<a href="{debrief_url}"><b>Noor Hire</b></a>' in content
    debrief = officer.get(reverse("runs:debrief", args=[run.pk])).content.decode()
    assert "Assigned by Ola Field" in debrief
    assert "not met: marks 0 of 100, 80 asked." in debrief


def test_the_page_says_how_far_all_of_two_hundred_are(
    client_of: ClientOf, educator: Person, recipe: Recipe, rig: Rig
) -> None:
    people = PersonFactory.create_batch(200)
    assignment = now_given(recipe, *people, by=educator)
    taken(people[0], recipe, rig, now=timezone.now() - timedelta(minutes=5))

    content = page(client_of(educator), assignment)

    assert "1 of 200 people met" in content
    assert '<progress id="met" max="200" value="1">' in content


def test_of_people_not_paired_with_them_an_fto_sees_counts_alone(
    officer: Client,
    client_of: ClientOf,
    fto: Person,
    hire: Person,
    educator: Person,
    recipe: Recipe,
) -> None:
    cohort = CohortFactory.create(slug="second", name="Second intake")
    PersonFactory.create(name="Zed Unpaired", cohorts=[cohort])
    PersonFactory.create_batch(2, cohorts=[cohort])
    officer.post(URL, form("person:HIRE", "cohort:second"))
    made = Assignment.objects.get()

    of_fto, of_educator = page(officer, made), page(client_of(educator), made)

    assert "Noor Hire" in of_fto
    assert "Zed Unpaired" not in of_fto
    assert "3 more who are not paired with you" in of_fto
    assert "3 not started" in of_fto
    assert "Zed Unpaired" in of_educator


@pytest.mark.parametrize(("here", "left"), [(1, 0), (2, 0), (2, 2)])
def test_of_fewer_than_three_not_paired_with_them_an_fto_sees_no_states(
    officer: Client, fto: Person, hire: Person, rig: Rig, recipe: Recipe, here: int, left: int
) -> None:
    """Neither on the page nor as what is left when one takes one's own people from a list."""
    others = PersonFactory.create_batch(here + left)
    now_given(recipe, hire, *others, by=fto)
    made = Assignment.objects.get()
    taken(others[0], recipe, rig, now=lately())
    Person.objects.filter(pk__in=[each.pk for each in others[here:]]).update(is_active=False)

    listed = officer.get(reverse("runs:assignments")).content.decode()
    of_board = officer.get(reverse("boards:fto")).content.decode()

    count = (
        "1 person, whose state is"
        if here + left == 1
        else f"{here + left} people, whose states are"
    )
    for content in (listed, of_board):
        assert (
            f"1 not started</span>, {count} not shown: fewer than three in the service" in content
        )
    shown = page(officer, made)
    assert f"{here + left} more who" in shown
    assert "Of fewer than three in the service no states are shown." in shown
    for content in (listed, of_board, shown):
        assert "1 met" not in content
        assert "1 left the service" not in content


def test_an_fto_who_was_given_a_drill_is_not_counted_among_the_others(
    officer: Client, fto: Person, recipe: Recipe
) -> None:
    """What they know of themselves would tell the states of the other two."""
    made = now_given(recipe, fto, *PersonFactory.create_batch(2), by=fto)

    content = page(officer, made)

    assert "Ola Field</b><small>you; somebody else excuses you" in content
    assert "Of fewer than three in the service no states are shown." in content


def test_an_educator_sees_every_state_however_few(
    client_of: ClientOf, fto: Person, hire: Person, educator: Person, recipe: Recipe
) -> None:
    now_given(recipe, hire, by=fto)

    content = client_of(educator).get(reverse("runs:assignments")).content.decode()

    assert "1 not started" in content
    assert "not shown" not in content


def test_an_fto_excuses_nobody_they_are_not_paired_with(
    officer: Client, fto: Person, hire: Person, outsider: Person, recipe: Recipe
) -> None:
    made = now_given(recipe, hire, outsider, by=fto)

    response = officer.post(
        reverse("runs:excuse", args=[made.pk]), {"who": ["OUTSIDER"], "because": "leave"}
    )

    assert response.status_code == 422
    assert not Assigned.objects.exclude(excused_at=None).exists()


@pytest.mark.parametrize("how", [{"because": "busy"}, {"back": "1"}])
def test_nobody_excuses_themselves(
    client_of: ClientOf,
    fto: Person,
    hire: Person,
    educator: Person,
    recipe: Recipe,
    how: dict[str, str],
) -> None:
    made = now_given(recipe, hire, educator, by=fto)
    excused = made.assigned.filter(person=educator)
    if "back" in how:
        excuse(list(excused), because="leave", by=fto, now=timezone.now())
    before = list(made.assigned.values_list("person", "excused_because"))
    browser, number = client_of(educator), educator.employee_number

    shown = page(browser, made)
    response = browser.post(
        reverse("runs:excuse", args=[made.pk]), {"who": ["HIRE", number], **how}
    )

    assert response.status_code == 422
    assert f"{number} came in, which is you. Nobody excuses themselves" in response.content.decode()
    assert list(made.assigned.values_list("person", "excused_because")) == before
    assert 'value="HIRE"' in shown
    assert f'value="{number}"' not in shown


def test_excused_with_a_reason_and_back(
    officer: Client, client_of: ClientOf, fto: Person, hire: Person, recipe: Recipe
) -> None:
    made = now_given(recipe, hire, by=fto)
    url = reverse("runs:excuse", args=[made.pk])
    refused = officer.post(url, {"who": "HIRE", "because": ""})
    officer.post(url, {"who": "HIRE", "because": "on leave"})
    excused = page(officer, made)
    of_hire = client_of(hire).get(reverse("boards:hire")).content.decode()
    officer.post(url, {"who": "HIRE", "back": "1"})

    assert refused.status_code == 422
    assert "No reason came in" in refused.content.decode()
    assert 'value="HIRE" checked' in refused.content.decode()
    assert "on leave (Ola Field)" in excused
    assert "excused: on leave" in of_hire
    assert "not started" in page(officer, made)


def test_todays_page_shows_what_was_assigned_and_starts_it(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    made = now_given(recipe, hire, by=fto)
    pick_rig(hire, rig, now=timezone.now())
    browser = client_of(hire)

    content = browser.get(reverse("boards:hire")).content.decode()
    browser.post(reverse("runs:start"), {"recipe": "five"})

    assert "Assigned to you" in content
    assert "from O. Field, about 7 min" in content
    assert made.assigned.get().runs.count() == 1
    assert "Resume" in browser.get(reverse("boards:hire")).content.decode()


def test_the_list_counts_the_states(
    officer: Client, fto: Person, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    made = now_given(recipe, hire, *PersonFactory.create_batch(3), by=fto)
    taken(hire, recipe, rig, now=lately())

    content = officer.get(reverse("runs:assignments")).content.decode()

    assert reverse("runs:assignment", args=[made.pk]) in content
    assert "3 not started" in content
    assert "1 met" in content


def test_the_list_says_to_whom(officer: Client, fto: Person, hire: Person, recipe: Recipe) -> None:
    intake = hire.cohorts.get()
    others = PersonFactory.create_batch(4, cohorts=[intake])
    strangers = PersonFactory.create_batch(2)
    now_given(recipe, hire, by=fto)
    later = timezone.localdate() + timedelta(days=9)
    given(recipe, [hire, *others], by=fto, due_on=later, now=timezone.now())
    given(recipe, [*others, *strangers], by=fto, due_on=later + timedelta(days=1))

    content = officer.get(reverse("runs:assignments")).content.decode()

    assert "to Noor Hire<" in content
    assert "to First intake, 5 people<" in content
    assert "to 4 of First intake and 2 others, 6 people<" in content


def test_the_list_names_nobody_whom_an_fto_is_not_paired_with(
    officer: Client, fto: Person, outsider: Person, recipe: Recipe
) -> None:
    now_given(recipe, outsider, by=fto)

    content = officer.get(reverse("runs:assignments")).content.decode()

    assert "to 1 person<" in content
    assert "Uri Side" not in content


def test_to_whom_takes_as_many_queries_for_many_as_for_one(
    fto: Person, hire: Person, recipe: Recipe
) -> None:
    one = [now_given(recipe, hire, by=fto)]
    cohorts = CohortFactory.create_batch(3)
    many = one + [
        now_given(recipe, *PersonFactory.create_batch(5, cohorts=[each]), by=fto)
        for each in cohorts
    ]
    with CaptureQueriesContext(connection) as of_one:
        to_whom(one, viewer=fto)
    fto.forget_roles()
    with CaptureQueriesContext(connection) as of_many:
        to_whom(many, viewer=fto)

    assert len(of_many) <= len(of_one) + 1


def test_what_is_overdue_is_counted(
    officer: Client, fto: Person, hire: Person, recipe: Recipe
) -> None:
    yesterday = timezone.localdate() - timedelta(days=1)
    before = timezone.now() - timedelta(days=3)
    given(recipe, [hire, *PersonFactory.create_batch(3)], by=fto, due_on=yesterday, now=before)

    content = officer.get(reverse("runs:assignments")).content.decode()

    assert "4 overdue" in content


def test_who_left_is_told_as_such_on_every_page(
    officer: Client, client_of: ClientOf, fto: Person, educator: Person, recipe: Recipe
) -> None:
    people = PersonFactory.create_batch(4)
    yesterday = timezone.localdate() - timedelta(days=1)
    before = timezone.now() - timedelta(days=3)
    made = given(recipe, people, by=fto, due_on=yesterday, now=before)
    Person.objects.filter(pk=people[0].pk).update(is_active=False)

    listed = officer.get(reverse("runs:assignments")).content.decode()
    of_board = officer.get(reverse("boards:fto")).content.decode()
    of_educator = page(client_of(educator), made)

    for content in (listed, of_board, page(officer, made)):
        assert "1 left the service" in content
        assert "3 overdue" in content
    assert of_educator.count("not started, overdue") == 3
    told_above, of_each = of_educator.split("<tbody>")
    assert "1 left the service" in told_above
    assert of_each.count("left the service") == 1


def test_todays_page_leads_to_the_result_and_says_what_became_of_a_contest(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    now_given(recipe, hire, by=fto)
    pick_rig(hire, rig, now=timezone.now())
    run = taken(hire, recipe, rig, now=lately(), choose=wrong)
    browser, debrief = client_of(hire), reverse("runs:debrief", args=[run.pk])

    def today() -> str:
        return browser.get(reverse("boards:hire")).content.decode()

    before = today()
    first, second = run.presentations.filter(is_retry=False).exclude(prompt=None)[:2]
    found = [
        contest(run, token=each.token, because="No", now=timezone.now()) for each in (first, second)
    ]
    waits = today()
    for each, verdict in zip(found, (Verdict.UPHELD, Verdict.VOIDED), strict=True):
        decide_contest(each, verdict=verdict, answer="Seen", by=fto, now=timezone.now())

    assert debrief in before
    assert "contested" not in before
    assert "contested: waiting" in waits
    assert "contested: upheld, voided" in today()


def test_withdrawing_is_for_who_gave_it_or_an_educator(
    officer: Client, client_of: ClientOf, hire: Person, educator: Person, recipe: Recipe
) -> None:
    made = now_given(recipe, hire, by=educator)
    url = reverse("runs:withdraw", args=[made.pk])

    refused = officer.post(url)
    assert Assignment.objects.filter(withdrawn_at=None).exists()
    client_of(educator).post(url)
    again = client_of(educator).post(url)

    assert refused.status_code == 403
    assert again.status_code == 302
    assert not Assignment.objects.filter(withdrawn_at=None).exists()
    assert AuditEntry.objects.filter(action="withdraw assignment").count() == 1
