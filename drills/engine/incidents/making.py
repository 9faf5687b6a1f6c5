"""A whole incident: who is there, what is found of each, and what the caller said of it.

A category is asked for, findings are drawn, and the category is worked out from them by the scheme:
nothing else ever says it. Sex and age are drawn apart from the problem, within what the data of the
call says.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from operator import attrgetter
from random import Random
from types import MappingProxyType
from typing import Any

from drills.engine.burns import burned_of
from drills.engine.calls import Call, CallError, CallType, CallWorld, Patient, Profile
from drills.engine.chance import drawn, drawn_evenly, seeded
from drills.engine.dispatch import (
    call_with,
    draw_age,
    draw_signs,
    ranges_of,
    told_signs,
    who_is,
)
from drills.engine.incidents.findings import Sorting, Whose, draw_findings
from drills.engine.incidents.options import (
    GROWN,
    Option,
    as_told,
    living,
    options_of,
    own_breaths,
)
from drills.engine.incidents.signs import fitting_signs
from drills.engine.incidents.tables import LEVELS, Appearance, Level, Pattern
from drills.engine.triage import SALT_FAMILY
from drills.engine.triage.charts import Outcome
from drills.engine.weights import draw_weight, settled_weight, told_weight

MOST_PATIENTS = 12
# How often each category is asked for where there are many: ours, no source.
SHARES: Mapping[str, float] = MappingProxyType(
    {"immediate": 3, "delayed": 3, "minor": 4, "minimal": 4, "deceased": 1, "dead": 1}
    | {"expectant": 1}
)
_TRIES = 20


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
            for each in options_of(call_type, world, sorting)
            if is_short or sorting.family != SALT_FAMILY or each.pattern.survivable == "yes"
        ]
        self.seen: set[str] = set()
        self.asked: Counter[str] = Counter()
        self.most_of_one = 1
        self.near = float(level.near)

    def casualties(self, count: int) -> tuple[Casualty, ...]:
        # More than half of one category would make the rest guesses.
        self.most_of_one = (count + 1) // 2
        if count < self.sorting.threshold:
            self.options = as_told(living(self.options))
            # Of one alone nothing is asked by a limit.
            self.near = 0.0 if count == 1 else self.near
        always = [each for each in self.call_type.profiles if each.is_always][:count]
        wanted: list[Profile | None] = [*always, *[None] * (count - len(always))]
        return tuple(self._casualty(at, profile) for at, profile in enumerate(wanted, 1))

    def _casualty(self, number: int, profile: Profile | None) -> Casualty:
        option = self._option(profile)
        self.seen.add(option.appearance.seen)
        self.asked[option.category] += 1
        return _met(number, option, self.world, self.sorting, self.near, self.random)

    def _option(self, profile: Profile | None) -> Option:
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
        options: Sequence[Option],
        name: str,
        share: Callable[[Option], float],
    ) -> list[Option]:
        """The options of one name, drawn among the names by their shares."""
        name_of = attrgetter(name)
        named: defaultdict[str, list[Option]] = defaultdict(list)
        for each in options:
            named[name_of(each)].append(each)
        shares = [share(same[-1]) for same in named.values()]
        return drawn(list(named.values()), shares, self.random)


def _without(options: list[Option], name: str, used: Collection[object]) -> list[Option]:
    """The options whose value of a name is not used yet; where all are used, all of them."""
    name_of = attrgetter(name)
    return [each for each in options if name_of(each) not in used] or options


def _weight(option: Option) -> float:
    return option.profile.weight or 1.0


def _share(option: Option) -> float:
    return option.profile.shares[option.band]


def _met(
    number: int,
    option: Option,
    world: CallWorld,
    sorting: Sorting,
    near: float,
    random: Random,
) -> Casualty:
    """Somebody by an option."""
    profile, band = option.profile, world.bands[option.band]
    age = draw_age(band, profile.ages, random)
    whose = Whose(band.size != GROWN, round(age * 12))
    problem = world.problems[profile.problem]
    own = own_breaths(profile.problem, ranges_of(problem, option.state, option.band), whose)
    findings = _found(option, whose, sorting, near, random, own)
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
    option: Option,
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
