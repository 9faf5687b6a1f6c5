"""What one more question gains: readiness over the weeks after it, for each second it takes.

To be asked and shown the right place is worth more than to be shown it alone: an effect of .50 to
.61 standard deviations over many studies (Rowland 2014, Adesope and others 2017, from memory), with
feedback more. Spread out it is worth .74 more than at one go (Latimier, Peyre and Ramus 2021). What
gains most in a second let learners recall up to 40 in 100 more (Eglington and Pavlik 2020). How
much one question teaches is told by none of them on our scale: the two figures below are ours.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit

from drills.engine.facts import Fact
from drills.engine.readying.counting import Array

# Of what is not known, so much is known right after it was asked and shown; what was asked is lost
# more slowly by this factor. Ours, no source; no simulator's truth was looked at.
LEARNS, SLOWS = 0.7, 0.7
# Days after the question at which the gain is looked at: a month, in which it may come again.
LOOKED_AT = np.array([0.0, 7.0, 14.0, 28.0])
# To know better what is known is worth this much of what it may change. Ours, no source.
TELLS = 0.25
_CERTAIN = 1e-6
_SHORTEST = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Outlook:
    """What is thought of one person and each fact, one figure for each of `facts`.

    `chance` is that of knowing it now, `variance` the doubt about its log-odds, `fading` the
    log-odds it loses in a day, `seconds` what a question takes, `matters` how much it counts.
    `critical` things are never left for long. `zone` and `beside` number the door it lies behind
    and the compartment it lies in. `days_since` it was last asked and `moved_days` since it came to
    where it is are not numbers where that never was; `moved_days` counts only who knew it before.
    `drilled_for` is how many days ago the person was first asked anything here.
    """

    facts: tuple[Fact, ...]
    chance: Array
    variance: Array
    fading: Array
    seconds: Array
    matters: Array
    critical: NDArray[np.bool_]
    zone: NDArray[np.int64]
    beside: NDArray[np.int64]
    days_since: Array
    moved_days: Array
    drilled_for: float = 0.0


def gains(outlook: Outlook) -> Array:
    """What a question on each fact gains in a second: more than 0, larger is better.

    The chance over the next month with the question less that without it, and a little for what
    the answer will tell, times how much it matters.
    """
    now = np.clip(outlook.chance, _CERTAIN, 1 - _CERTAIN)
    after = now + (1 - now) * LEARNS
    fades = np.maximum(outlook.fading, 0.0)[:, None] * LOOKED_AT
    without = expit(logit(now)[:, None] - fades)
    asked = expit(logit(after)[:, None] - SLOWS * fades)
    learnt = (asked - without).mean(axis=1)
    told = 1 / (1 / np.maximum(outlook.variance, _CERTAIN) + now * (1 - now))
    tells = np.sqrt(np.maximum(outlook.variance - told, 0.0)) * now * (1 - now)
    worth = outlook.matters * (learnt + TELLS * tells)
    return np.asarray(worth / np.maximum(outlook.seconds, _SHORTEST))
