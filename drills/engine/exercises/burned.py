"""Who is burned, where, by what and since when: the patient of a call, who is the same in every
question, else somebody drawn for this one."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from random import Random
from typing import Any

from drills.engine.ages import Age
from drills.engine.burns import (
    AGE_CHART,
    ELECTRICAL,
    RULE_OF_NINES,
    THERMAL,
    burn_formula,
    burned_area,
    regions,
)
from drills.engine.chance import drawn_evenly
from drills.engine.exercises.people import (
    age_drawn,
    age_of,
    is_for,
    told_age,
    weight_for,
    weight_in,
)
from drills.engine.exercises.stores import Stores
from drills.engine.medicines import BURN, MedicineRule
from drills.engine.quantities import kilograms, plain, read_quantity

# RCEMLearning, Major trauma: burns, fluids, as read: fluid is needed over 15 % of a grown person
# and over 10 % of a child, who is here 14 years and under.
CHILD_BELOW_Y, OVER_OF_A_CHILD, OVER_OF_A_GROWN = 15, 10, 15
# Below that nobody climbs where high-voltage current is: ours, no source.
CURRENT_FROM_Y = 6
_LARGEST = 50
_YEARS = (*range(1, 14), 25, 35, 45, 60)


@dataclass(frozen=True, slots=True)
class Burned:
    """Who is burned, by what, and the approved rule for it, where there is one.

    `who` is how the person is told. `pounds` is how those of the weight are taken, where not by the
    usual way.
    """

    age: Age
    who: str
    weight: str
    kind: str
    pounds: str
    rule: MedicineRule | None

    @property
    def per(self) -> str:
        """The formula of the fluid."""
        if self.rule:
            return self.rule.rule.dose.exactly()
        kg = kilograms(read_quantity(self.weight), exactly=bool(self.pounds)).amount
        return f"{plain(burn_formula(self.kind, self.age, kg).low)} mL/kg/%"

    @property
    def fluid(self) -> dict[str, Any]:
        """What the fluid is worked out from, all but the area."""
        return {"kind": "burn", "weight": self.weight, "per": self.per} | (
            {"pounds": self.pounds} if self.pounds else {}
        )

    @property
    def needs_over(self) -> int:
        """Over how many percent fluid is given."""
        return OVER_OF_A_CHILD if self.age.years < CHILD_BELOW_Y else OVER_OF_A_GROWN

    def is_given_fluid(self, area: Fraction) -> bool:
        """Whether fluid is asked for so many percent: enough of them, and half of the body at
        most."""
        return self.needs_over < area <= _LARGEST


@dataclass(frozen=True, slots=True)
class Regions:
    """What is burned, whole, by a chart."""

    chart: str
    named: tuple[str, ...]

    def area(self, age: Age) -> Fraction:
        """In percent of the body."""
        return burned_area(self.chart, age, dict.fromkeys(self.named, Fraction(1)))


def who_is_burned(stores: Stores, random: Random, *, pounds: bool) -> Burned | None:
    """The patient, else somebody; None where there are approved rules for burns and not just one
    fits."""
    one = stores.patient
    if one is not None:
        rules = stores.rules_of(BURN)
        is_ruled = any(each.topic == BURN for each in stores.rules)
        kind = kind_of(rules[0]) if rules else THERMAL
        weight = weight_in(one, pounds=pounds)
        return _burned(stores, age_of(one), one.who, weight, kind, rules, is_ruled=is_ruled)
    kind = drawn_evenly((THERMAL, THERMAL, ELECTRICAL), random)
    age = age_drawn(random, _YEARS)
    kind = kind if age.years >= CURRENT_FROM_Y else THERMAL
    weight = weight_for(age, random, pounds=pounds)
    rules = tuple(each for each in stores.rules if each.topic == BURN and kind_of(each) == kind)
    return _burned(stores, age, person(age), weight, kind, rules, is_ruled=bool(rules))


def _burned(
    stores: Stores,
    age: Age,
    who: str,
    weight: str,
    kind: str,
    rules: Sequence[MedicineRule],
    *,
    is_ruled: bool,
) -> Burned | None:
    exactly = stores.settings.is_exact_pounds
    own = [rule for rule in rules if is_for(rule, age, weight, exactly=exactly)]
    if is_ruled and len(own) != 1:
        return None
    return Burned(age, who, weight, kind, stores.pounds_of(weight), own[0] if own else None)


def kind_of(rule: MedicineRule) -> str:
    """What a rule for burns is for: those of current where its indication says so."""
    return ELECTRICAL if "electric" in rule.indication.lower() else THERMAL


def age_told(stores: Stores, random: Random) -> tuple[Age, str]:
    """The age of the patient, else of somebody, and how that person is told."""
    if stores.patient is not None:
        return age_of(stores.patient), stores.patient.who
    age = age_drawn(random, _YEARS)
    return age, person(age)


def person(age: Age) -> str:
    """Somebody by the age alone."""
    return f"{told_age(age)} {'child' if age.years < CHILD_BELOW_Y else 'person'}"


def area_told(stores: Stores, who: Burned, random: Random) -> Fraction | None:
    """Percents that are given fluid for: those of the patient by the rule of nines, None where
    nobody wrote what is burned or it is not given fluid for; else in fives."""
    if stores.patient is None:
        return Fraction(drawn_evenly(range(who.needs_over + 5, _LARGEST + 1, 5), random))
    if not stores.patient.burned:
        return None
    area = Regions(RULE_OF_NINES, stores.patient.burned).area(who.age)
    return area if who.is_given_fluid(area) else None


def regions_told(
    stores: Stores, age: Age, random: Random, count: Callable[[], int]
) -> Regions | None:
    """What is burned of the patient, None where nobody wrote it; else some regions of a chart, in
    its own order."""
    if stores.patient is not None:
        named = stores.patient.burned
        return Regions(RULE_OF_NINES, named) if named else None
    chart = drawn_evenly((RULE_OF_NINES, AGE_CHART), random)
    there = list(regions(chart, age))
    chosen = {drawn_evenly(there, random) for _ in range(count())}
    return Regions(chart, tuple(each for each in there if each in chosen))


def hours_told(stores: Stores, random: Random, among: Sequence[int]) -> int | None:
    """The hours since the injury: those of the call, None where they are not among these; else one
    of these."""
    if stores.call is None or stores.patient is None:
        return drawn_evenly(among, random)
    return stores.call.burned_h if stores.call.burned_h in among else None
