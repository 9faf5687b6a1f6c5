"""A rig known by heart, two recipes, and clients of the named people."""

from collections.abc import Callable
from datetime import UTC, datetime

import pytest
from django.test import Client

from drills.demo.factories import RecipeFactory, rig_on
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.runs.actions import start_run
from drills.runs.models import Run
from drills.scenarios.models import Mode, Recipe
from tests.layouts import practice_rig

NOW = datetime(2026, 11, 25, 5, 40, tzinfo=UTC)
SEED = 7
FRAGMENT = {"HX-Request": "true"}

ClientOf = Callable[[Person], Client]


@pytest.fixture
def rig(db: None) -> Rig:
    return rig_on(practice_rig(), unit="11")


@pytest.fixture
def recipe(db: None) -> Recipe:
    """Five places to find and one to know the contents of."""
    return RecipeFactory.create(slug="find-five", kinds="locate:5;contents:1")


@pytest.fixture
def assessed(db: None) -> Recipe:
    return RecipeFactory.create(slug="check-five", kinds="locate:5", mode=Mode.ASSESSED)


@pytest.fixture
def run(hire: Person, rig: Rig, recipe: Recipe) -> Run:
    """A practice run of the hire's, not begun."""
    pick_rig(hire, rig, now=NOW)
    return start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=NOW, seed=SEED)


@pytest.fixture
def assessed_run(hire: Person, rig: Rig, assessed: Recipe) -> Run:
    return start_run(hire, recipe=assessed, revision=rig.revision, rig=rig, now=NOW, seed=SEED)


@pytest.fixture
def client_of() -> ClientOf:
    """A browser in which a person is signed in."""

    def sign_in(person: Person) -> Client:
        client = Client()
        client.force_login(person)
        return client

    return sign_in
