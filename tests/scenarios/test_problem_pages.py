"""The pages of problems. Who may: the table of access."""

from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format

from drills.people.models import AuditEntry, Person
from drills.scenarios import actions
from drills.scenarios.ailments import patients_mark
from drills.scenarios.models import CallType, Problem
from tests.calls import FINDINGS
from tests.scenarios.conftest import NOW, ClientOf
from tests.scenarios.test_call_pages import HTMX, said, send

pytestmark = pytest.mark.django_db
PAGE = reverse("scenarios:problem", args=["bleed"])
STATE = reverse("scenarios:problem_line", args=["bleed", "states", 1])
SIGNS = reverse("scenarios:problem_line", args=["bleed", "vitals", 1])
VITALS = {"severity": 2, "age_band": "adult", "hr": [90, 110], "rr": [16, 24], "sbp": [100, 130]}
SOURCE = {"source": "made for a test"}


@pytest.fixture
def bleed(bleeding: CallType) -> Problem:
    problem = Problem.objects.get(slug="bleed")
    problem.states = [problem.states[0] | SOURCE]
    problem.vitals = [VITALS | SOURCE | {"age_from_y": 18}]
    problem.save()
    return problem


@pytest.fixture
def client(bleed: Problem, educator: Person, client_of: ClientOf) -> Client:
    return client_of(educator)


def test_a_problem_has_a_sample_beside_it(client: Client) -> None:
    """Another one at another seed, the same at the same, alone for htmx."""
    first, again = client.get(PAGE), client.get(PAGE)
    words = said(first.content)
    assert FINDINGS in words
    assert "Severe bleeding not reviewed" in words
    assert "Some of it cannot be" not in words
    assert said(again.content) == words
    other = client.get(PAGE, {"seed": 2}, headers=HTMX)
    assert "Sample 2" in other.content.decode()
    assert said(other.content) not in words
    assert "Vital signs" not in said(other.content)


def test_a_change_is_kept_with_its_line_in_the_audit_and_takes_reviews_away(
    client: Client, bleed: Problem, bleeding: CallType, educator: Person
) -> None:
    CallType.objects.update(reviewed_by="Dr Example", version=3)
    answer = send(client, STATE, {"findings": "Bright blood in spurts", "spo2": "91 to 95"})

    assert answer.url == f"{PAGE}#states"
    bleed.refresh_from_db()
    (state,) = bleed.states
    assert (state["findings"], state["spo2"]) == ("Bright blood in spurts", [91, 95])
    assert (state["gcs"], state["word"], state["severity"]) == ([15, 15], "moderate", 2)
    bleeding.refresh_from_db()
    assert (bleeding.reviewed_by, bleeding.reviewed_on, bleeding.version) == ("", None, 4)
    line = AuditEntry.objects.get(action="change problem")
    assert (line.subject, line.actor) == ("bleed, states 1", educator)
    told = AuditEntry.objects.values_list("after__review_lost", flat=True)
    assert told.get(pk=line.pk) == ["bleeding"]


def test_whose_review_ended_and_why_is_told_until_the_next_one(
    client: Client, bleed: Problem, bleeding: CallType
) -> None:
    """On the pages of the call type and of the problem; who looked before looks again."""
    CallType.objects.update(reviewed_by="Dr Example")
    page, seen = reverse("scenarios:call", args=["bleeding"]), patients_mark(bleeding)
    assert "Severe bleeding: reviewed. A change takes" in said(client.get(STATE).content)
    send(client, STATE, {"findings": "Bright blood in spurts"})
    day = date_format(timezone.localdate(), "j F Y")
    told = f"Dr Example reviewed it before the problem Bleeding limb changed on {day}."

    assert f"nobody : its drills say so {told}" in said(client.get(page).content)
    assert f"not reviewed: {told}" in said(client.get(PAGE).content)
    assert "not reviewed any more" in said(client.get(reverse("scenarios:calls")).content)
    given = {"reviewer": "Dr Other", "version": "2"}
    assert client.post(f"{page}review/", given | {"patients": seen}).status_code == 422
    client.post(f"{page}review/", given | {"patients": patients_mark(bleeding)})
    assert told not in said(client.get(page).content)


def test_a_problem_that_a_release_changes_ends_reviews_as_well(
    bleed: Problem, bleeding: CallType
) -> None:
    """Saved as a release saves it; another name is no other patient."""
    CallType.objects.update(reviewed_by="Dr Example")
    bleed.name = "Bleeding arm or leg"
    bleed.save()
    bleeding.refresh_from_db()
    assert bleeding.reviewed_by == "Dr Example"
    bleed.vitals = [bleed.vitals[0] | {"hr": [95, 115]}]
    bleed.save()
    bleeding.refresh_from_db()
    assert (bleeding.reviewed_by, bleeding.version) == ("", 2)
    assert "before the problem Bleeding arm or leg changed" in bleeding.review_ended


def test_sending_a_row_as_it_stands_changes_nothing(client: Client, bleed: Problem) -> None:
    for at in (STATE, SIGNS):
        assert send(client, at, {}).status_code == 302
    before = (bleed.states, bleed.vitals)
    bleed.refresh_from_db()
    assert (bleed.states, bleed.vitals) == before
    assert not AuditEntry.objects.filter(action="change problem").exists()


@pytest.mark.parametrize("headers", [{}, HTMX])
def test_what_is_tried_is_shown_and_not_kept(
    client: Client, bleed: Problem, headers: dict[str, Any]
) -> None:
    """The patients of the form as it is, with what of it cannot be."""
    answer = send(client, SIGNS, {"hr": "77 to 77", "tries": "on"}, headers=headers)
    assert answer.status_code == 200
    words = said(answer.content)
    assert "As you wrote it nothing is kept yet" in words
    assert words.count("Pulse 77") == 3
    answer = send(client, SIGNS, {"sbp": "40 to 50", "tries": "on"}, headers=headers)
    assert "systolic pressure 40 to 50; at least 68 for somebody awake" in said(answer.content)
    bleed.refresh_from_db()
    assert bleed.vitals[0]["hr"] == [90, 110]
    assert not AuditEntry.objects.filter(action="change problem").exists()


@pytest.mark.parametrize(
    ("at", "changes", "fault"),
    [
        (SIGNS, {"hr": "fast"}, '"fast" came in; accepted is the pulse as two numbers'),
        (SIGNS, {"hr": ""}, "no value came in"),
        (SIGNS, {"age_band": "ancient"}, '"ancient" came in; accepted is one of adult'),
        (SIGNS, {"sbp": "56 to 76"}, "at least 68 for somebody awake of this age"),
        (SIGNS, {"sbp": "85 to 95"}, "either under 90, which is low at this age"),
        (SIGNS, {"rr": "30 to 55"}, "breaths 30 to 55; at most 40 at this age"),
        (SIGNS, {"removes": "on"}, "Moderate, adult: no vital signs are given."),
        (STATE, {"findings": ""}, "no value came in"),
        (STATE, {"findings": "No response"}, "coma scale 15 to 15; with these words it is 3 to 8"),
        (STATE, {"age_bands": ""}, "accepted is some of adult"),
        (STATE, {"severity": "3"}, "no vital signs are given"),
        (STATE, {"removes": "on"}, "has no findings for adult at the severities"),
        (STATE, {"seen": "x"}, "Somebody changed this since you opened it."),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_that_was_typed_is_lost(
    client: Client, bleed: Problem, at: str, changes: dict[str, str], fault: str
) -> None:
    answer = send(client, at, changes | {"source": "typed anew"})

    assert answer.status_code == 422
    assert fault in said(answer.content)
    assert "Nothing is changed." in said(answer.content)
    assert 'value="typed anew"' in answer.content.decode()
    before = (bleed.states, bleed.vitals)
    bleed.refresh_from_db()
    assert (bleed.states, bleed.vitals) == before


def test_signs_of_another_severity_and_then_how_it_looks_are_added_and_taken_out(
    client: Client, bleed: Problem
) -> None:
    grave = {"severity": "3", "age_band": "adult", "hr": "120 to 135", "rr": "26 to 32"}
    grave |= {"sbp": "70 to 86", "gcs": "12 to 14", **SOURCE}
    client.post(
        reverse("scenarios:add_problem_line", args=["bleed", "vitals"]),
        grave | mark(client, "vitals"),
    )
    looks = {"severity": "3", "findings": "Ashen", "age_bands": "adult", **SOURCE}
    client.post(
        reverse("scenarios:add_problem_line", args=["bleed", "states"]),
        looks | mark(client, "states"),
    )

    bleed.refresh_from_db()
    assert [each["severity"] for each in bleed.vitals] == [2, 3]
    assert [each["findings"] for each in bleed.states] == [FINDINGS, "Ashen"]
    second = reverse("scenarios:problem_line", args=["bleed", "states", 2])
    assert send(client, second, {"removes": "on"}).status_code == 302
    bleed.refresh_from_db()
    assert [each["findings"] for each in bleed.states] == [FINDINGS]


def mark(client: Client, sheet: str) -> dict[str, str]:
    page = client.get(reverse("scenarios:add_problem_line", args=["bleed", sheet])).content.decode()
    return {"seen": page.partition('name="seen" value="')[2].partition('"')[0]}


def test_the_list_says_what_cannot_be(client: Client, bleed: Problem) -> None:
    at = reverse("scenarios:problems")
    assert "Bleeding limb trauma; 1 way to look" in said(client.get(at).content)
    Problem.objects.update(vitals=[])
    assert "cannot be: 1" in said(client.get(at).content)
    assert "Moderate, adult: no vital signs are given." in said(client.get(PAGE).content)


def test_who_may_only_read_is_offered_no_change(
    bleed: Problem, keeper: Person, client_of: ClientOf
) -> None:
    words = said(client_of(keeper).get(PAGE).content)
    assert FINDINGS in words
    assert "Change" not in words
    with pytest.raises(PermissionDenied):
        actions.change_problem(bleed, "states", 0, None, seen="", by=keeper, now=NOW)


@pytest.mark.parametrize("args", [("none", "states", 1), ("bleed", "x", 1), ("bleed", "states", 9)])
def test_there_is_no_page_of_what_a_problem_has_not(client: Client, args: tuple[Any, ...]) -> None:
    assert client.get(reverse("scenarios:problem_line", args=args)).status_code == 404
