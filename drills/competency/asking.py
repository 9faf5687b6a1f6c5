"""What a person's next drill should ask for, by what the newest fit thinks a question gains."""

from collections.abc import Collection
from datetime import datetime, timedelta

from drills.competency.reports import Knowledge, knowledge_of
from drills.engine.facts import Fact, facts_of
from drills.engine.scoring import RIGHT
from drills.engine.worth import asking_by_worth
from drills.engine.worth.looking import LOOKS_AHEAD, outlook_on
from drills.people.models import Person
from drills.rigs.models import Revision
from drills.rigs.reading import layout_of

_DAY = 86_400.0


def weights_for(person: Person, *, revision: Revision, now: datetime) -> dict[str, float]:
    """How much each fact should be asked for, by fact as text; the others count as 1.

    Before the first fit, where the fit does not think of every fact of the revision, and of doses
    and calls always, it is by counts alone.
    """
    known = knowledge_of(person, layout=revision.layout, now=now)
    layout = layout_of(revision)
    facts = facts_of(layout)
    if known.thought is None or not known.thought.at.keys() >= set(facts):
        return known.weights()
    ahead = now + timedelta(days=LOOKS_AHEAD)
    later = knowledge_of(person, layout=revision.layout, now=ahead, about=facts).thought
    if later is None:
        return known.weights()
    outlook = outlook_on(
        layout,
        known.thought.only(facts),
        later.only(facts),
        known.observations,
        at=now,
        moved_days=_moved(known, facts, revision, now),
    )
    return known.weights() | asking_by_worth(outlook).weights


def _moved(
    known: Knowledge, facts: Collection[Fact], revision: Revision, now: datetime
) -> dict[Fact, float]:
    """How many days ago each fact came to be, of things the person found where they are no more."""
    if revision.published_at is None:
        return {}
    here = frozenset(facts)
    found = {
        (fact.kind, fact.thing)
        for fact, seen in known.observations.items()
        if fact not in here and any(each.outcome == RIGHT for each in seen)
    }
    days = max((now - revision.published_at).total_seconds(), 0.0) / _DAY
    return {fact: days for fact in facts if (fact.kind, fact.thing) in found}
