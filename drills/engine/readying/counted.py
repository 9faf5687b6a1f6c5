"""What is thought of a person from counts alone, for as long as no model was fitted.

Each fact is known as often as it was found when asked, older answers counting less, drawn towards
what the person finds of everything; the doubt is that of so few answers.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

import numpy as np

from drills.engine.facts import Fact
from drills.engine.memory import Estimate, Observation, estimate
from drills.engine.readying.counting import Array
from drills.engine.readying.known import Known
from drills.engine.searching import LOG_SECONDS, LOG_SPREAD

# What is thought of somebody who was never asked, and as how many answers it counts; and as how
# many what they find of everything counts beside the answers on one fact. Ours, no source.
FOUND_UNASKED, COUNTS_AS, OTHERS_COUNT = 0.6, 2.0, 4.0
# Half an answer more on both sides: the usual log-odds of a count, with the usual variance (Haldane
# 1956, Anscombe 1956, from memory), where the plain ones of nothing missed have no end.
HALF = 0.5


def known_by_counts(
    facts: Sequence[Fact],
    seen: Mapping[Fact, Sequence[Observation]],
    *,
    now: datetime,
    hands_on: Mapping[Fact, int],
) -> Known:
    """What is thought of some facts, by all that was seen of the person; `hands_on` counts first
    answers at the rig by fact."""
    told = {fact: estimate(given, now=now) for fact, given in seen.items()}
    nothing = estimate((), now=now)
    own = [told.get(fact, nothing) for fact in facts]
    good, asked = _counted(own)
    all_good, all_asked = _counted(told.values())
    found = FOUND_UNASKED * COUNTS_AS + float(all_good.sum())
    of = COUNTS_AS + float(all_asked.sum())
    share = found / of
    a, b = share * OTHERS_COUNT + good, (1 - share) * OTHERS_COUNT + asked - good
    size = len(facts)
    return Known(
        facts=tuple(facts),
        logit=np.log((a + HALF) / (b + HALF)),
        variance=1 / (a + HALF) + 1 / (b + HALF),
        shared=np.full(size, math.sqrt(1 / (found + HALF) + 1 / (of - found + HALF))),
        floor=np.zeros(size),
        log_seconds=np.full(size, LOG_SECONDS),
        log_spread=np.full(size, LOG_SPREAD),
        firsts=np.array([each.first_answers for each in own]),
        hands_on=np.array([hands_on.get(fact, 0) for fact in facts]),
    )


def _counted(told: Iterable[Estimate]) -> Array:
    """How many were right and how many there are, each counted by what is left of it."""
    rows = [(each.chance * each.tries, each.tries) for each in told]
    return np.array(rows, dtype=float).reshape(-1, 2).T
