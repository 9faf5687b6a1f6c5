"""A whole incident: who is there, what is found of each, and what the caller said of it.

A category is asked for, findings are drawn, and the category is worked out from them by the scheme:
nothing else ever says it. Sex and age are drawn apart from the problem, within what the data of the
call says.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, floor
from operator import attrgetter
from random import Random
from types import MappingProxyType
from typing import Any, NamedTuple

from drills.engine.burns import burned_of
from drills.engine.calls import (
    Call,
    CallError,
    CallType,
    CallWorld,
    Patient,
    Problem,
    Profile,
    State,
)
from drills.engine.chance import drawn, drawn_evenly, seeded
from drills.engine.dispatch import (
    Ranges,
    call_with,
    draw_age,
    draw_signs,
    ranges_of,
    told_signs,
    who_is,
)
from drills.engine.incidents.findings import Sorting, Whose, draw_findings, usual_rate
from drills.engine.incidents.signs import fitting_signs
from drills.engine.incidents.tables import (
    APPEARANCES,
    LEVELS,
    PROBLEMS,
    SEVERITY,
    Appearance,
    Level,
    Pattern,
    patterns_for,
)
from drills.engine.triage import SALT_FAMILY
from drills.engine.triage.charts import Outcome
from drills.engine.weights import draw_weight, settled_weight, told_weight

MOST_PATIENTS = 12
GROWN, AWAKE = "adult", "A"
# How often each category is asked for where there are many: ours, no source.
SHARES: Mapping[str, float] = MappingProxyType(
    {"immediate": 3, "delayed": 3, "minor": 4, "minimal": 4, "deceased": 1, "dead": 1}
    | {"expectant": 1}
)
# Of too few to be sorted nobody is met dead or left to die where anything else is written: whoever
# is one of so few is treated, and their kit and doses are those of somebody alive.
_LEFT = frozenset({"deceased", "dead", "expectant"})
_TRIES = 20
# Who has at most so many points of the coma scale is not met awake; whose every breath is slower
# than this is met breathing as slowly. Both ours, no source.
AWAKE_FROM, SLOW_BELOW = 13, 12
# Fewer breaths a minute are gasps.
LEAST_BREATHS = 4


@dataclass(frozen=True, slots=True)
class Casualty:
    """One patient of an incident, with what is found of them.

    `findings` are in the shape that `triage` reads; `seen` is what the eye meets first. The
    appearance and the pattern are what they were made from and are never shown. `own_breaths` is
    how they breathe where their problem slows every breath or quickens none.
    """

    patient: Patient
    seen: str
    findings: Mapping[str, Any]
    whose: Whose
    appearance: Appearance
    pattern: Pattern
    signs: Mapping[str, float]
    weight_kg: float
    own_breaths: tuple[int, int] | None = None

    @property
    def number(self) -> int:
        return self.patient.number


@dataclass(frozen=True, slots=True)
class Incident:
    """A call with many patients, how it is sorted, and how hard it was made.

    `is_short`: there is less than the patients take, so that by SALT who is not likely to survive
    is expectant.
    """

    call: Call
    casualties: tuple[Casualty, ...]
    sorting: Sorting
    level: int
    is_short: bool

    def outcome(self, casualty: Casualty) -> Outcome:
        """The category of a casualty, worked out from the findings now."""
        return self.sorting.follow(casualty.findings, is_child=casualty.whose.is_child)


class _Option(NamedTuple):
    """One way somebody may be met: whose problem, at what age, what is seen and what is found."""

    profile: Profile
    band: str
    state: State
    appearance: Appearance
    pattern: Pattern
    category: str


def make_incident(
    call_type: CallType,
    world: CallWorld,
    *,
    seed: str,
    count: int,
    sorting: Sorting | None = None,
    level: int = 2,
    is_short: bool = False,
) -> Incident:
    """Draw an incident of so many patients, 1 to 12, the same for the same seed and words.

    `level` is the difficulty, 1 to 5. Raises `CallError` for a count or a level that is none, and
    where the data of the call type makes no such patient.
    """
    if not 1 <= count <= MOST_PATIENTS:
        raise CallError(f"{count} patients; accepted is 1 to {MOST_PATIENTS}.")
    if level not in LEVELS:
        raise CallError(f"difficulty {level}; accepted is {', '.join(map(str, LEVELS))}.")
    random = seeded(f"incident/1:{call_type.slug}:{count}:{level}:{is_short}:{seed}")
    making = _Making(
        call_type, world, sorting or Sorting(), LEVELS[level], random, is_short=is_short
    )
    casualties = making.casualties(count)
    patients = tuple(each.patient for each in casualties)
    call = call_with(call_type, world, patients, random)
    return Incident(call, casualties, making.sorting, level, is_short)


class _Making:
    """What one incident is drawn from, and what of it is used already."""

    def __init__(
        self,
        call_type: CallType,
        world: CallWorld,
        sorting: Sorting,
        level: Level,
        random: Random,
        *,
        is_short: bool,
    ) -> None:
        self.call_type, self.world, self.sorting = call_type, world, sorting
        self.level, self.random = level, random
        self.options = [
            each
            for each in _options(call_type, world, sorting)
            if is_short or sorting.family != SALT_FAMILY or each.pattern.survivable == "yes"
        ]
        self.seen: set[str] = set()
        self.asked: Counter[str] = Counter()
        self.most_of_one = 1

    def casualties(self, count: int) -> tuple[Casualty, ...]:
        # More than half of one category would make the rest guesses.
        self.most_of_one = (count + 1) // 2
        if count < self.sorting.threshold:
            self.options = _living(self.options)
        always = [each for each in self.call_type.profiles if each.is_always][:count]
        wanted: list[Profile | None] = [*always, *[None] * (count - len(always))]
        return tuple(self._casualty(at, profile) for at, profile in enumerate(wanted, 1))

    def _casualty(self, number: int, profile: Profile | None) -> Casualty:
        option = self._option(profile)
        self.seen.add(option.appearance.seen)
        self.asked[option.category] += 1
        return _met(number, option, self.world, self.sorting, self.level, self.random)

    def _option(self, profile: Profile | None) -> _Option:
        """A category first, then whose problem, then the age: none of them bears on the next."""
        found = self.options
        if profile is not None:
            found = [each for each in found if each.profile == profile]
        if not found:
            raise CallError(f"{self.call_type.slug}: no findings are written for its patients.")
        is_trap = self.random.random() < self.level.traps
        full = {name for name, many in self.asked.items() if many >= self.most_of_one}
        found = _without(found, "appearance.seen", self.seen)
        found = _without(found, "category", full)
        found = self._one_of(found, "category", lambda each: SHARES[each.category])
        found = _without(found, "pattern.is_trap", {not is_trap})
        found = self._one_of(found, "profile.problem", _weight)
        found = self._one_of(found, "band", _share)
        return drawn_evenly(found, self.random)

    def _one_of(
        self,
        options: Sequence[_Option],
        name: str,
        share: Callable[[_Option], float],
    ) -> list[_Option]:
        """The options of one name, drawn among the names by their shares."""
        name_of = attrgetter(name)
        named: defaultdict[str, list[_Option]] = defaultdict(list)
        for each in options:
            named[name_of(each)].append(each)
        shares = [share(same[-1]) for same in named.values()]
        return drawn(list(named.values()), shares, self.random)


def _living(options: Sequence[_Option]) -> list[_Option]:
    """Without the dead, but of a profile that has nothing else, such as an arrest."""
    alive = [each for each in options if each.category not in _LEFT]
    profiles = [each.profile for each in alive]
    return [*alive, *(each for each in options if each.profile not in profiles)]


def _without(options: list[_Option], name: str, used: Collection[object]) -> list[_Option]:
    """The options whose value of a name is not used yet; where all are used, all of them."""
    name_of = attrgetter(name)
    return [each for each in options if name_of(each) not in used] or options


def _weight(option: _Option) -> float:
    return option.profile.weight or 1.0


def _share(option: _Option) -> float:
    return option.profile.shares[option.band]


def _met(
    number: int,
    option: _Option,
    world: CallWorld,
    sorting: Sorting,
    level: Level,
    random: Random,
) -> Casualty:
    """Somebody by an option."""
    profile, band = option.profile, world.bands[option.band]
    age = draw_age(band, profile.ages, random)
    whose = Whose(band.size != GROWN, round(age * 12))
    problem = world.problems[profile.problem]
    own = own_breaths(profile.problem, ranges_of(problem, option.state, option.band), whose)
    findings = _found(option, whose, sorting, float(level.near), random, own)
    is_female = random.random() < profile.female_share
    drawn_kg = draw_weight(age, is_female=is_female, random=random)
    kg = settled_weight(drawn_kg, age, is_female=is_female)
    drawn_signs = draw_signs(problem, option.state, option.band, random)
    signs = fitting_signs(drawn_signs, findings, whose, random)
    patient = Patient(
        number=number,
        problem=profile.problem,
        severity=option.state.severity,
        band=option.band,
        size=band.size,
        age_y=age,
        is_female=is_female,
        weight=told_weight(kg, random),
        who=who_is(age, is_female=is_female),
        findings=option.appearance.seen,
        signs=told_signs(signs),
        burned=burned_of(profile.problem, option.appearance.seen),
    )
    return Casualty(
        patient=patient,
        seen=option.appearance.seen,
        findings=MappingProxyType(findings),
        whose=whose,
        appearance=option.appearance,
        pattern=option.pattern,
        signs=MappingProxyType(signs),
        weight_kg=float(kg),
        own_breaths=own,
    )


def _found(
    option: _Option,
    whose: Whose,
    sorting: Sorting,
    near: float,
    random: Random,
    own: tuple[int, int] | None,
) -> dict[str, Any]:
    """Findings of the category of an option, drawn anew where a limit took them to another."""
    for _ in range(_TRIES):
        found = draw_findings(option.appearance, option.pattern, whose, near, random, own)
        if sorting.follow(found, is_child=whose.is_child).category == option.category:
            return found
    raise CallError(f"{option.pattern.pattern}: never comes out {option.category}.")


def own_breaths(problem: str, ranges: Ranges, whose: Whose) -> tuple[int, int] | None:
    """How somebody breathes whose problem slows every breath, as an opioid does, or is an illness
    that quickens none, as a stroke is; None of anybody else, hurt or short of breath."""
    low, high = ranges.get("rr", (0, 0))
    least, most = max(ceil(low), LEAST_BREATHS), max(floor(high), LEAST_BREATHS)
    is_at_rest = not PROBLEMS[problem].is_injury and high <= usual_rate(whose.months)[1]
    return (least, most) if high > 0 and (high < SLOW_BELOW or is_at_rest) else None


def _options(call_type: CallType, world: CallWorld, sorting: Sorting) -> list[_Option]:
    """Every way in which a patient of the call may be met, each with the category it comes to."""
    return [
        _Option(profile, band, state, appearance, pattern, category)
        for profile in call_type.profiles
        if profile.problem in PROBLEMS
        for band, months in _bands(profile, world)
        for appearance in _appearances(profile.problem)
        for state in _states(world.problems[profile.problem], profile, appearance, band)
        for whose in [Whose(world.bands[band].size != GROWN, months)]
        for pattern, category in _as_awake(
            ranges_of(world.problems[profile.problem], state, band),
            _ways(appearance.problem, appearance.grade, whose, sorting),
        )
    ]


def _as_awake(ranges: Ranges, ways: Sequence[tuple[Pattern, str]]) -> Sequence[tuple[Pattern, str]]:
    """The ways that go with a mind by its coma scale; all where none does."""
    if ranges.get("gcs", (0, AWAKE_FROM))[1] >= AWAKE_FROM:
        return ways
    return [each for each in ways if each[0].avpu != AWAKE] or ways


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
def _ways(
    problem: str, grade: str, whose: Whose, sorting: Sorting
) -> tuple[tuple[Pattern, str], ...]:
    """The patterns that an appearance may come with, each with the category it comes to."""
    appearance = next(each for each in _appearances(problem) if each.grade == grade)
    found = (
        (pattern, _category(appearance, pattern, whose, sorting))
        for pattern in patterns_for(appearance, is_child=whose.is_child)
    )
    return tuple((pattern, category) for pattern, category in found if category)


def _category(
    appearance: Appearance, pattern: Pattern, whose: Whose, sorting: Sorting
) -> str | None:
    """What a pattern comes to by a scheme, whatever its figures: they are drawn within limits."""
    findings = draw_findings(appearance, pattern, whose, 0.0, seeded("stands for all"))
    return sorting.follow(findings, is_child=whose.is_child).category
