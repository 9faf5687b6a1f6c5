"""A recipe that is drilled on one layout, whatever rig one rides."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import RecipeFactory, rig_on
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Layout, Rig
from drills.runs.actions import assign, start_run
from drills.runs.assigned import to_do_with
from drills.runs.models import Assignment, Run
from drills.scenarios.actions import RecipeRefusedError, change_recipe, make_recipe
from drills.scenarios.models import Recipe
from tests.layouts import practice_rig
from tests.runs.assignments import given
from tests.runs.conftest import ClientOf
from tests.scenarios.recipes import made, wrote

pytestmark = pytest.mark.django_db
START, ASSIGN = reverse("runs:start"), reverse("runs:assign")


@pytest.fixture
def van(db: None) -> Rig:
    """A rig of another layout."""
    return rig_on(practice_rig("mesa-van"), unit="70")


@pytest.fixture
def tied(rig: Rig) -> Recipe:
    """Drilled on the layout of the first rig."""
    rule = f"layout:{rig.layout.slug}"
    return RecipeFactory.create(slug="five", name="Find five", kinds="locate:5", layout_rule=rule)


def test_it_is_drilled_there_on_whatever_rig_one_rides(
    client_of: ClientOf, hire: Person, rig: Rig, van: Rig, tied: Recipe
) -> None:
    pick_rig(hire, van, now=timezone.now())

    client_of(hire).post(START, {"recipe": "five"})

    run = Run.objects.get()
    assert (run.rig, run.drill.revision) == (None, rig.revision)


def test_and_by_who_picked_no_rig(
    client_of: ClientOf, hire: Person, rig: Rig, tied: Recipe
) -> None:
    client_of(hire).post(START, {"recipe": "five"})

    assert Run.objects.get().drill.revision == rig.revision


def test_on_a_rig_that_rides_it_the_rig_is_drilled_as_it_is(
    client_of: ClientOf, hire: Person, rig: Rig, tied: Recipe
) -> None:
    pick_rig(hire, rig, now=timezone.now())

    client_of(hire).post(START, {"recipe": "five"})

    assert Run.objects.get().rig == rig


def test_an_assignment_of_it_counts_there_and_nowhere_else(
    client_of: ClientOf, hire: Person, fto: Person, rig: Rig, van: Rig, tied: Recipe
) -> None:
    pick_rig(hire, van, now=timezone.now())
    due = timezone.localdate() + timedelta(days=2)
    assignment = given(tied, [hire], by=fto, due_on=due, now=timezone.now())

    elsewhere = start_run(hire, recipe=tied, revision=van.revision, rig=van, now=timezone.now())
    content = client_of(hire).get(reverse("boards:home"), follow=True).content.decode()
    client_of(hire).post(START, {"recipe": "five", "layout": rig.layout.slug})

    assert assignment.layout == rig.layout
    assert f"on {rig.layout}, whatever you ride" in content
    assert elsewhere.assigned is None
    assert Run.objects.exclude(pk=elsewhere.pk).get().assigned == assignment.assigned.get()


def test_without_a_rig_nothing_counts_for_what_was_given_for_the_rig_one_rides(
    hire: Person, fto: Person, rig: Rig, recipe: Recipe
) -> None:
    due = timezone.localdate() + timedelta(days=2)
    given(recipe, [hire], by=fto, due_on=due, now=timezone.now())
    today, layout = timezone.localdate(), rig.layout

    ridden = to_do_with(recipe, hire, today=today, layout=layout)
    named = to_do_with(recipe, hire, today=today, layout=layout, is_ridden=False)

    assert (ridden is not None, named) == (True, None)


def test_it_is_given_for_no_other_layout(
    hire: Person, fto: Person, rig: Rig, van: Rig, tied: Recipe
) -> None:
    words = f"Mesa van came in. Find five is drilled on {rig.layout} alone."
    with pytest.raises(ValueError, match=words):
        given(tied, [hire], by=fto, layout=van.layout)


def test_what_a_layout_cannot_serve_is_not_given_for_it_and_the_reason_is_said(
    client_of: ClientOf, hire: Person, fto: Person, rig: Rig
) -> None:
    """The practice rig has no controlled drugs."""
    RecipeFactory.create(slug="drugs", name="Drugs", kinds="locate:5", focus=["controlled drugs"])
    due = (timezone.localdate() + timedelta(days=1)).isoformat()
    form = {"recipe": "drugs", "to": "person:HIRE", "due_on": due, "layout": rig.layout.slug}

    response = client_of(fto).post(ASSIGN, form)

    assert (response.status_code, Assignment.objects.count()) == (422, 0)
    assert f"Drugs: {rig.layout} cannot serve it. It makes no drill here:" in _words(response)


def test_a_layout_without_a_revision_in_force_serves_nothing(
    hire: Person, fto: Person, recipe: Recipe
) -> None:
    empty = Layout.objects.create(slug="empty", name="Empty")

    with pytest.raises(ValueError, match="Empty has no revision in force"):
        given(recipe, [hire], by=fto, layout=empty)


def test_the_builder_ties_one_to_a_layout_that_serves_it(
    client_of: ClientOf, fto: Person, rig: Rig, van: Rig
) -> None:
    url = reverse("scenarios:add_recipe")

    shown = client_of(fto).get(url).content.decode()
    sample = client_of(fto).post(url, wrote(layout_rule="layout:mesa-van") | {"tries": "on"})
    client_of(fto).post(url, wrote(layout_rule="layout:mesa-van"))

    assert '<option value="layout:mesa-van">Mesa van, whatever one rides</option>' in shown
    assert 'value="layout:mesa-van" selected' in _words(sample).partition("Drawn on")[2]
    recipe = Recipe.objects.get(slug="my-ten")
    assert recipe.layout_key == "mesa-van"
    page = client_of(fto).get(reverse("scenarios:recipe", args=["my-ten"]))
    assert "Drilled on Mesa van, whatever one rides." in _words(page)


def test_the_builder_refuses_what_the_layout_cannot_serve(fto: Person, rig: Rig) -> None:
    rule = f"layout:{rig.layout.slug}"
    typed = wrote(layout_rule=rule, focus="controlled drugs")

    with pytest.raises(RecipeRefusedError) as refused:
        make_recipe(typed, like=None, by=fto, now=timezone.now())

    assert "cannot serve it" in refused.value.faults["layout_rule"]
    assert not Recipe.objects.filter(slug="my-ten").exists()


def test_a_layout_that_there_is_not_is_refused(fto: Person, rig: Rig) -> None:
    with pytest.raises(RecipeRefusedError) as refused:
        made(fto, layout_rule="layout:none")

    assert refused.value.faults["layout_rule"].startswith("“layout:none” came in; one of rig today")


def test_who_was_given_the_version_before_keeps_its_layout(
    hire: Person, fto: Person, rig: Rig, van: Rig
) -> None:
    recipe = made(fto, layout_rule="layout:mesa-van")
    assignment = assign(
        recipe,
        to=[hire],
        due_on=timezone.localdate() + timedelta(days=1),
        standard=recipe.standard,
        minutes=3,
        by=fto,
        now=timezone.now(),
    )

    change_recipe(recipe, wrote(layout_rule="rig today"), seen="1", by=fto, now=timezone.now())

    assignment.refresh_from_db()
    assert assignment.layout == van.layout
    assert assignment.made_from.layout_key == "mesa-van"


def _words(response: object) -> str:
    content: bytes = getattr(response, "content", b"")
    return content.decode().replace("&#x27;", "'")
