"""Time: what the browser claims, what the server saw, and what is decided on it.

All figures are seconds. Nothing is decided on half a second.
"""

import math
import statistics
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

SHORTEST_POSSIBLE = 0.3
SERVER_SLACK = 0.25
LONGEST_UNEXPLAINED = 3.0
GRACE = 0.5
OVER_BASELINE = 10.0
SHORTEST_CUT_OFF = 2
# Seconds to lay a hand on one thing after arriving at the rig: the goal of a published study of a
# standardised cart, Hospital Pediatrics 2016;6(2):67.
AT_RIG = 15.0

VERIFIED, UNVERIFIED = "verified", "unverified"
IN_TIME, LATE, CUT_OFF, UNTIMED = "in time", "late", "cut off", "untimed"


@dataclass(frozen=True, slots=True)
class Claim:
    """The browser's own figures: painted to last choice, last choice to Send, time out of sight."""

    elapsed: float
    gap: float
    hidden: float


@dataclass(frozen=True, slots=True)
class Taken:
    """The seconds that count for an answer, and whether the browser's figure could be right."""

    seconds: float
    state: str


def taken(server: float, claim: Claim | None) -> Taken:
    """Choose between the browser's figure and the server's interval, served to received.

    The claim counts only if it is possible: above 0.3 s, elapsed plus gap not longer than the
    interval plus 0.25 s, nor more than 3 s shorter than it less hidden time, and no more time
    hidden than there was.
    """
    if claim is not None and _possible(server, claim):
        return Taken(claim.elapsed, VERIFIED)
    return Taken(max(server, 0.0), UNVERIFIED)


def _possible(server: float, claim: Claim) -> bool:
    parts = (claim.elapsed, claim.gap, claim.hidden)
    if not all(math.isfinite(part) and part >= 0 for part in parts):
        return False
    whole, longest = claim.elapsed + claim.gap, server + SERVER_SLACK
    shortest = server - claim.hidden - LONGEST_UNEXPLAINED
    return (
        claim.elapsed > SHORTEST_POSSIBLE
        and claim.hidden <= longest
        and shortest <= whole <= longest
    )


def judge_time(seconds: float, *, server: float, limit: float | None, cut_off: float | None) -> str:
    """In time, late, cut off or untimed. The cut-off is the server's, and never in sight of the
    limit: `lawful_cut_off` sees to that."""
    if cut_off is not None and server > cut_off + GRACE:
        return CUT_OFF
    if limit is None:
        return UNTIMED
    return IN_TIME if seconds <= limit + GRACE else LATE


def lawful_cut_off(asked: float | None, limit: float | None) -> float | None:
    """A cut-off is never under twice the limit, and there is none without a limit."""
    if asked is None or limit is None:
        return None
    return max(asked, SHORTEST_CUT_OFF * limit)


def limit_on_screen(
    baseline: float,
    *,
    over: float = OVER_BASELINE,
    things: int = 1,
    allowance: float = 1.0,
) -> float:
    """The limit of a prompt on screen: the person's own tapping baseline plus `over` seconds for
    each thing to find, times a personal allowance. The ten seconds are ours, no source."""
    return (baseline + over * max(things, 1)) * allowance


def spent(moments: Iterable[datetime], *, pause: timedelta) -> timedelta:
    """What was spent between moments of work that follow each other; a gap longer than a `pause`
    is none of it, since nobody was there."""
    gaps = (late - early for early, late in pairwise(moments))
    return sum((gap for gap in gaps if timedelta() < gap <= pause), timedelta())


LONGEST_BASELINE = 10.0


def tapping_baseline(seconds: list[float]) -> float:
    """The middle of the warm-up times: what tapping a place costs when nothing is to be known.

    Never above ten seconds, which is ours: nobody makes their own limits long by tapping slowly.
    """
    return min(statistics.median(seconds), LONGEST_BASELINE)
