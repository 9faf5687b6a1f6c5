"""Findings drawn from a pattern, in the shape that the schemes read, and their category."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from random import Random
from typing import Any

from drills.engine.ages import MONTHS
from drills.engine.chance import drawn_evenly
from drills.engine.incidents.tables import (
    MINOR_GRADES,
    NONE,
    PROBLEMS,
    UNTOLD,
    Appearance,
    Pattern,
)
from drills.engine.problemcheck import GROWN_MONTHS, MOST, MOST_OF_GROWN, MOST_OF_INFANTS
from drills.engine.tables import VITAL_SIGNS
from drills.engine.triage import (
    CHARTS,
    JUMPSTART,
    SALT,
    SALT_FAMILY,
    START,
    START_FAMILY,
    triage,
)
from drills.engine.triage.charts import Outcome
from drills.engine.triage.findings import RADIAL

# From how many patients on everybody is sorted: common practice, no source.
LEAST_THRESHOLD, USUAL_THRESHOLD, MOST_THRESHOLD = 2, 3, 12
WALKS_FROM_MONTHS = MONTHS  # who is younger is carried: ours
_YES_OR_NO = (
    *("walks", "breathes", "breathes_after_opening", "breathes_after_rescue_breaths", "pulse"),
    *("obeys", "purposeful", "posturing", "distress", "bleeding_controlled", "survivable"),
)
# Grown people at rest, a minute: common practice, no source read.
_GROWN_RATE = (12, 20)
# How far over the usual somebody hurt or frightened may breathe, and no category hang on it: ours.
_STRESSED = 1.25
_ABOVE = {START: 12, JUMPSTART: 19}  # how far over the limit of a chart a rate is drawn: ours
# Breaths of somebody in shock, whose category hangs on the pulse.
RAISED = "raised"
AGONAL = (4, 8)  # gasps a minute: ours
_SLOWED = {START: (10, 20), JUMPSTART: (16, 28)}
_NEAR = 2  # so many breaths from the limit count as beside it
_SHORT_S, _LONG_S, _LIMIT_S, _JUST_OVER_S = (1.0, 1.5, 2.0), (3.0, 4.0, 5.0), 2.0, 2.5


@dataclass(frozen=True, slots=True)
class Sorting:
    """What a service sorts by: START with JumpSTART for children, or SALT, and START's test of
    perfusion. Patients are sorted from `threshold` of them on."""

    family: str = START_FAMILY
    perfusion: str = RADIAL
    threshold: int = USUAL_THRESHOLD

    def scheme(self, *, is_child: bool) -> str:
        """The chart for somebody who looks grown or like a child."""
        if self.family == SALT_FAMILY:
            return SALT
        return JUMPSTART if is_child else START

    def follow(self, findings: Mapping[str, Any], *, is_child: bool) -> Outcome:
        """The category of somebody by their findings, with the branches taken."""
        return _followed(self.scheme(is_child=is_child), self.perfusion, tuple(findings.items()))


# What is found of one is asked for by each question that speaks of them.
@lru_cache(maxsize=1024)
def _followed(scheme: str, perfusion: str, found: tuple[tuple[str, Any], ...]) -> Outcome:
    return triage(scheme, {"perfusion": perfusion, **dict(found)})


@dataclass(frozen=True, slots=True)
class Whose:
    """What of a patient bears on the findings: looks like a child, and the age in months."""

    is_child: bool
    months: int

    @property
    def chart(self) -> str:
        """The chart whose limits of the rate a body of this size has."""
        return JUMPSTART if self.is_child else START

    @property
    def is_carried(self) -> bool:
        return self.months < WALKS_FROM_MONTHS


def draw_findings(
    appearance: Appearance,
    pattern: Pattern,
    whose: Whose,
    near: float,
    random: Random,
    own: tuple[int, int] | None = None,
) -> dict[str, Any]:
    """Findings by a pattern; `near` is the chance that a counted figure stands beside its limit.

    Who has breaths of their `own` by their problem breathes so, within the limits of the chart.
    """
    found: dict[str, Any] = {
        name: {"yes": True, "no": False}[word]
        for name in _YES_OR_NO
        if (word := getattr(pattern, name)) != UNTOLD
    }
    found["avpu"] = pattern.avpu
    is_minor = appearance.grade in MINOR_GRADES
    found["minor_only"] = is_minor
    found["walks"] = found["walks"] and not whose.is_carried
    found["walked_before_event"] = not whose.is_carried
    found["external_injury"] = PROBLEMS[appearance.problem].is_injury and not is_minor
    is_near = random.random() < near
    found["rate"] = _rate(pattern.rate, whose, is_near=is_near, random=random, own=own)
    if pattern.refill != NONE:
        found["refill_s"] = _refill(is_long=pattern.refill == "long", near=is_near, random=random)
    return found


def rate_limits(chart: str) -> tuple[int, int]:
    """The least and the most breaths a minute that a chart does not call immediate.

    They are read from its branches; where it has no least, 0.
    """
    found = {"under": 0, "over": 0}
    for branch in CHARTS[chart].branches:
        if told := re.fullmatch(r"rate (under|over) (\d+)", branch.when):
            found[told[1]] = int(told[2])
    return found["under"], found["over"]


@lru_cache
def usual_rate(months: int) -> tuple[int, int]:
    """Breaths a minute at rest at an age, low and high."""
    for row in VITAL_SIGNS:
        end = row.below_months
        if (row.set, row.sign) == ("PALS 2006", "breaths") and end is not None and months < end:
            return int(row.low), int(row.high)
    return _GROWN_RATE


def _most_breaths(months: int) -> int:
    """As many breaths a minute as a body of an age has, however ill."""
    usual = usual_rate(months)[1]
    if months < MONTHS:
        times = MOST_OF_INFANTS["breaths"]
    else:
        times = (MOST if months < GROWN_MONTHS else MOST_OF_GROWN)["breaths"]
    return int(usual * times)


@lru_cache
def rate_range(kind: str, whose: Whose, *, is_near: bool) -> tuple[int, int]:
    """Low and high of a kind of rate for somebody, in breaths a minute."""
    least, most = rate_limits(whose.chart)
    if kind == "over":
        above = most + (_NEAR if is_near else _ABOVE[whose.chart])
        return most + 1, max(most + _NEAR, min(above, _most_breaths(whose.months)))
    if kind == "usual":
        return _usual(whose, least, most, is_near=is_near)
    if kind == RAISED:
        return _raised(whose, most, is_near=is_near)
    return {"agonal": AGONAL, "slowed": _SLOWED[whose.chart]}.get(kind, (0, 0))


def _usual(whose: Whose, least: int, most: int, *, is_near: bool) -> tuple[int, int]:
    """At rest or a little over; beside whichever limit of the chart a body of the age can be."""
    low, high = usual_rate(whose.months)
    high = min(round(high * _STRESSED), most)
    if not is_near:
        return max(low, least), high
    if not least or high >= most - _NEAR:
        return most - _NEAR, most
    return (least, least + _NEAR) if low <= least + 2 * _NEAR else (high - _NEAR, high)


def _raised(whose: Whose, most: int, *, is_near: bool) -> tuple[int, int]:
    """Over the usual of the age, as in shock, and within the limit of the chart."""
    most = min(most, _most_breaths(whose.months))
    if is_near:
        return most - _NEAR, most
    usual = usual_rate(whose.months)[1]
    return min(usual, most - 2 * _NEAR), min(round(usual * _STRESSED), most)


def _rate(
    kind: str, whose: Whose, *, is_near: bool, random: Random, own: tuple[int, int] | None
) -> int:
    low, high = rate_range(kind, whose, is_near=is_near)
    least, most = rate_limits(whose.chart)
    if own and kind in {"usual", RAISED} and least <= own[0] and own[1] <= most:
        low, high = own
    return low + int(random.random() * (high - low + 1))


def _refill(*, is_long: bool, near: bool, random: Random) -> float:
    if near:
        return _JUST_OVER_S if is_long else _LIMIT_S
    return drawn_evenly(_LONG_S if is_long else _SHORT_S, random)
