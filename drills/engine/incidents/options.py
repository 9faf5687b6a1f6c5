"""Every way in which a patient of a call may be met: the problem, the age, what is seen, found."""

from collections.abc import Callable, Sequence
from functools import lru_cache
from math import ceil, floor
from typing import NamedTuple

from drills.engine.calls import CallType, CallWorld, Problem, Profile, State
from drills.engine.chance import seeded
from drills.engine.dispatch import Ranges, ranges_of
from drills.engine.incidents.findings import Sorting, Whose, draw_findings, usual_rate
from drills.engine.incidents.tables import (
    APPEARANCES,
    HOPELESS,
    PROBLEMS,
    SEVERE,
    SEVERITY,
    Appearance,
    Pattern,
    patterns_for,
)
from drills.engine.incidents.threats import threats

GROWN, AWAKE, OVER = "adult", "A", "over"
# Of too few to be sorted nobody is met dead or left to die where anything else is written: whoever
# is one of so few is treated, and their kit and doses are those of somebody alive.
_LEFT = frozenset({"deceased", "dead", "expectant"})
# Who has at most so many points of the coma scale is not met awake; whose every breath is slower
# than this is met breathing as slowly. Both ours, no source.
AWAKE_FROM, SLOW_BELOW = 13, 12
# Fewer breaths a minute are gasps.
LEAST_BREATHS = 4


class Option(NamedTuple):
    """One way somebody may be met: whose problem, at what age, what is seen and what is found.

    Who is `threatened` has something that kills soon.
    """

    profile: Profile
    band: str
    state: State
    appearance: Appearance
    pattern: Pattern
    category: str
    is_threatened: bool


class Way(NamedTuple):
    """A pattern with what it comes to by a scheme, and whether anything of it kills soon."""

    pattern: Pattern
    category: str
    is_threatened: bool


def living(options: Sequence[Option]) -> list[Option]:
    """Without the dead and the hopeless, whom a scheme may call immediate, but of a profile that
    has nothing else, such as an arrest."""
    return _kept(options, lambda each: each.category not in _LEFT and _has_hope(each))


def _has_hope(option: Option) -> bool:
    return option.appearance.grade != HOPELESS


def as_told(options: Sequence[Option]) -> list[Option]:
    """Without those in danger whose severity says that they are not, but of a profile that has
    nothing else: of so few the first report says how bad the worst is."""
    return _kept(options, lambda each: each.state.severity >= SEVERE or not each.is_threatened)


def _kept(options: Sequence[Option], is_kept: Callable[[Option], bool]) -> list[Option]:
    """Those that are kept, and all of a profile of which none is."""
    kept = [each for each in options if is_kept(each)]
    profiles = [each.profile for each in kept]
    return [*kept, *(each for each in options if each.profile not in profiles)]


def own_breaths(problem: str, ranges: Ranges, whose: Whose) -> tuple[int, int] | None:
    """How somebody breathes whose problem slows every breath, as an opioid does, or is an illness
    that quickens none, as a stroke is; None of anybody else, hurt or short of breath."""
    low, high = ranges.get("rr", (0, 0))
    least, most = max(ceil(low), LEAST_BREATHS), max(floor(high), LEAST_BREATHS)
    is_at_rest = not PROBLEMS[problem].is_injury and high <= usual_rate(whose.months)[1]
    return (least, most) if high > 0 and (high < SLOW_BELOW or is_at_rest) else None


def options_of(call_type: CallType, world: CallWorld, sorting: Sorting) -> list[Option]:
    """Every way in which a patient of the call may be met, each with the category it comes to."""
    return [
        Option(profile, band, state, appearance, *way)
        for profile in call_type.profiles
        if profile.problem in PROBLEMS
        for band, months in _bands(profile, world)
        for appearance in _appearances(profile.problem)
        for state in _states(world.problems[profile.problem], profile, appearance, band)
        for whose in [Whose(world.bands[band].size != GROWN, months)]
        for ranges in [ranges_of(world.problems[profile.problem], state, band)]
        for way in _as_breathed(
            own_breaths(profile.problem, ranges, whose),
            _as_awake(ranges, _ways(appearance.problem, appearance.grade, whose, sorting)),
        )
    ]


def _as_awake(ranges: Ranges, ways: Sequence[Way]) -> Sequence[Way]:
    """The ways that go with a mind by its coma scale; all where none does."""
    if ranges.get("gcs", (0, AWAKE_FROM))[1] >= AWAKE_FROM:
        return ways
    return [each for each in ways if each.pattern.avpu != AWAKE] or ways


def _as_breathed(own: tuple[int, int] | None, ways: Sequence[Way]) -> Sequence[Way]:
    """The ways that go with breaths that no problem quickens; all where none does."""
    return [each for each in ways if not own or each.pattern.rate != OVER] or ways


def _bands(profile: Profile, world: CallWorld) -> list[tuple[str, int]]:
    """The bands of a profile, each with the age in months that stands for it."""
    return [
        (band, round(max(world.bands[band].from_y, profile.ages[0] or 0) * 12))
        for band, share in profile.shares.items()
        if share > 0
    ]


def _states(
    problem: Problem, profile: Profile, appearance: Appearance, band: str
) -> Sequence[State]:
    """The state of a problem that goes with an appearance, at most one."""
    severity = SEVERITY[appearance.grade]
    if severity not in profile.severities:
        return []
    fits = [each for each in problem.states if each.severity == severity]
    return [each for each in fits if band in each.age_bands][:1]


@lru_cache
def _appearances(problem: str) -> tuple[Appearance, ...]:
    return tuple(each for each in APPEARANCES if each.problem == problem)


# It rests on tables alone, and is asked for with every incident.
@lru_cache(maxsize=4096)
def _ways(problem: str, grade: str, whose: Whose, sorting: Sorting) -> tuple[Way, ...]:
    """The patterns that an appearance may come with, each with what it comes to."""
    appearance = next(each for each in _appearances(problem) if each.grade == grade)
    found = (
        _way(appearance, pattern, whose, sorting)
        for pattern in patterns_for(appearance, is_child=whose.is_child)
    )
    return tuple(each for each in found if each.category)


def _way(appearance: Appearance, pattern: Pattern, whose: Whose, sorting: Sorting) -> Way:
    """What a pattern comes to by a scheme, whatever its figures: they are drawn within limits."""
    findings = draw_findings(appearance, pattern, whose, 0.0, seeded("stands for all"))
    category = sorting.follow(findings, is_child=whose.is_child).category or ""
    return Way(pattern, category, bool(threats(findings, whose, sorting)))
