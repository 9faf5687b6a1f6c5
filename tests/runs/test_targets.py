"""Target times: before the start, and in the debrief beside one's own."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from drills.demo.factories import RecipeFactory
from drills.engine.optimum import Rig as Walked
from drills.engine.optimum.kit import quickest_kit
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.rigs.reading import layout_of
from drills.runs.actions import start_run
from drills.runs.models import Run
from drills.runs.pages import take_context
from drills.runs.targets import targets_before
from drills.scenarios.tasks import stands_in, wanted_in
from tests.calls import bleeding_call
from tests.runs.conftest import NOW, SEED, ClientOf
from tests.runs.player import Player, right

pytestmark = pytest.mark.django_db


@pytest.fixture
def browser(client_of: ClientOf, hire: Person) -> Client:
    return client_of(hire)


def words(browser: Client, name: str, run: Run) -> str:
    return " ".join(browser.get(reverse(name, args=[run.pk])).content.decode().split())


def test_the_target_stands_before_the_start(browser: Client, run: Run) -> None:
    """Five things at 15 s and one place at 45 s: each kind rounded up, and the whole of them."""
    content = words(browser, "runs:take", run)

    assert "Target time <b>2:10</b>" in content
    assert "Locate × 5 in 1:20, Contents × 1 in 0:50." in content


def test_it_is_not_worked_out_again_once_begun(run: Run) -> None:
    assert "targets" in take_context(run, now=NOW)
    Player(run).past_warm_ups()

    assert "targets" not in take_context(run, now=NOW)


def test_a_kit_takes_what_the_quickest_way_on_this_rig_takes(hire: Person, rig: Rig) -> None:
    bleeding_call(rig.revision)
    recipe = RecipeFactory.create(slug="bring", kinds="stage:1")
    run = start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=NOW, seed=SEED)
    layout = layout_of(rig.revision)
    kit = run.drill.prompts.get(is_spare=False)
    quickest = quickest_kit(Walked(layout).at(stands_in(kit.answer)), wanted_in(kit.answer))

    (step,) = targets_before(run, layout).steps

    assert quickest is not None
    assert step.seconds == quickest.cs / 100
    assert "quickest way" in step.basis


def test_the_debrief_shows_it_beside_ones_own(browser: Client, run: Run) -> None:
    """First answers alone: six of four seconds each."""
    Player(run).finish(right, seconds=4.0)

    content = words(browser, "runs:debrief", run)

    found = re.search(r"Target times.*?</section>", content)
    assert found is not None
    assert re.findall(r'<td class="num">(?:<b>)?([0-9:]+)', found.group()) == [
        *("1:20", "0:20", "0:50", "0:04"),
        *("2:10", "0:24"),
    ]
