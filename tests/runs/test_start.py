"""Starting a drill."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import RecipeFactory
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.runs.models import PresentationState, Run, RunState
from drills.scenarios.models import Recipe
from tests.runs.assignments import given
from tests.runs.conftest import NOW, ClientOf
from tests.runs.player import Player, right

URL = reverse("runs:start")
pytestmark = pytest.mark.django_db


def test_makes_a_run_on_todays_rig(
    client_of: ClientOf, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    pick_rig(hire, rig, now=NOW)

    response = client_of(hire).post(URL, {"recipe": recipe.slug})

    run = Run.objects.get()
    assert response["Location"] == reverse("runs:take", args=[run.pk])
    assert (run.person, run.rig, run.drill.recipe) == (hire, rig, recipe)


def test_makes_a_run_on_a_layout_that_is_named(
    client_of: ClientOf, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    client_of(hire).post(URL, {"recipe": recipe.slug, "layout": rig.layout.slug})

    run = Run.objects.get()
    assert (run.rig, run.drill.revision) == (None, rig.revision)


def test_what_was_assigned_counts_on_the_rig_they_ride_alone(
    client_of: ClientOf, hire: Person, fto: Person, rig: Rig, recipe: Recipe
) -> None:
    pick_rig(hire, rig, now=timezone.now())
    due = timezone.localdate() + timedelta(days=2)
    made = given(recipe, [hire], by=fto, due_on=due, now=timezone.now())
    browser = client_of(hire)

    named = browser.post(URL, {"recipe": recipe.slug, "layout": rig.layout.slug}, follow=True)
    ridden = browser.post(URL, {"recipe": recipe.slug}, follow=True)

    assert b"This run does not count for what you were assigned" in named.content
    assert b"does not count" not in ridden.content
    (counted,) = Run.objects.exclude(assigned=None)
    assert (counted.rig, counted.assigned) == (rig, made.assigned.get())


def test_on_a_layout_that_is_named_nothing_is_said_where_nothing_was_assigned(
    client_of: ClientOf, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    named = {"recipe": recipe.slug, "layout": rig.layout.slug}

    assert b"does not count" not in client_of(hire).post(URL, named, follow=True).content


@pytest.mark.parametrize("sent", ["recipe", "untimed"])
def test_pressed_twice_is_one_run_until_something_is_answered(
    client_of: ClientOf, hire: Person, rig: Rig, recipe: Recipe, sent: str
) -> None:
    pick_rig(hire, rig, now=timezone.now())
    client = client_of(hire)
    first, again = (client.post(reverse("runs:start"), {sent: recipe.slug}) for _ in range(2))
    run = Run.objects.get()
    assert first["Location"] == again["Location"] == reverse("runs:take", args=[run.pk])

    player = Player(run, now=timezone.now())
    opened = player.begin()
    player.answer(opened, right(opened), seconds=0.0)
    client.post(reverse("runs:start"), {sent: recipe.slug})
    assert Run.objects.count() == 2


BOTH_ORDERS = [("recipe", "untimed"), ("untimed", "recipe")]


@pytest.mark.parametrize("ago", [timedelta(), timedelta(hours=1)], ids=["at once", "later"])
@pytest.mark.parametrize("sent", BOTH_ORDERS)
@pytest.mark.parametrize("kind", ["recipe", "assessed"])
def test_pressed_timed_and_untimed_the_later_press_wins(
    client_of: ClientOf,
    hire: Person,
    rig: Rig,
    request: pytest.FixtureRequest,
    kind: str,
    sent: tuple[str, str],
    ago: timedelta,
) -> None:
    """Of what was pressed before nothing is open, and nothing is told of it."""
    pick_rig(hire, rig, now=timezone.now())
    slug = request.getfixturevalue(kind).slug
    client = client_of(hire)
    client.post(URL, {sent[0]: slug})
    Run.objects.update(started_at=timezone.now() - ago)
    client.post(URL, {sent[1]: slug})

    before, run = Run.objects.order_by("started_at")
    assert (before.state, run.state) == (RunState.WITHDRAWN, RunState.OPEN)
    assert [each.is_timed for each in (before, run)] == [each == "recipe" for each in sent]
    assert not before.presentations.filter(state=PresentationState.OPEN).exists()
    for page in ("boards:hire", "boards:drills"):
        content = client.get(reverse(page)).content.decode()
        assert content.count(">Resume<") == 1
        assert reverse("runs:proceed", args=[run.pk]) in content
        assert str(before.pk) not in content


@pytest.mark.parametrize("sent", BOTH_ORDERS)
def test_what_was_answered_is_taken_back_by_no_press(
    client_of: ClientOf, hire: Person, rig: Rig, recipe: Recipe, sent: tuple[str, str]
) -> None:
    pick_rig(hire, rig, now=timezone.now())
    client = client_of(hire)
    client.post(URL, {sent[0]: recipe.slug})
    player = Player(Run.objects.get(), now=timezone.now())
    opened = player.begin()
    player.answer(opened, right(opened), seconds=0.0)

    client.post(URL, {sent[1]: recipe.slug})

    assert [each.state for each in Run.objects.all()] == [RunState.OPEN, RunState.OPEN]
    content = client.get(reverse("boards:hire")).content.decode()
    for run in Run.objects.all():
        begun = timezone.localtime(run.started_at)
        assert f'Resume<span class="vh"> {recipe.name}, begun {begun:%-d %b, %H:%M}' in content
        assert content.count(reverse("runs:proceed", args=[run.pk])) == 1
    assert content.count(">Resume<") == 2


def test_of_what_was_assigned_one_run_is_under_way_and_resumed_in_one_place(
    client_of: ClientOf, hire: Person, fto: Person, rig: Rig, recipe: Recipe
) -> None:
    """However often it is started, and on whichever rig, as many attempts as there may be."""
    pick_rig(hire, rig, now=timezone.now())
    due = timezone.localdate() + timedelta(days=2)
    given(recipe, [hire], by=fto, due_on=due, now=timezone.now())
    client = client_of(hire)
    client.post(URL, {"recipe": recipe.slug})
    player = Player(Run.objects.get(), now=timezone.now())
    opened = player.begin()
    player.answer(opened, right(opened), seconds=0.0)
    Run.objects.update(started_at=timezone.now() - timedelta(hours=1))
    other = Rig.objects.create(unit="12", layout=rig.layout, revision=rig.revision)

    for ridden in (rig, other):
        pick_rig(hire, ridden, now=timezone.now())
        again = client.post(URL, {"recipe": recipe.slug}, follow=True)
        assert f"on {rig}. Go on with it." in again.content.decode()

    assert Run.objects.get().assigned is not None
    content = client.get(reverse("boards:hire")).content.decode()
    assert content.count(">Resume<") == 1
    assert f'>Start<span class="vh">: {recipe}' not in content


def test_untimed_practice_counts_for_nothing_that_was_assigned(
    client_of: ClientOf, hire: Person, fto: Person, rig: Rig, recipe: Recipe
) -> None:
    pick_rig(hire, rig, now=timezone.now())
    due = timezone.localdate() + timedelta(days=2)
    given(recipe, [hire], by=fto, due_on=due, now=timezone.now())

    client_of(hire).post(URL, {"untimed": recipe.slug})

    assert Run.objects.get().assigned is None


def test_asks_for_the_rig_first(client_of: ClientOf, hire: Person, recipe: Recipe) -> None:
    response = client_of(hire).post(URL, {"recipe": recipe.slug}, follow=True)

    assert b"Choose today&#x27;s rig first" in response.content
    assert not Run.objects.exists()


def test_says_why_a_recipe_cannot_apply(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    pick_rig(hire, rig, now=NOW)
    RecipeFactory.create(slug="later", kinds="locate:2", focus=["what glows"])

    response = client_of(hire).post(URL, {"recipe": "later"}, follow=True)

    assert b"it asks first for what glows, and that cannot be picked out yet" in response.content
    assert not Run.objects.exists()


def test_knows_no_such_recipe(client_of: ClientOf, hire: Person) -> None:
    assert client_of(hire).post(URL, {"recipe": "no-such"}).status_code == 404


def test_the_seed_is_never_the_persons(
    client_of: ClientOf, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    pick_rig(hire, rig, now=NOW)
    client = client_of(hire)

    for _ in range(2):
        client.post(URL, {"recipe": recipe.slug, "seed": "1"})
        Run.objects.update(started_at=NOW)

    assert len(set(Run.objects.values_list("drill__seed", flat=True)) - {1}) == 2


def test_is_no_page_to_get(client_of: ClientOf, hire: Person) -> None:
    assert client_of(hire).get(URL).status_code == 405
