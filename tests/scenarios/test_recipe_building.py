"""The pages where recipes are built: plain and by htmx, with a sample beside the settings."""

from html import unescape
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from drills.demo.factories import PersonFactory, RecipeFactory
from drills.people.models import Person, Role
from drills.rigs.models import Rig
from drills.runs.actions import start_run
from drills.scenarios.actions import retire_recipe, share_recipe
from drills.scenarios.models import CallType, Recipe
from tests.scenarios.conftest import NOW, ClientOf
from tests.scenarios.recipes import made, wrote

pytestmark = pytest.mark.django_db

ADD = "/scenarios/recipes/add/"
HTMX = {"HX-Request": "true"}


@pytest.fixture
def officer(client_of: ClientOf, fto: Person) -> Client:
    return client_of(fto)


def words(response: Any) -> str:
    return " ".join(unescape(response.content.decode()).split())


def change(recipe: Recipe) -> str:
    return reverse("scenarios:change_recipe", args=[recipe.slug])


def state(recipe: Recipe) -> str:
    return reverse("scenarios:recipe_state", args=[recipe.slug])


def test_one_is_made_from_a_ready_made_one(officer: Client, fto: Person, rig: Rig) -> None:
    """Its settings stand in the form, its name does not; what is sent is the new one."""
    RecipeFactory.create(slug="ready", name="Ready", kinds="contents:2;locate:3", minutes=7)

    shown = words(officer.get(f"{ADD}?like=ready"))
    response = officer.post(ADD, wrote(like="ready", n_locate="3", n_contents="2"))

    assert 'name="minutes" value="7"' in shown
    assert 'name="n_contents" value="2"' in shown
    assert 'name="name" value=""' in shown
    new = Recipe.objects.get(slug="my-ten")
    assert response["Location"] == reverse("scenarios:recipe", args=["my-ten"])
    assert (new.kinds, new.owner, new.is_shared) == ("contents:2;locate:3", fto, False)
    assert "My ten is there, for you alone" in words(officer.get(response["Location"]))


def test_what_is_wrong_stands_at_its_field_and_nothing_is_lost(officer: Client, rig: Rig) -> None:
    response = officer.post(ADD, wrote(name="", minutes="soon", notes="Kept words"))

    page = words(response)
    assert response.status_code == 422
    assert "2 settings are not accepted. Nothing is kept yet." in page
    assert 'id="fault_minutes">“soon” came in; a whole number from 1 to 240 is accepted.' in page
    assert "Kept words" in page
    assert not Recipe.objects.exists()


@pytest.mark.parametrize(
    ("changes", "is_open"),
    [({}, False), ({"pass_marks_percent": "85"}, True), ({"pass_marks_percent": "soon"}, True)],
    ids=["empty", "written", "wrong"],
)
def test_what_nothing_is_written_in_is_folded(
    officer: Client, rig: Rig, changes: dict[str, str], is_open: bool
) -> None:
    page = words(officer.post(ADD, wrote(tries="on", name="", **changes)))

    folds = page.split('<details class="fold"')[1:]
    titles = [each.split("<h2>")[1].split("<")[0] for each in folds]
    opened = {title: each.startswith(" open") for title, each in zip(titles, folds, strict=True)}
    assert opened["What it is"]
    assert opened["What it asks, and how often"]
    assert opened["Standard to meet"] is is_open


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_a_sample_stands_beside_what_is_written(
    officer: Client, rig: Rig, headers: dict[str, str]
) -> None:
    """Nothing is stored by it; by htmx it comes alone."""
    response = officer.post(ADD, wrote(n_locate="3", tries="on", name=""), headers=headers)

    page = words(response)
    assert response.status_code == 200
    assert "<b>3 prompts</b>, about 1 minute by the targets; you wrote 4 minutes." in page
    assert page.count("Where is it? Down to the pocket.") == 3
    assert ("<form" in page) is not bool(headers)
    assert not Recipe.objects.exists()


def test_another_sample_is_another_seed_and_the_same_seed_the_same(
    officer: Client, rig: Rig
) -> None:
    def drawn(**sent: str) -> str:
        sent = {"n_locate": "2", "on": "layout:practice-rig", "tries": "on"} | sent
        return words(officer.post(ADD, wrote(**sent), headers=HTMX))

    first, again, other = drawn(seed="4"), drawn(seed="4"), drawn(seed="4", another="on")

    assert first == again
    assert "number 5" in other
    assert 'name="seed" value="5"' in other


def test_the_answers_of_a_sample_are_shown_on_demand_alone(officer: Client, rig: Rig) -> None:
    sent = wrote(n_locate="20", tries="on")

    without = words(officer.post(ADD, sent, headers=HTMX))
    with_them = words(officer.post(ADD, sent | {"answers": ["on"]}, headers=HTMX))

    assert "›" not in without
    assert "›" in with_them


def test_a_rig_is_sampled_as_it_is(officer: Client, rig: Rig) -> None:
    """Rigs stand beside layouts; what came in for neither is the first."""
    page = words(officer.post(ADD, wrote(tries="on", on=f"rig:{rig.unit}"), headers=HTMX))
    other = words(officer.post(ADD, wrote(tries="on", on="moon"), headers=HTMX))

    assert f'<option value="rig:{rig.unit}" selected>' in page
    assert '<option value="layout:practice-rig" selected>' in other


def test_where_it_makes_no_drill_the_reason_is_said(officer: Client, rig: Rig) -> None:
    page = words(officer.post(ADD, wrote(faces="cab", tries="on"), headers=HTMX))

    assert "It makes no drill here: layout practice-rig has nothing to ask about on cab." in page


def test_what_cannot_be_read_is_named_in_place_of_a_sample(officer: Client, rig: Rig) -> None:
    page = words(officer.post(ADD, wrote(cut_off_s="15", mode="assessed", tries="on")))

    assert "No sample until this is mended:" in page
    assert "<b>Cut-off, seconds</b><small>“15 s” came in; it is never under twice the limit" in page


def test_a_sample_of_a_call_tells_its_dispatch_once(
    officer: Client, rig: Rig, bleeding: CallType
) -> None:
    sent = wrote(n_locate="", n_stage="1", call_types="bleeding", tries="on")

    page = words(officer.post(ADD, sent, headers=HTMX))

    assert page.count('<p class="of-call">') == 1
    assert "Stage" in page


def test_a_sample_of_injured_patients_tells_what_is_found_and_asks_for_no_call_type(
    officer: Client, rig: Rig
) -> None:
    """Each with the signs that the answer rests on."""
    sent = wrote(n_locate="", n_field="3", tries="on")

    page = words(officer.post(ADD, sent, headers=HTMX))

    assert "<b>3 prompts</b>, about 3 minutes by the targets" in page
    assert page.count("Field triage") == 3
    assert page.count("% on room air, Pulse ") == 3


def test_without_a_layout_there_is_no_sample(officer: Client) -> None:
    assert "No layout is published" in words(officer.get(ADD))


def test_a_change_makes_the_next_version(officer: Client, fto: Person, rig: Rig) -> None:
    recipe = made(fto)

    shown = words(officer.get(change(recipe)))
    response = officer.post(change(recipe), wrote(seen="1", minutes="9"))

    assert "Keeping it makes version 2." in shown
    assert 'name="seen" value="1"' in shown
    page = words(officer.get(response["Location"]))
    assert "My ten is version 2 now." in page
    before = officer.get(reverse("scenarios:version", args=[recipe.slug, 1]))
    assert "This is version 1." in words(before)
    assert "About 4 minutes" in words(before)
    assert "Retire it" in words(officer.get(reverse("scenarios:recipe", args=[recipe.slug])))
    assert "Retire it" not in words(before)


def test_the_same_again_says_so(officer: Client, fto: Person, rig: Rig) -> None:
    recipe = made(fto)

    response = officer.post(change(recipe), wrote(seen="1"), follow=True)

    assert "My ten is as it was, version 1." in words(response)


def test_a_version_made_meanwhile_is_told_and_what_was_typed_stays(
    officer: Client, fto: Person, rig: Rig
) -> None:
    """Sent again it is taken, since the page then showed the other one."""
    recipe = made(fto)
    officer.post(change(recipe), wrote(seen="1", minutes="5"))

    refused = officer.post(change(recipe), wrote(seen="1", minutes="6"))

    assert refused.status_code == 422
    page = words(refused)
    assert "Version 1 was shown, and version 2 is there by now." in page
    assert 'name="minutes" value="6"' in page
    assert 'name="seen" value="2"' in page


def test_it_is_shared_retired_and_brought_back(
    officer: Client, client_of: ClientOf, fto: Person, hire: Person, rig: Rig
) -> None:
    """What is not shared is in nobody else's list, nor what is retired in any."""
    recipe, drills = made(fto), reverse("boards:drills")
    crew = client_of(hire)

    def lists() -> tuple[bool, bool]:
        return 'id="my-ten"' in words(crew.get(drills)), 'id="my-ten"' in words(officer.get(drills))

    assert lists() == (False, True)
    assert "My ten is shared." in words(
        officer.post(state(recipe), {"becomes": "shared"}, follow=True)
    )
    assert lists() == (True, True)
    officer.post(state(recipe), {"becomes": "retired"})
    assert "Retired on" in words(crew.get(reverse("scenarios:recipe", args=["my-ten"])))
    assert lists() == (False, False)
    officer.post(state(recipe), {"becomes": "back"})
    assert lists() == (True, True)


def test_one_that_was_used_is_not_deleted_and_the_page_says_why(
    officer: Client, fto: Person, rig: Rig
) -> None:
    recipe = made(fto)
    start_run(fto, recipe=recipe, revision=rig.revision, rig=rig, now=NOW)

    refused = officer.post(state(recipe), {"becomes": "deleted"})

    assert refused.status_code == 422
    assert "and they keep it. Retire it." in words(refused)
    assert Recipe.objects.filter(pk=recipe.pk).exists()


def test_one_that_was_never_used_goes(officer: Client, fto: Person) -> None:
    recipe = made(fto)

    response = officer.post(state(recipe), {"becomes": "deleted"})

    assert response["Location"] == reverse("scenarios:recipes")
    assert not Recipe.objects.exists()


def test_the_list_shows_what_one_may_start_from(
    officer: Client, client_of: ClientOf, fto: Person, educator: Person
) -> None:
    """An educator sees in it what somebody left behind, and of nobody else what is not shared."""
    other = PersonFactory.create(roles=[Role.FTO])
    made(fto, name="Mine")
    share_recipe(made(other, name="Theirs"), by=other, now=NOW)
    made(other, name="Hidden")
    retire_recipe(made(fto, name="Done"), by=fto, now=NOW)
    list_of = reverse("scenarios:recipes")

    page = words(officer.get(list_of))
    assert "Hidden" not in page
    assert page.index("Mine") < page.index("Theirs") < page.index("Retired: 1") < page.index("Done")
    assert page.count("Change<span") == 1

    educators = words(client_of(educator).get(list_of))
    assert "Hidden" not in educators
    assert "Mine" not in educators
    Person.objects.filter(pk=other.pk).update(is_active=False)
    assert "Hidden" in words(client_of(educator).get(list_of))


def test_crew_are_led_to_none_of_it(client_of: ClientOf, hire: Person, fto: Person) -> None:
    recipe = share_recipe(made(fto), by=fto, now=NOW)
    crew = client_of(hire)

    page = words(crew.get(reverse("scenarios:recipe", args=[recipe.slug])))

    assert "Change it" not in page
    assert "A new one like it" not in page
    assert "Build a recipe" not in words(crew.get(reverse("boards:drills")))
    assert crew.post(change(recipe), wrote(seen="1")).status_code == 403
    assert crew.post(state(recipe), {"becomes": "retired"}).status_code == 403


def test_only_open_ones_can_be_assigned(
    officer: Client, client_of: ClientOf, fto: Person, educator: Person
) -> None:
    recipe, assign = made(fto), reverse("runs:assign")

    assert "My ten" in words(officer.get(assign))
    assert "My ten" not in words(client_of(educator).get(assign))
    sent = {"recipe": recipe.slug, "to": f"person:{fto.employee_number}", "due_on": "2099-01-02"}
    assert "There is no such drill" in words(client_of(educator).post(assign, sent))
