"""What the model thinks of a person as an outlook, with where on the rig each fact is."""

from collections.abc import Mapping, Sequence
from datetime import datetime

import numpy as np
from scipy.special import logit

from drills.engine.facts import BAG, Fact
from drills.engine.layout import Layout
from drills.engine.memory import Observation
from drills.engine.readying import Known
from drills.engine.worth.gain import Outlook

# Days between the two moments that tell how fast something fades.
LOOKS_AHEAD = 7
# A question takes so many seconds beside the search: to read it, and to be shown the right place.
# Ours, no source.
BESIDE_SEARCH = 6.0
# What is not critical counts so much of what is. Ours, no source.
NOT_CRITICAL = 0.5
_DAY = 86_400.0


def outlook_on(
    layout: Layout,
    now: Known,
    later: Known,
    seen: Mapping[Fact, Sequence[Observation]],
    *,
    at: datetime,
    moved_days: Mapping[Fact, float] | None = None,
) -> Outlook:
    """What is thought of the facts of a layout now and `LOOKS_AHEAD` days later, with what was seen
    of them up to `at`; a bag matters as much as the most critical thing in it.

    `moved_days` is how many days ago a fact came to be, for those the person knew elsewhere.
    `now` and `later` speak of the same facts, which are all of the layout.
    """
    critical = np.array([is_critical(layout, fact) for fact in now.facts])
    days = [_days_since(seen.get(fact, ()), at) for fact in now.facts]
    moved = moved_days or {}
    return Outlook(
        facts=now.facts,
        chance=now.expected,
        variance=now.variance,
        fading=(logit(now.expected) - logit(later.expected)) / LOOKS_AHEAD,
        seconds=np.exp(now.log_seconds + now.log_spread**2 / 2) + BESIDE_SEARCH,
        matters=np.where(critical, 1.0, NOT_CRITICAL),
        critical=critical,
        zone=np.unique(_doors(layout, now.facts), return_inverse=True)[1],
        beside=np.unique([fact.place for fact in now.facts], return_inverse=True)[1],
        days_since=np.array(days),
        moved_days=np.array([moved.get(fact, np.nan) for fact in now.facts]),
        drilled_for=max((_days(given[0].at, at) for given in seen.values() if given), default=0.0),
    )


def _doors(layout: Layout, facts: Sequence[Fact]) -> list[str]:
    codes = {each.key: each.code for each in layout.compartments}
    return [layout.chain(codes[fact.place])[0].code for fact in facts]


def is_critical(layout: Layout, fact: Fact) -> bool:
    """Whether a thing is critical, or a bag holds something that is."""
    if fact.kind != BAG:
        return layout.things[fact.thing].critical
    return any(
        line.critical
        for line in layout.stock
        if any(each.key == fact.thing for each in layout.chain(line.compartment))
    )


def _days_since(seen: Sequence[Observation], at: datetime) -> float:
    newest = max((each.at for each in seen), default=None)
    return _days(newest, at) if newest else float("nan")


def _days(since: datetime, at: datetime) -> float:
    return max((at - since).total_seconds(), 0.0) / _DAY
