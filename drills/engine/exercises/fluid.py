"""Fluid: a bolus by weight from a rule, and how long a bag lasts."""

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from functools import partial
from random import Random
from typing import Any

from drills.engine.chance import drawn_evenly, mixed
from drills.engine.dosing.dose import DOSE
from drills.engine.dosing.drip import MINUTES
from drills.engine.exercises.exercise import Exercise, Told, Topic
from drills.engine.exercises.oxygen import WHOLE_MINUTES, lasting
from drills.engine.exercises.paper import amount, needed, settled
from drills.engine.exercises.people import is_weight_for, told_weight, weight_of
from drills.engine.exercises.stores import Stores
from drills.engine.medicines import FLUID, Asked, MedicineRule, problem_asked
from drills.engine.recipes import SUPPLY

TOPIC = Topic(SUPPLY, "fluid", ("mL", "L", "mL/h", "min", "h"))
CAP, TWO_SETS = "a maximum", "two drip sets aboard"
_SOURCE = "common practice, no source"
_LASTS = "Time = volume / rate, in minutes, rounded down."
_BY_DROPS = "mL a minute = drops a minute / drops in a mL."
_RATES = tuple(map(Fraction, (30, 60, 75, 100, 120, 125, 150, 180, 200, 240, 250, 300, 500, 600)))
_DROPS = tuple(range(10, 121, 5))


def write(grade: int, stores: Stores, random: Random) -> Exercise:
    """A bolus by weight where a rule has one, or the life of a bag."""
    return settled(TOPIC.name, *_sorts(grade, stores, random))


def _sorts(grade: int, stores: Stores, random: Random) -> Iterator[Callable[[], Exercise | None]]:
    """A bolus half of the time, and the life of a bag where that makes none."""
    rules = _ruled(stores)
    can_last = bool(stores.bags) and (grade == 1 or bool(stores.drip_sets))
    if rules and (not can_last or random.random() < 0.5):
        yield from _boluses(grade, stores, rules, random)
        if not can_last:
            return
    _need_what_lasts(grade, stores)
    yield lambda: lasting(_lasts(grade, stores, random))


def _ruled(stores: Stores) -> list[MedicineRule]:
    return [r for r in stores.rules_of(FLUID) if r.is_by_weight and stores.carries(r)]


def _need_what_lasts(grade: int, stores: Stores) -> None:
    needed(stores.bags, TOPIC.name, "no bag of fluid is carried")
    if grade > 1:
        needed(stores.drip_sets, TOPIC.name, "no drip set is carried that says its drops")


def _boluses(
    grade: int, stores: Stores, rules: Sequence[MedicineRule], random: Random
) -> Iterator[Callable[[], Exercise | None]]:
    """Kilograms at grade 1, pounds above, and at grade 3 one that meets the maximum; of a patient
    the one that a rule makes, by each of the rules."""
    if stores.patient is None:
        yield lambda: _bolus(grade, stores, drawn_evenly(rules, random), random)
        return
    made = [_bolus(grade, stores, rule, random) for rule in mixed(rules, random)]
    yield from (partial(_same, each) for each in made if each is not None)


def _same(made: Exercise) -> Exercise:
    return made


def _bolus(grade: int, stores: Stores, rule: MedicineRule, random: Random) -> Exercise | None:
    weight = weight_of(rule, stores.patient, random, pounds=grade > 1)
    return _of_weight(grade, stores, rule, weight)


def _of_weight(grade: int, stores: Stores, rule: MedicineRule, weight: str) -> Exercise | None:
    if not is_weight_for(rule, weight, exactly=stores.settings.is_exact_pounds):
        return None
    made = TOPIC.exercise(
        grade,
        stores,
        question="How much fluid is the bolus?",
        facts=(
            told_weight(weight, stores.pounds_of(weight)),
            Told("In your hand", rule.medicine, rule.indication),
        ),
        given=problem_asked(
            rule,
            Asked(weight=weight, pounds=stores.pounds_of(weight)),
        ),
        asked=DOSE,
        fineness="Whole mL.",
        rule=rule.printed,
        trap=CAP if grade == 3 else "",
        medicine=rule,
        weight=weight,
    )
    return made if bool(made.problem.solve().limit) == (grade == 3) else None


def _lasts(grade: int, stores: Stores, random: Random) -> Exercise:
    """By the pump at grade 1; by drops above, at grade 3 with another set aboard."""
    bag = drawn_evenly(_volumes(stores, grade), random)
    given: dict[str, Any] = {"kind": "drip", "bag": amount(bag, "mL")}
    facts = [Told("Left in the bag", amount(bag, "mL"))]
    others: tuple[Fraction, ...] = ()
    if grade == 1:
        given["rate"] = amount(drawn_evenly(_RATES, random), "mL/h")
        facts.append(Told("The pump runs", given["rate"]))
    else:
        drops = drawn_evenly(stores.drip_sets, random)
        others = tuple(each for each in stores.drip_sets if each != drops) if grade == 3 else ()
        given["rate"] = amount(drawn_evenly(_DROPS, random), "gtt/min")
        given["set"] = amount(drops, "gtt/mL")
        also = ", ".join(amount(each, "gtt/mL") for each in others)
        facts.append(Told("It drips", given["rate"]))
        facts.append(Told("Drip set", given["set"], f"also aboard: {also}" if also else ""))
    return TOPIC.exercise(
        grade,
        stores,
        question="How many minutes does it last?",
        facts=facts,
        given=given,
        asked=MINUTES,
        fineness=WHOLE_MINUTES,
        rule=_LASTS if grade == 1 else f"{_BY_DROPS} {_LASTS}",
        source=_SOURCE,
        trap=TWO_SETS if others else "",
    )


def _volumes(stores: Stores, grade: int) -> tuple[Fraction, ...]:
    """The bags aboard; above grade 1 also what is left of one, in hundreds of mL."""
    left = tuple(Fraction(100 * n) for n in range(1, int(max(stores.bags) // 100)))
    return stores.bags if grade == 1 else (*stores.bags, *left)
