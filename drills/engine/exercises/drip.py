"""Drips: how fast the pump or the drops run, from a bag over a time, or from a dose of a rule."""

import json
from collections.abc import Iterator
from fractions import Fraction
from functools import partial
from random import Random
from typing import Any

from drills.engine.chance import drawn_evenly
from drills.engine.dosing.drip import GTT_PER_MIN, ML_PER_H
from drills.engine.exercises.exercise import Exercise, Told, way_of
from drills.engine.exercises.paper import amount, needed, settled
from drills.engine.exercises.people import kg_of, told_weight, weight_near
from drills.engine.exercises.stores import Stores
from drills.engine.medicines import DRIP, Asked, MedicineRule, problem_asked
from drills.engine.quantities import Quantity
from drills.engine.recipes import DOSE

TOPIC = "drip"
UNITS = ("mL/h", "mL/min", "gtt/min", "mcg/min")
TWO_SETS, POUNDS = "two drip sets aboard", "pounds"
_SOURCE = "nursing and drip hand-outs, none named (from memory)"
_PUMP = "mL/h = volume / hours."
_DROPS = "Drops a minute = mL/h / 60 x drops in a mL, to the whole drop."
_DOSED = "mL/h = dose a minute x 60 / strength."
_HOURS = tuple(map(Fraction, ("0.5", "1", "2", "3", "4", "5", "6", "8", "10")))
_MINUTES = (10, 15, 20, 30, 40, 50, 60, 90, 120, 180, 240)
# What a crew can count, and what a pump is set to. A published chart of drops ends at 240 a minute;
# the rest is common practice, no source.
_RUNS = {GTT_PER_MIN: (5, 240), ML_PER_H: (5, 999)}
# How many steps there are from the one end of a range to the other, for an order: ours.
_PARTS = 10
_GROWN_KG = Fraction(75)


def write(grade: int, stores: Stores, random: Random) -> Exercise:
    """Grade 1 a pump; 2 drops, or the pump for a dose; 3 drops for a dose by weight, two sets."""
    if grade == 1:
        needed(stores.bags, TOPIC, "no bag of fluid is carried")
        return settled(TOPIC, lambda: _as_run(_pump(stores, random)))
    needed(stores.drip_sets, TOPIC, "no drip set is carried that says its drops")
    dosed = _dosed(stores)
    is_dosed = bool(dosed) and random.random() < 0.5
    if not is_dosed:
        needed(stores.bags, TOPIC, "no bag of fluid is carried")
        return settled(TOPIC, lambda: _as_run(_drops(grade, stores, random)))
    return settled(
        TOPIC, lambda: _as_run(_dose(grade, stores, drawn_evenly(dosed, random), random))
    )


def _as_run(made: Exercise) -> Exercise | None:
    """What can be counted or set; nobody runs 4,500 drops a minute."""
    least, most = _RUNS[made.asked]
    return made if least <= made.problem.solve().results[made.asked].low_amount <= most else None


def _dosed(stores: Stores) -> tuple[MedicineRule, ...]:
    """The rules of a dose that runs in, with what it is mixed from aboard."""
    return tuple(
        rule
        for rule in stores.rules
        if rule.topic == DRIP and not rule.is_rate_of_fluid and rule.presentation
        if stores.carries(rule)
    )


def _pump(stores: Stores, random: Random) -> Exercise:
    volume, hours = _volume(stores, random), drawn_evenly(_HOURS, random)
    return _made(
        1,
        stores,
        question="How many mL an hour does the pump run?",
        facts=(Told("To run in", amount(volume, "mL")), Told("Over", amount(hours, "h"))),
        given={"kind": "drip", "volume": amount(volume, "mL"), "over": amount(hours, "h")},
        asked=ML_PER_H,
        rule=_PUMP,
    )


def _drops(grade: int, stores: Stores, random: Random) -> Exercise:
    volume, minutes = _volume(stores, random), drawn_evenly(_MINUTES, random)
    drops, others = _sets(grade, stores, random)
    return _made(
        grade,
        stores,
        question="How many drops a minute?",
        facts=(
            Told("To run in", amount(volume, "mL")),
            Told("Over", amount(minutes, "min")),
            *_set_facts(drops, others),
        ),
        given={
            "kind": "drip",
            "volume": amount(volume, "mL"),
            "over": amount(minutes, "min"),
            **_set_data(drops, others),
        },
        asked=GTT_PER_MIN,
        rule=f"{_PUMP} {_DROPS}",
        trap=TWO_SETS if others else "",
    )


def _dose(grade: int, stores: Stores, rule: MedicineRule, random: Random) -> Exercise:
    """An ordered dose inside the rule: by pump at grade 2, by drops at grade 3."""
    order, weight = _order(rule, random), _weight(stores, rule, random, pounds=grade == 3)
    pounds = stores.pounds_of(weight)
    given = problem_asked(rule, Asked(weight=weight, pounds=pounds))
    given |= {"dose_rate": order.exactly(), "high": None}
    facts = [
        Told("Ordered", f"{rule.medicine} {order}", rule.indication),
        *([told_weight(weight, pounds)] if weight else []),
        Told("Bag", rule.mixture.how if rule.mixture else str(rule.presentation)),
    ]
    made = partial(_made, grade, stores, medicine=rule, weight=weight)
    if grade == 2:
        return made(
            question="How many mL an hour does the pump run?",
            facts=tuple(facts),
            given=given,
            asked=ML_PER_H,
            rule=f"{rule.printed}. {_DOSED}",
        )
    drops, others = _sets(grade, stores, random)
    return made(
        question="How many drops a minute?",
        facts=(*facts, *_set_facts(drops, others)),
        given=given | _set_data(drops, others),
        asked=GTT_PER_MIN,
        rule=f"{rule.printed}. {_DOSED} {_DROPS}",
        trap=_trap(weight, others),
    )


def _weight(stores: Stores, rule: MedicineRule, random: Random, *, pounds: bool) -> str:
    if not rule.is_by_weight:
        return ""
    near = kg_of(stores.patient) if stores.patient else _GROWN_KG
    return weight_near(near, random, pounds=pounds)


def _trap(weight: str, others: tuple[Fraction, ...]) -> str:
    return POUNDS if weight else TWO_SETS if others else ""


def _order(rule: MedicineRule, random: Random) -> Quantity:
    """A dose inside the range of a rule, some tenths of the way."""
    low, high = rule.rule.dose, rule.rule.dose_high or rule.rule.dose
    part = Fraction(int(random.random() * (_PARTS + 1)), _PARTS)
    return Quantity(low.amount + (high.to(low.unit).amount - low.amount) * part, low.unit)


def _volume(stores: Stores, random: Random) -> Fraction:
    """A whole bag, or so many fifties of mL of the greatest."""
    most = max(stores.bags)
    return drawn_evenly(
        (*stores.bags, *(Fraction(50 * n) for n in range(1, int(most // 50)))), random
    )


def _sets(grade: int, stores: Stores, random: Random) -> tuple[Fraction, tuple[Fraction, ...]]:
    """The set that is used, and at grade 3 the others that are aboard."""
    drops = drawn_evenly(stores.drip_sets, random)
    others = tuple(each for each in stores.drip_sets if each != drops)
    return drops, others if grade == 3 else ()


def _set_data(drops: Fraction, others: tuple[Fraction, ...]) -> dict[str, Any]:
    data: dict[str, Any] = {"set": amount(drops, "gtt/mL")}
    return data | ({"other_sets": [amount(each, "gtt/mL") for each in others]} if others else {})


def _set_facts(drops: Fraction, others: tuple[Fraction, ...]) -> Iterator[Told]:
    aboard = ", ".join(amount(each, "gtt/mL") for each in others)
    yield Told(
        "Drip set in your hand", amount(drops, "gtt/mL"), f"also aboard: {aboard}" if aboard else ""
    )


def _made(
    grade: int,
    stores: Stores,
    *,
    question: str,
    facts: tuple[Told, ...],
    given: dict[str, Any],
    asked: str,
    rule: str,
    trap: str = "",
    medicine: MedicineRule | None = None,
    weight: str = "",
) -> Exercise:
    about = f"{medicine.source}, {medicine.version} ({medicine.status}); " if medicine else ""
    name = f"{medicine.medicine} {TOPIC}" if medicine else TOPIC
    return Exercise(
        kind=DOSE,
        topic=TOPIC,
        grade=grade,
        question=question,
        facts=facts,
        given=json.dumps(given),
        asked=asked,
        units=UNITS,
        rule=rule,
        source=f"{about}{_SOURCE}",
        notice=medicine.notice if medicine else "",
        subject=f"{name}, {way_of(is_rule_shown=stores.is_rule_shown)}",
        trap=trap,
        is_rule_shown=stores.is_rule_shown,
        medicine=medicine,
        weight=weight,
    )
