"""What the next drill asks for: by counts before the first fit, then by what a question gains."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from django.utils import timezone

from drills.competency.asking import Next, next_for
from drills.competency.refitting import refit
from drills.competency.reports import knowledge_of
from drills.engine.facts import BAG, facts_of, steps
from drills.engine.layout import Layout
from drills.engine.scoring import RIGHT, WRONG
from drills.people.models import Person
from drills.rigs.actions import import_layout
from drills.rigs.models import Revision, Rig
from drills.rigs.reading import layout_of
from tests.boards.conftest import move_the_bag, with_bag_moved
from tests.boards.test_readiness import answered
from tests.layouts import practice_rig
from tests.runs.conftest import rig as rig

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 25, 5, 40, tzinfo=UTC)
THINGS = ("splint", "tourniquet", "gauze roll", "traffic cone")


def fit_at(now: datetime) -> None:
    assert refit(now=lambda: now, say=lambda _: None) is not None


def text_of(rig: Rig, thing: str) -> str:
    layout: Layout = layout_of(rig.revision)
    return str(next(fact for fact in facts_of(layout) if fact.thing == thing))


def seen(person: Person, rig: Rig, outcome: str, *things: str, now: datetime) -> None:
    for number, each in enumerate(things):
        at = now - timedelta(days=9)
        answered(person, rig, outcome, each, times=6, at=at, seconds=4.0 + number)


def test_before_the_first_fit_counts_say_it(hire: Person, rig: Rig) -> None:
    seen(hire, rig, WRONG, "splint", now=NOW)
    known = knowledge_of(hire, layout=rig.layout, now=NOW)

    assert next_for(hire, revision=rig.revision, now=NOW, needed=THINGS) == Next(known.weights())


def test_after_it_every_fact_has_a_weight_and_what_is_missed_more(
    hire: Person, outsider: Person, rig: Rig
) -> None:
    seen(hire, rig, RIGHT, *THINGS[1:], now=NOW)
    seen(hire, rig, WRONG, "splint", now=NOW)
    seen(outsider, rig, RIGHT, *THINGS, now=NOW)
    fit_at(NOW)

    weights = next_for(hire, revision=rig.revision, now=NOW).weights

    assert weights.keys() >= set(map(str, facts_of(layout_of(rig.revision))))
    assert weights[text_of(rig, "splint")] > weights[text_of(rig, "traffic cone")]


def test_what_calls_must_have_is_asked_for_more(hire: Person, outsider: Person, rig: Rig) -> None:
    """Of two things that are missed alike, neither of them critical."""
    seen(hire, rig, WRONG, "splint", "traffic cone", now=NOW)
    seen(outsider, rig, RIGHT, *THINGS, now=NOW)
    fit_at(NOW)
    splint, cone = text_of(rig, "splint"), text_of(rig, "traffic cone")

    for needed, other in ((splint, cone), (cone, splint)):
        key = needed.removeprefix("item:").partition("@")[0]
        weights = next_for(hire, revision=rig.revision, now=NOW, needed={key}).weights
        assert weights[needed] > 2 * weights[other]


def test_what_moved_and_was_known_is_asked_most_a_day_after(
    hire: Person, outsider: Person, rig: Rig
) -> None:
    seen(hire, rig, RIGHT, *THINGS, now=NOW)
    seen(outsider, rig, RIGHT, *THINGS, now=NOW)
    revision = move_the_bag(rig)
    assert revision.published_at is not None
    after = revision.published_at + timedelta(days=1.5)
    fit_at(after)

    weights = next_for(hire, revision=revision, now=after).weights
    layout = layout_of(revision)
    facts, codes = facts_of(layout), {each.key: each.code for each in layout.compartments}
    bag = next(fact for fact in facts if fact.kind == BAG)

    most = {fact for fact in facts if weights[str(fact)] == max(weights.values())}
    assert bag in most
    assert all(bag in steps(layout, each.thing, codes[each.place]) for each in most - {bag})


def test_what_moved_counts_from_the_revision_that_moved_it(hire: Person, rig: Rig) -> None:
    """The bag moved a month ago and was found since; the splint moves now."""
    now = timezone.now()
    for number, each in enumerate(THINGS):
        at = now - timedelta(days=40)
        answered(hire, rig, RIGHT, each, times=6, at=at, seconds=4.0 + number)
    move_the_bag(rig)
    answered(hire, rig, RIGHT, "oral airway set", at=now - timedelta(days=5))
    moved = with_bag_moved(practice_rig())
    stock = (replace(e, compartment="S1") if e.item == "Splint" else e for e in moved.stock)
    import_layout(replace(moved, stock=tuple(stock)), by=None, now=now, publish=True)
    earlier = Revision.objects.filter(number__lt=3)
    earlier.update(effective_on=timezone.localdate() - timedelta(days=30))
    rig.refresh_from_db()
    after = now + timedelta(days=1.5)
    fit_at(after)

    weights = next_for(hire, revision=rig.revision, now=after).weights

    assert {each for each in weights if weights[each] == max(weights.values())} == {
        text_of(rig, "splint")
    }
