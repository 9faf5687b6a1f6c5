"""Call types that come in by hand, and that go. Who may: the table of access."""

from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.people.models import AuditEntry, Person
from drills.scenarios import actions
from drills.scenarios.models import CallType, DrillPrompt, Recipe
from drills.scenarios.reading import material_of
from tests.scenarios.conftest import NOW, ClientOf
from tests.scenarios.test_call_pages import HTMX, LIST, said

pytestmark = pytest.mark.django_db
ADD = reverse("scenarios:add")
LEAK = {
    "like": "bleeding",
    "call_type": "gas-leak",
    "name": "Gas leak",
    "source": "common practice, no source",
    "owner": "training office",
    "date": "2026-11-28",
}


@pytest.fixture
def client(bleeding: CallType, educator: Person, client_of: ClientOf) -> Client:
    return client_of(educator)


@pytest.fixture
def leak(client: Client) -> CallType:
    client.post(ADD, LEAK)
    return CallType.objects.get(slug="gas-leak")


def become(client: Client, slug: str, becomes: str, headers: Any = None) -> Any:
    at = reverse("scenarios:state", args=[slug])
    return client.post(at, {"becomes": becomes}, headers=headers)


def a_recipe(*slugs: str) -> Recipe:
    return Recipe.objects.create(
        slug="bring", name="Bring it", kinds="stage:1", minutes=5, call_types=list(slugs)
    )


def a_prompt(slug: str, bleeding: CallType, rig: Any) -> None:
    drill = actions.make_drill(
        a_recipe(slug), revision=rig.revision, seed=1, weights={}, held=(), now=NOW
    )
    assert DrillPrompt.objects.filter(drill=drill, subject=slug).exists()


def test_a_new_call_type_starts_as_another(client: Client, bleeding: CallType) -> None:
    """Whole, unreviewed whatever the other is, and drawn at once."""
    CallType.objects.update(reviewed_by="Dr Example", version=7)
    answer = client.post(ADD, LEAK, follow=True)

    leak = CallType.objects.get(slug="gas-leak")
    assert leak.needs == bleeding.needs
    assert leak.phrases == bleeding.phrases
    assert leak.patients == bleeding.patients
    assert (leak.name, leak.owner, leak.scene) == ("Gas leak", "training office", "home")
    assert (leak.version, leak.reviewed_by) == (1, "")
    assert "Gas leak is there. It says what Severe bleeding says" in said(answer.content)
    assert "Reviewed by nobody : its drills say so" in said(answer.content)
    told = AuditEntry.objects.values_list("after__as", flat=True)
    assert told.get(action="add call type") == "bleeding"


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        ({"like": ""}, "Choose the call type that it starts as."),
        ({"call_type": "Gas leak"}, '"Gas leak" came in; accepted is small letters'),
        ({"call_type": "import"}, "but not import or add or on or problems"),
        ({"call_type": "problems"}, "but not import or add or on or problems"),
        ({"call_type": "bleeding"}, '"bleeding", which is there came in'),
        ({"name": "severe BLEEDING"}, '"severe BLEEDING", which is there came in'),
        ({"name": ""}, "no value came in; accepted is a value in this column"),
        ({"source": ""}, "no value came in"),
        ({"date": "yesterday"}, "accepted is a date such as"),
    ],
)
@pytest.mark.parametrize("headers", [{}, HTMX])
def test_what_cannot_be_a_call_type_is_said_and_nothing_is_added(
    client: Client, changes: dict[str, str], fault: str, headers: dict[str, Any]
) -> None:
    answer = client.post(ADD, LEAK | changes, headers=headers)

    assert answer.status_code == 422
    words = said(answer.content)
    assert fault in words
    assert "Nothing is added." in words
    assert ("How it begins" in words) == (not headers)
    assert 'value="training office"' in answer.content.decode()
    assert CallType.objects.count() == 1


def test_a_call_type_that_is_retired_makes_no_drill(
    client: Client, leak: CallType, rig: Any
) -> None:
    """Neither drills nor what a layout is held against; its page and its workbook stay."""
    answer = become(client, "gas-leak", "retired")

    assert answer.url == reverse("scenarios:call", args=["gas-leak"])
    drawn = material_of(rig.revision, now=timezone.now(), is_assessed=False).call_types
    assert [each.slug for each in drawn] == ["bleeding"]
    words = said(client.get(LIST).content)
    assert "All of them 1" in words
    assert "Retired 1: no drill is made from it Gas leak" in words
    words = said(client.get(answer.url).content)
    assert "no drill is made from it. Drills that were made stay." in words
    told = AuditEntry.objects.get(action="retire call type")
    assert told.subject == "gas-leak"

    become(client, "gas-leak", "back")
    assert CallType.objects.get(slug="gas-leak").retired_on is None
    assert AuditEntry.objects.filter(action="bring back call type").count() == 1


def test_one_that_is_asked_for_alone_is_not_retired(
    client: Client, leak: CallType, bleeding: CallType
) -> None:
    recipe = a_recipe("gas-leak")
    answer = become(client, "gas-leak", "retired")

    assert answer.status_code == 422
    assert "The recipe Bring it asks for this call type alone." in said(answer.content)
    assert CallType.objects.get(slug="gas-leak").retired_on is None
    recipe.call_types = ["gas-leak", "bleeding"]
    recipe.save()
    become(client, "gas-leak", "retired")
    assert CallType.objects.get(slug="gas-leak").retired_on is not None


def test_the_last_one_stays(client: Client, bleeding: CallType) -> None:
    answer = become(client, "bleeding", "retired")
    assert answer.status_code == 422
    assert "It is the last one" in said(answer.content)
    assert CallType.objects.get(slug="bleeding").retired_on is None


def test_one_that_nothing_speaks_of_is_deleted_for_good(client: Client, leak: CallType) -> None:
    page = reverse("scenarios:call", args=["gas-leak"])
    assert "Then it can be deleted, since nothing speaks of it." in said(client.get(page).content)
    refused = become(client, "gas-leak", "deleted")
    assert refused.status_code == 422
    assert "Retire it first." in said(refused.content)
    become(client, "gas-leak", "retired")
    assert "Nothing speaks of it, so it can be deleted." in said(client.get(page).content)
    answer = become(client, "gas-leak", "deleted", headers=HTMX)

    assert answer["HX-Redirect"] == LIST
    assert not CallType.objects.filter(slug="gas-leak").exists()
    told = AuditEntry.objects.values_list("before__name", flat=True)
    assert told.get(action="delete call type") == "Gas leak"


def test_one_that_a_drill_was_made_from_is_kept(
    client: Client, leak: CallType, bleeding: CallType, rig: Any
) -> None:
    """By a prompt, and by a recipe before that; the page says why and offers no button."""
    a_prompt("gas-leak", bleeding, rig)
    page = client.get(reverse("scenarios:call", args=["gas-leak"])).content
    assert "The recipe Bring it asks for it." in said(page)
    Recipe.objects.update(call_types=[])
    become(client, "gas-leak", "retired")
    assert "prompts of drills were made from it" in said(
        become(client, "gas-leak", "deleted").content
    )
    page = client.get(reverse("scenarios:call", args=["gas-leak"])).content
    assert b'value="deleted"' not in page
    assert CallType.objects.filter(slug="gas-leak").exists()


def test_it_has_to_be_said_what_becomes_of_it(client: Client, bleeding: CallType) -> None:
    answer = become(client, "bleeding", "eaten")
    assert answer.status_code == 422
    assert "Say whether to retire it, bring it back or delete it." in said(answer.content)


def test_who_may_not_changes_nothing(leak: CallType, keeper: Person) -> None:
    """The actions ask too, whatever way they are reached."""
    for deed in (actions.retire_call, actions.restore_call, actions.delete_call):
        with pytest.raises(PermissionDenied):
            deed(leak, by=keeper, now=NOW)
    with pytest.raises(PermissionDenied):
        actions.add_call({}, like=leak, by=keeper, now=NOW)
