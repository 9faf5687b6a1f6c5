"""What a person's next drill should ask for, by what the newest fit thinks a question gains."""

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta

from django.utils import timezone

from drills.competency.reports import Knowledge, knowledge_of
from drills.engine.facts import Fact, facts_of
from drills.engine.scoring import RIGHT
from drills.engine.worth import Outlook, asking_by_worth
from drills.engine.worth.asking import MOVE_IS_OLD
from drills.engine.worth.looking import LOOKS_AHEAD, outlook_on
from drills.people.models import Person
from drills.rigs.models import Revision
from drills.rigs.reading import layout_of

_DAY = 86_400.0


@dataclass(frozen=True, slots=True)
class Next:
    """What to ask a person next: how much each fact, by fact as text, the others counting as 1; and
    facts that come again although they were right within the week."""

    weights: Mapping[str, float]
    again: frozenset[str] = frozenset()


def next_for(
    person: Person, *, revision: Revision, now: datetime, needed: Collection[str] = ()
) -> Next:
    """What a person's next drill on a revision should ask for.

    `needed` are the keys of the things that calls must have. Before the first fit, where the fit
    does not think of every fact of the revision, and of doses and calls always, it is by counts
    alone.
    """
    known = knowledge_of(person, layout=revision.layout, now=now)
    outlook = _outlook(known, person, revision, needed)
    if outlook is None:
        return Next(known.weights())
    asking = asking_by_worth(outlook)
    return Next(known.weights() | asking.weights, asking.again)


def _outlook(
    known: Knowledge, person: Person, revision: Revision, needed: Collection[str]
) -> Outlook | None:
    """What is thought of every fact of a revision, where the newest fit thinks of each."""
    layout = layout_of(revision)
    facts = facts_of(layout)
    if known.thought is None or not known.thought.at.keys() >= set(facts):
        return None
    ahead = known.now + timedelta(days=LOOKS_AHEAD)
    later = knowledge_of(person, layout=revision.layout, now=ahead, about=facts).thought
    if later is None:
        return None
    return outlook_on(
        layout,
        known.thought.only(facts),
        later.only(facts),
        known.observations,
        at=known.now,
        needed=needed,
        moved_days=_moved(known, facts, revision),
    )


def _moved(known: Knowledge, facts: Collection[Fact], revision: Revision) -> dict[Fact, float]:
    """How many days ago each fact came to be, of things the person found where they are no more;
    of those that came long ago, nothing."""
    here = frozenset(facts)
    found = {
        (fact.kind, fact.thing)
        for fact, seen in known.observations.items()
        if fact not in here and any(each.outcome == RIGHT for each in seen)
    }
    left = {fact for fact in here if (fact.kind, fact.thing) in found}
    days: dict[Fact, float] = {}
    while left and (ago := _days_in_force(revision, known.now)) <= MOVE_IS_OLD:
        before = revision.before
        if before is None:
            break
        stayed = left.intersection(facts_of(layout_of(before)))
        days |= dict.fromkeys(left - stayed, ago)
        left, revision = stayed, before
    return days


def _days_in_force(revision: Revision, now: datetime) -> float:
    """How many days ago the day began from which it is in force; of a draft, without end."""
    if revision.effective_on is None:
        return math.inf
    began = timezone.make_aware(datetime.combine(revision.effective_on, time.min))
    return max((now - began).total_seconds(), 0.0) / _DAY
