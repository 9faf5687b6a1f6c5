"""The weights that a drill is drawn by, from what each question gains."""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from drills.engine.readying.counting import Array
from drills.engine.worth.gain import Flags, Ints, Outlook, gains, most_held, within

# What is critical is not to be left for longer, and is due a week earlier, since drills are weekly:
# it is likelier then, and no day is certain. Half of what was learnt is lost in 6.5 months (Tatel
# and Ackerman, Psychological Bulletin, 57 years of studies), and a goal for finding things in a
# cart was missed from day 287 on: well before either.
LONGEST_GAP, DUE_BEFORE = 90.0, 7.0
# Days after a thing moved on which who knew its old place is asked for it; after the last, no more
# than so long. Ours, no source.
AFTER_A_MOVE, MOVE_IS_OLD = (1.0, 3.0, 7.0, 21.0), 45.0
# To be asked of some things of a place makes the others harder to recall (Aslan, 16 objects in a
# square, an abstract): those not asked yet count so much more until a week is over.
BESIDE_COUNTS, BESIDE_DAYS = 2.0, 7.0
# What is due counts so much more than the most worthwhile of the rest; and however hard it is, it
# has at least this share of a drill. Ours, no source.
DUE_COUNTS, DUE_SHARE = 20.0, 1 / 3
# Success expected of a drill: below, people give up; above, they learn little. Ours; to aim at .75
# to .9 is argued from gain in a second (Eglington and Pavlik 2020).
LEAST_SUCCESS, MOST_SUCCESS = 0.60, 0.90
# What gains twice as much is asked for 2 ** SHARPNESS times as often: by what the model expects, a
# drill gains a tenth more at 3 than at 2 and hardly more beyond, while it still draws from the
# better quarter of what there is. Ours, no source; first 2, and set to 3 after a simulated service
# had shown how the two differ.
SHARPNESS = 3.0
_STEEPEST = 60.0
_LEAST = 1e-12
# Where nothing is known well enough, the best known is asked for so much more than the least; and
# nothing is left out. Ours, no source.
BEST_COUNTS, LEAST_WEIGHT = 10.0, 0.001
TOO_HARD, TOO_EASY, NEITHER = "too hard", "too easy", ""


@dataclass(frozen=True, slots=True)
class Settings:
    """How gains become weights; what is here is what is used."""

    sharpness: float = SHARPNESS
    least_success: float = LEAST_SUCCESS
    most_success: float = MOST_SUCCESS


PLAIN = Settings()


@dataclass(frozen=True, slots=True)
class Asking:
    """How much each fact is to be asked for, by fact as text, 1 in the mean; and what success is
    expected. `bound` is *too hard* or *too easy* where the weights were bent to keep it in bounds.
    `again` are facts that are due although they were right within the week.
    """

    weights: dict[str, float]
    success: float
    bound: str
    again: frozenset[str] = frozenset()


def asking_by_worth(outlook: Outlook, settings: Settings = PLAIN) -> Asking:
    """How much each fact is to be asked for by one person next.

    What gains more in a second is asked for more; spread over the zones, what lies beside what was
    asked this week before the rest, and before all what is critical and was long not asked or what
    moved. What was right within the week rests, unless it is due. Then the success expected of all
    that may be asked is kept within bounds, as far as what is due leaves room. Without a fact,
    nothing.
    """
    if not outlook.facts:
        return Asking({}, 0.0, NEITHER)
    due = within(outlook.inside, is_due(outlook))
    rests = _rests(outlook, due)
    worth = gains(outlook) ** settings.sharpness
    worth = worth * np.where(_stands_beside(outlook), BESIDE_COUNTS, 1.0)
    worth = _spread(np.where(rests, 0.0, worth), outlook.zone)
    worth[due] = max(worth.max(), _LEAST) * DUE_COUNTS
    asked = _asked(outlook, worth, rests)
    bent, bound = _bent(worth, outlook.success, asked, settings)
    bent[due] *= _room(bent[asked], due[asked])
    bent = np.where(outlook.is_thing, bent, np.where(due, most_held(outlook.inside, bent), 0.0))
    shares = bent[asked] / bent[asked].sum()
    weights = np.round(np.maximum(bent / bent[asked].mean(), LEAST_WEIGHT), 5)
    named = dict(zip(map(str, outlook.facts), map(float, weights), strict=True))
    again = frozenset(str(outlook.facts[at]) for at in np.flatnonzero(due & outlook.rests))
    return Asking(named, float(shares @ outlook.success[asked]), bound, again)


def _rests(outlook: Outlook, due: Flags) -> Flags:
    """What is not asked now; where that would be everything, nothing."""
    rests = outlook.rests & ~due
    return rests & ~rests[outlook.is_thing].all()


def _room(worth: Array, due: Flags) -> float:
    """By how much what is due is to be raised, so that it has its share of what is asked."""
    has, others = float(worth[due].sum()), float(worth[~due].sum())
    if not 0 < has < others * DUE_SHARE / (1 - DUE_SHARE):
        return 1.0
    return others * DUE_SHARE / (1 - DUE_SHARE) / has


def _asked(outlook: Outlook, worth: Array, rests: Flags) -> Ints:
    """Where the facts stand that speak for a question each: of a thing in several places the one
    with most worth, and none of what rests."""
    things = np.flatnonzero(outlook.is_thing & ~rests)
    order = things[np.argsort(-worth[things], kind="stable")]
    return np.asarray(order[np.unique(outlook.thing[order], return_index=True)[1]])


def is_due(outlook: Outlook) -> Flags:
    """What must be asked now: critical and long not asked, or moved and its day has come.

    What was never asked counts from the day the person began.
    """
    since = np.nan_to_num(outlook.days_since, nan=outlook.drilled_for)
    long_ago = outlook.critical & (since >= LONGEST_GAP - DUE_BEFORE)
    return np.asarray(long_ago | _is_due_after_a_move(outlook.moved_days, outlook.days_since))


def _is_due_after_a_move(moved: Array, since: Array) -> Flags:
    """Whether a thing was not asked for since the last of its days came."""
    came = np.array([0.0, *AFTER_A_MOVE])
    ago = np.nan_to_num(moved, nan=-1.0)
    last = came[np.searchsorted(came, ago, side="right") - 1]
    asked_since = np.nan_to_num(since, nan=np.inf) <= ago - last
    return np.asarray((ago >= AFTER_A_MOVE[0]) & (ago <= MOVE_IS_OLD) & ~asked_since)


def _stands_beside(outlook: Outlook) -> Flags:
    """What was not asked this week, while something in the same compartment was."""
    lately = np.nan_to_num(outlook.days_since, nan=np.inf) <= BESIDE_DAYS
    touched = np.bincount(outlook.beside, weights=lately, minlength=outlook.beside.max() + 1) > 0
    return np.asarray(touched[outlook.beside] & ~lately)


def _spread(worth: Array, zone: Ints) -> Array:
    """The same with each zone's whole brought nearer to the others': by its square root."""
    whole = np.bincount(zone, weights=worth)[zone]
    return np.asarray(worth / np.sqrt(np.maximum(whole, _LEAST)))


def _bent(worth: Array, chance: Array, asked: Ints, settings: Settings) -> tuple[Array, str]:
    """Weights whose mean chance over what is asked lies within bounds, and which of them was met.

    What is known better is asked for more or less by one factor for all, as little as is needed;
    where even the best known are not enough, by a moderate one, since they are no use alone.
    """
    each = chance[asked]

    def mean_at(steep: float) -> float:
        bent = _tilted(worth[asked], each, steep)
        return float(bent @ each / bent.sum())

    now = mean_at(0.0)
    if settings.least_success <= now <= settings.most_success:
        return worth, NEITHER
    is_hard = now < settings.least_success
    aim = settings.least_success if is_hard else settings.most_success
    sign = 1.0 if is_hard else -1.0
    if (now - aim) * (mean_at(sign * _STEEPEST) - aim) < 0:
        ends = sorted((0.0, sign * _STEEPEST))
        steep = brentq(lambda at: mean_at(at) - aim, *ends)
    else:
        steep = sign * float(np.log(BEST_COUNTS) / max(np.ptp(each), 1e-6))
    return _tilted(worth, chance, steep), TOO_HARD if is_hard else TOO_EASY


def _tilted(worth: Array, chance: Array, steep: float) -> Array:
    tilt = steep * chance
    return np.asarray(worth * np.exp(tilt - tilt.max()))
