"""Problems that come in by hand, and that go. Who may: the table of access."""

from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client
from django.urls import reverse

from drills.people.models import AuditEntry, Person
from drills.scenarios import actions
from drills.scenarios.models import CallType, Problem
from tests.calls import FINDINGS
from tests.scenarios.conftest import NOW, ClientOf
from tests.scenarios.test_call_pages import HTMX, said

pytestmark = pytest.mark.django_db
ADD = reverse("scenarios:add_problem")
LIST = reverse("scenarios:problems")
EYES = {"like": "bleed", "problem": "gas-in-eyes", "name": "Gas in the eyes", "kind": "exposure"}


@pytest.fixture
def client(bleeding: CallType, educator: Person, client_of: ClientOf) -> Client:
    return client_of(educator)


def test_a_new_problem_looks_as_another_does_and_nobody_has_it_yet(
    client: Client, bleeding: CallType, educator: Person
) -> None:
    answer = client.post(ADD, EYES, follow=True)

    eyes, bleed = Problem.objects.get(slug="gas-in-eyes"), Problem.objects.get(slug="bleed")
    assert (eyes.name, eyes.kind) == ("Gas in the eyes", "exposure")
    assert (eyes.states, eyes.vitals) == (bleed.states, bleed.vitals)
    words = said(answer.content)
    assert "Gas in the eyes is there. It looks as Bleeding limb does: change that." in words
    assert "Call types that draw on it none" in words
    line = AuditEntry.objects.get(action="add problem")
    assert (line.subject, line.actor) == ("gas-in-eyes", educator)
    assert (line.after or {})["as"] == "bleed"
    assert client.get(LIST).content.decode().count("Gas in the eyes") == 1


def test_a_change_of_the_new_one_leaves_the_one_it_began_as(client: Client) -> None:
    client.post(ADD, EYES)
    row = reverse("scenarios:problem_line", args=["gas-in-eyes", "states", 1])
    page = client.get(row).content.decode()
    seen = page.partition('name="seen" value="')[2].partition('"')[0]
    sent = {"severity": "2", "findings": "Streaming red eyes", "age_bands": "adult"}
    client.post(row, sent | {"source": "made for a test", "seen": seen})

    assert Problem.objects.get(slug="gas-in-eyes").states[0]["findings"] == "Streaming red eyes"
    assert Problem.objects.get(slug="bleed").states[0]["findings"] == FINDINGS


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        ({"like": ""}, "Choose the problem that it starts as."),
        ({"problem": "Gas leak"}, '"Gas leak" came in; accepted is small letters'),
        ({"problem": "add"}, "such as gas-in-eyes, but not add"),
        ({"problem": ""}, "no value came in"),
        ({"problem": "x" * 61}, "accepted is"),
        ({"problem": "bleed"}, '"bleed", which is there came in'),
        ({"name": "bleeding LIMB"}, '"bleeding LIMB", which is there came in'),
        ({"name": ""}, "no value came in"),
        ({"kind": "odd"}, '"odd" came in; accepted is one of medical, trauma, exposure'),
    ],
)
@pytest.mark.parametrize("headers", [{}, HTMX])
def test_what_cannot_be_a_problem_is_said_and_nothing_is_added(
    client: Client, changes: dict[str, str], fault: str, headers: dict[str, Any]
) -> None:
    answer = client.post(ADD, EYES | changes, headers=headers)

    assert answer.status_code == 422
    words = said(answer.content)
    assert fault in words
    assert "Nothing is added." in words
    if "name" not in changes:
        assert 'value="Gas in the eyes"' in answer.content.decode()
    assert Problem.objects.count() == 1


def test_a_sample_of_what_it_starts_as_stands_beside_it(client: Client) -> None:
    """From the page of another, else of the first, and when asked for; nothing is added by that."""
    Problem.objects.create(slug="ache", name="Ache", kind="medical")
    assert FINDINGS in said(client.get(ADD, {"like": "bleed"}).content)
    assert "It looks as Ache does" in said(client.get(ADD).content)
    answer = client.post(ADD, EYES | {"tries": "on"}, headers=HTMX)
    assert FINDINGS in said(answer.content)
    assert 'value="gas-in-eyes"' in answer.content.decode()
    assert Problem.objects.count() == 2


def test_one_that_no_call_type_speaks_of_is_deleted_for_good(client: Client) -> None:
    client.post(ADD, EYES)
    page = reverse("scenarios:problem", args=["gas-in-eyes"])
    assert "Delete it for good" in said(client.get(page).content)
    answer = client.post(reverse("scenarios:delete_problem", args=["gas-in-eyes"]), follow=True)

    assert "Gas in the eyes is deleted." in said(answer.content)
    assert not Problem.objects.filter(slug="gas-in-eyes").exists()
    told = AuditEntry.objects.get(action="delete problem").before or {}
    assert told["name"] == "Gas in the eyes"


@pytest.mark.parametrize("part", ["patients", "needs", "phrases"])
def test_one_that_a_call_type_speaks_of_stays(
    client: Client, bleeding: CallType, part: str
) -> None:
    """Whether its patients have it, a need is of it, or a phrase is kept for it."""
    client.post(ADD, EYES)
    key = "problems" if part == "phrases" else "problem"
    (first, *rest) = getattr(bleeding, part)
    named = ["gas-in-eyes"] if part == "phrases" else "gas-in-eyes"
    setattr(bleeding, part, [first | {key: named}, *rest])
    bleeding.save()
    answer = client.post(reverse("scenarios:delete_problem", args=["gas-in-eyes"]), follow=True)

    words = said(answer.content)
    assert "The call type Severe bleeding speaks of it. It stays." in words
    assert "It cannot be deleted. The call type Severe bleeding speaks of it." in words
    assert Problem.objects.filter(slug="gas-in-eyes").exists()


def test_nobody_else_adds_or_deletes_one(
    bleeding: CallType, keeper: Person, client_of: ClientOf
) -> None:
    bleed = Problem.objects.get(slug="bleed")
    assert "Add a problem" not in said(client_of(keeper).get(LIST).content)
    with pytest.raises(PermissionDenied):
        actions.add_problem(EYES, like=bleed, by=keeper, now=NOW)
    with pytest.raises(PermissionDenied):
        actions.delete_problem(bleed, by=keeper, now=NOW)
    assert Problem.objects.count() == 1
