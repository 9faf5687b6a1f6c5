"""What the model thinks of a person as an outlook, with where on the rig each fact is."""

from collections.abc import Collection, Mapping, Sequence
from datetime import datetime

import numpy as np

from drills.engine.facts import BAG, Fact, steps
from drills.engine.layout import Layout
from drills.engine.memory import Observation
from drills.engine.readying import Known
from drills.engine.readying.counting import Array
from drills.engine.scoring import RIGHT
from drills.engine.worth.gain import Flags, Outlook

# Days over which a question's gain is looked at: a month, in which what gains most comes again.
LOOKS_AHEAD = 28
# What is neither critical nor a must-have of any call counts so much of what is: it has its turn
# once must-haves are known some 95 times in 100, and by probes. Ours, no source.
NOT_NEEDED = 0.1
# What was right is not asked again for so many days.
RESTS_FOR = 7.0
_DAY = 86_400.0


def outlook_on(
    layout: Layout,
    now: Known,
    later: Known,
    seen: Mapping[Fact, Sequence[Observation]],
    *,
    at: datetime,
    needed: Collection[str] = (),
    moved_days: Mapping[Fact, float] | None = None,
) -> Outlook:
    """What is thought of the facts of a layout now and `LOOKS_AHEAD` days later, with what was seen
    of them up to `at`.

    `needed` are the keys of the things that calls must have. `moved_days` is how many days ago a
    fact came to be, for those the person knew elsewhere. `now` and `later` speak of the same facts,
    which are all of the layout.
    """
    days, rests = _since(now.facts, seen, at)
    critical = np.array([_is_critical(layout, fact) for fact in now.facts])
    counts = critical | np.array([fact.thing in needed for fact in now.facts])
    moved = moved_days or {}
    return Outlook(
        facts=now.facts,
        chance=now.expected,
        later=later.expected,
        variance=now.variance,
        seconds=np.exp(now.log_seconds + now.log_spread**2 / 2),
        matters=np.where(counts, 1.0, NOT_NEEDED),
        critical=critical,
        inside=np.array(_inside(layout, now.facts)),
        zone=np.unique(_doors(layout, now.facts), return_inverse=True)[1],
        beside=np.unique([fact.place for fact in now.facts], return_inverse=True)[1],
        days_since=days,
        moved_days=np.array([moved.get(fact, np.nan) for fact in now.facts]),
        rests=rests,
        drilled_for=max((_days(given[0].at, at) for given in seen.values() if given), default=0.0),
    )


def _inside(layout: Layout, facts: Sequence[Fact]) -> list[int]:
    """Where the bag around each fact stands among them, -1 of none."""
    at = {fact: index for index, fact in enumerate(facts)}
    codes = {each.key: each.code for each in layout.compartments}
    found = []
    for fact in facts:
        *around, _ = steps(layout, fact.thing, codes[fact.place])
        if fact.kind == BAG and fact.place == fact.thing:
            around = []
        found.append(at.get(around[-1], -1) if around else -1)
    return found


def _doors(layout: Layout, facts: Sequence[Fact]) -> list[str]:
    codes = {each.key: each.code for each in layout.compartments}
    return [layout.chain(codes[fact.place])[0].code for fact in facts]


def _is_critical(layout: Layout, fact: Fact) -> bool:
    """Whether a thing is critical; a bag comes with what it holds."""
    return fact.kind != BAG and layout.things[fact.thing].critical


def _since(
    facts: Sequence[Fact], seen: Mapping[Fact, Sequence[Observation]], at: datetime
) -> tuple[Array, Flags]:
    """How many days ago each fact was last asked, and whether it was right within the week."""
    days = np.array([_days_since(seen.get(fact, ()), at) for fact in facts])
    right = np.array([_was_right(seen.get(fact, ())) for fact in facts])
    return days, right & (days <= RESTS_FOR)


def _was_right(seen: Sequence[Observation]) -> bool:
    return max(seen, key=lambda each: each.at).outcome == RIGHT if seen else False


def _days_since(seen: Sequence[Observation], at: datetime) -> float:
    newest = max((each.at for each in seen), default=None)
    return _days(newest, at) if newest else float("nan")


def _days(since: datetime, at: datetime) -> float:
    return max((at - since).total_seconds(), 0.0) / _DAY
