"""The pages on which drills are given to people, and their states are read."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import CohortFactory, PersonFactory, RecipeFactory
from drills.engine.standards import Standard
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.runs.models import Assigned, Assignment
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
        ({"to": []}, "Nobody was chosen"),
        ({"to": ["person:OUTSIDER"]}, "“person:OUTSIDER” came in"),
        ({"to": ["cohort:none"]}, "“cohort:none” came in"),
        ({"recipe": ""}, "Choose a drill."),
        ({"recipe": "no-such"}, "There is no such drill"),
        ({"due_on": "Friday"}, "Write it as 2026-11-27"),
        ({"due_on": "2020-01-01"}, "2020-01-01 came in, which is past"),
        ({"has_own_standard": "1", "marks": "101"}, "less than or equal to 100"),
        ({"note": "x" * 201}, "at most 200 characters"),
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
    RecipeFactory.create(slug="later", name="Later drill", kinds="supply:1")

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
    assert reverse("runs:debrief", args=[run.pk]) in content
    debrief = officer.get(reverse("runs:debrief", args=[run.pk])).content.decode()
    assert "Assigned by Ola Field" in debrief
    assert "not met: marks 0 of 100, 80 asked." in debrief


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
    officer.post(URL, form("person:HIRE", "cohort:second"))
    made = Assignment.objects.get()

    of_fto, of_educator = page(officer, made), page(client_of(educator), made)

    assert "Noor Hire" in of_fto
    assert "Zed Unpaired" not in of_fto
    assert "1 more who is not paired with you" in of_fto
    assert "1 not started" in of_fto
    assert "Zed Unpaired" in of_educator


def test_an_fto_excuses_nobody_they_are_not_paired_with(
    officer: Client, fto: Person, hire: Person, outsider: Person, recipe: Recipe
) -> None:
    made = now_given(recipe, hire, outsider, by=fto)

    response = officer.post(
        reverse("runs:excuse", args=[made.pk]), {"who": ["OUTSIDER"], "because": "leave"}
    )

    assert response.status_code == 422
    assert not Assigned.objects.exclude(excused_at=None).exists()


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
    officer: Client, fto: Person, hire: Person, outsider: Person, rig: Rig, recipe: Recipe
) -> None:
    made = now_given(recipe, hire, outsider, by=fto)
    taken(hire, recipe, rig, now=lately())

    content = officer.get(reverse("runs:assignments")).content.decode()

    assert reverse("runs:assignment", args=[made.pk]) in content
    assert "1 not started" in content
    assert "1 met" in content


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
