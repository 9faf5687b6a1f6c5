"""No repeats within a week: of a person what they knew, of a cohort the calls and whole sets."""

from datetime import datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from drills.demo.factories import RecipeFactory
from drills.engine.lately import NOTHING
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.actions import start_run
from drills.runs.lately import WEEK, lately_of
from drills.runs.models import Presentation, Run
from drills.scenarios.models import DrillPrompt, Recipe
from tests.calls import bleeding_call
from tests.runs.conftest import NOW, SEED
from tests.runs.player import Player, right, wrong

pytestmark = pytest.mark.django_db

LATER = NOW + timedelta(days=3)
AFTER_A_WEEK = NOW + WEEK + timedelta(hours=1)


@pytest.fixture
def five(db: None) -> Recipe:
    """Five of the twelve things of the rig, none of them a probe."""
    return RecipeFactory.create(slug="five", kinds="locate:5", probes_share=0.0)


@pytest.fixture
def calls(rig: Rig) -> Recipe:
    bleeding_call(rig.revision)
    return RecipeFactory.create(slug="calls", kinds="stage:1", probes_share=0.0)


@pytest.fixture
def mate(hire: Person) -> Person:
    """Somebody of the hire's cohort."""
    person = Person.objects.create_user("MATE", "Mo Mate")
    person.cohorts.set(hire.cohorts.all())
    return person


def begun(person: Person, rig: Rig, recipe: Recipe, *, at: datetime = NOW, seed: int = SEED) -> Run:
    revision = rig.revision
    return start_run(person, recipe=recipe, revision=revision, rig=rig, now=at, seed=seed)


def asked(run: Run) -> set[str]:
    return {each.subject for each in run.drill.prompts.all() if not each.is_spare}


def calls_of(run: Run) -> set[str]:
    return {each.call_mark for each in run.drill.prompts.all()}


def test_what_was_found_right_is_not_asked_again_in_a_week(
    hire: Person, rig: Rig, five: Recipe
) -> None:
    """Whichever seed: three drills of five would hardly be apart by chance."""
    first = begun(hire, rig, five)
    Player(first).finish(right)

    for seed in range(6):
        assert asked(begun(hire, rig, five, at=LATER, seed=seed)).isdisjoint(asked(first))
    free = [asked(begun(hire, rig, five, at=AFTER_A_WEEK, seed=seed)) for seed in range(6)]
    assert any(not each.isdisjoint(asked(first)) for each in free)


def test_what_was_missed_comes_again_though_it_was_right_when_asked_anew(
    hire: Person, rig: Rig, five: Recipe
) -> None:
    first = begun(hire, rig, five)
    missed: list[Presentation] = []

    def miss_the_first(presentation: Presentation) -> list[str]:
        if missed or presentation.is_warm_up:
            return right(presentation)
        missed.append(presentation)
        return wrong(presentation)

    answered = Player(first).finish(miss_the_first)

    assert any(each.is_retry and each.outcome == "right" for each in answered)
    lately = lately_of(hire, layout=rig.layout, now=LATER)
    marks = {each.subject: each.mark for each in first.drill.prompts.all() if not each.is_spare}
    assert lately.had == set(marks.values())
    assert lately.known == set(marks.values()) - {marks[missed[0].subject]}


def test_what_is_known_is_asked_where_nothing_else_is_left(hire: Person, rig: Rig) -> None:
    """Ten of twelve things, and ten more: the two that are new come, and eight that were had."""
    ten = RecipeFactory.create(slug="ten", kinds="locate:10", probes_share=0.0)
    first = begun(hire, rig, ten)
    Player(first).finish(right)

    second = asked(begun(hire, rig, ten, at=LATER))

    assert len(second) == 10
    assert len(second - asked(first)) == len(rig_things(rig)) - 10


def rig_things(rig: Rig) -> set[str]:
    from_drill = RecipeFactory.create(slug="all", kinds="locate:40", probes_share=0.0)
    person = Person.objects.create_user("ALL", "All Things")
    return asked(begun(person, rig, from_drill))


def test_a_cohort_gets_no_call_twice_in_a_week(
    hire: Person, mate: Person, outsider: Person, rig: Rig, calls: Recipe
) -> None:
    """By one seed everybody would get one call; who is of no cohort with them does."""
    first = begun(hire, rig, calls)
    other = begun(mate, rig, calls, at=LATER)
    again = begun(hire, rig, calls, at=LATER)

    assert calls_of(other).isdisjoint(calls_of(first))
    assert calls_of(again).isdisjoint(calls_of(first) | calls_of(other))
    assert calls_of(begun(outsider, rig, calls, at=LATER)) == calls_of(first)
    assert calls_of(begun(mate, rig, calls, at=AFTER_A_WEEK + timedelta(days=3))) == calls_of(first)


def test_a_cohort_gets_no_set_of_prompts_twice_in_a_week(
    hire: Person, mate: Person, outsider: Person, rig: Rig, five: Recipe
) -> None:
    first = begun(hire, rig, five)

    assert asked(begun(mate, rig, five, at=LATER)) != asked(first)
    assert asked(begun(outsider, rig, five, at=LATER)) == asked(first)


def test_a_drill_keeps_what_it_was_drawn_apart_from(hire: Person, rig: Rig, five: Recipe) -> None:
    first = begun(hire, rig, five)
    Player(first).finish(right)

    second = begun(hire, rig, five, at=LATER)

    assert first.drill.lately == {}
    known = {each.mark for each in first.drill.prompts.all() if not each.is_spare}
    assert set(second.drill.lately["known"]) == known
    assert len(second.drill.lately["sets"]) == 1


def test_prompts_from_before_there_were_marks_are_left_alone(
    hire: Person, rig: Rig, five: Recipe
) -> None:
    Player(begun(hire, rig, five)).finish(right)
    DrillPrompt.objects.update(mark="", call_mark="")

    found = lately_of(hire, layout=rig.layout, now=LATER)

    assert found == NOTHING


def test_the_week_is_read_in_two_queries(hire: Person, rig: Rig, five: Recipe) -> None:
    Player(begun(hire, rig, five)).finish(right)

    with CaptureQueriesContext(connection) as queries:
        lately_of(hire, layout=rig.layout, now=LATER)

    assert len(queries) == 2
