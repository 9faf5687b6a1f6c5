"""Dilutions: what is mixed aboard before it is given, as the rules say it is mixed."""

import json
from fractions import Fraction
from random import Random
from typing import Any

from drills.engine.chance import drawn_evenly
from drills.engine.concentrations import Presentation
from drills.engine.dosing.dilution import CONCENTRATION
from drills.engine.dosing.dose import VOLUME
from drills.engine.exercises.exercise import Exercise, Told, way_of
from drills.engine.exercises.paper import needed, settled
from drills.engine.exercises.stores import Stores
from drills.engine.medicines import MedicineRule, plain_data
from drills.engine.mixtures import Mixture
from drills.engine.quantities import Quantity
from drills.engine.recipes import DOSE

TOPIC = "dilution"
UNITS = ("mL", "mg/mL", "mcg/mL", "units/mL", "mEq/mL", "mg", "mcg")
TWO_STRENGTHS = "two strengths aboard"
_MIXED = "Strength = amount / the volume that the mixture is told in"
_HOLDS = "mL = dose / strength"
_TENTHS = 10


def write(grade: int, stores: Stores, random: Random) -> Exercise:
    """Grade 1 the strength; 2 what volume of it holds a dose; 3 mixed from another strength."""
    mixed = [(rule, rule.mixture) for rule in stores.rules if rule.mixture and stores.carries(rule)]
    needed(mixed, TOPIC, "nothing is carried that a rule says is mixed first")
    if grade < 3:
        draft = _strength if grade == 1 else _volume
        return settled(TOPIC, lambda: draft(stores, *drawn_evenly(mixed, random), random))
    others = [(rule, mixture, other) for rule, mixture in mixed for other in _others(stores, rule)]
    needed(others, TOPIC, "no medicine that is mixed is carried in two strengths")
    return settled(TOPIC, lambda: _from_other(stores, *drawn_evenly(others, random)))


def _others(stores: Stores, rule: MedicineRule) -> tuple[Presentation, ...]:
    """What is aboard of the medicine in a strength that the rule is not mixed from."""
    own = next((each.presentation for each in rule.comes_as if each.presentation), None)
    return stores.in_other_strengths(rule, own) if own else ()


def _strength(stores: Stores, rule: MedicineRule, mixture: Mixture, _random: Random) -> Exercise:
    own = next((each.presentation for each in rule.comes_as if each.presentation), None)
    given: dict[str, Any] = {
        "kind": "mixing",
        "amount": mixture.amount.exactly(),
        "in": mixture.volume.exactly(),
    }
    if own and "+" in mixture.how:
        taken = own.volume_of(mixture.amount)
        given = {"kind": "dilution", "concentration": plain_data(own)}
        given |= {"volume": taken.exactly(), "to": mixture.volume.exactly()}
    return _made(
        1,
        stores,
        rule,
        question="How strong is the mixture?",
        facts=(Told("Mixed", mixture.how, rule.medicine),),
        given=given,
        asked=CONCENTRATION,
        formula=_MIXED,
    )


def _volume(stores: Stores, rule: MedicineRule, mixture: Mixture, random: Random) -> Exercise:
    """Some tenths of what is mixed, as an order."""
    part = Fraction(1 + int(random.random() * (_TENTHS - 1)), _TENTHS)
    order = mixture.amount.times(part)
    small = order.to("mcg") if order.unit == "mg" and order.amount < 1 else order
    return _made(
        2,
        stores,
        rule,
        question="How many mL of the mixture hold that?",
        facts=(Told("Mixed", mixture.how, rule.medicine), Told("Ordered", str(small))),
        given={
            "kind": "dose",
            "fixed": small.exactly(),
            "concentration": plain_data(mixture.presentation),
        },
        asked=VOLUME,
        formula=f"{_MIXED}; {_HOLDS}",
    )


def _from_other(
    stores: Stores, rule: MedicineRule, mixture: Mixture, other: Presentation
) -> Exercise:
    return _made(
        3,
        stores,
        rule,
        question="How much of what is in your hand makes the same mixture?",
        facts=(
            Told("To be mixed", f"{_short(mixture.amount)} in {mixture.volume}", rule.medicine),
            Told("In your hand", str(other), "not the strength of the rule"),
        ),
        given={
            "kind": "dose",
            "fixed": _short(mixture.amount).exactly(),
            "concentration": plain_data(other),
        },
        asked=VOLUME,
        formula=_HOLDS,
        trap=TWO_STRENGTHS,
    )


def _short(quantity: Quantity) -> Quantity:
    """A thousand micrograms and more as milligrams."""
    is_long = quantity.unit == "mcg" and quantity.amount >= 1000
    return quantity.to("mg") if is_long else quantity


def _made(
    grade: int,
    stores: Stores,
    rule: MedicineRule,
    *,
    question: str,
    facts: tuple[Told, ...],
    given: dict[str, Any],
    asked: str,
    formula: str,
    trap: str = "",
) -> Exercise:
    return Exercise(
        kind=DOSE,
        topic=TOPIC,
        grade=grade,
        question=question,
        facts=facts,
        given=json.dumps(given),
        asked=asked,
        units=UNITS,
        rule=f"{formula}.",
        source=f"{rule.source}, {rule.version} ({rule.status})",
        notice=rule.notice,
        subject=f"{TOPIC}, {way_of(is_rule_shown=stores.is_rule_shown)}",
        trap=trap,
        is_rule_shown=stores.is_rule_shown,
        medicine=rule,
    )
