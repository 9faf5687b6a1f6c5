"""Dilutions: how strong a label or a mixture is, and what is mixed as the rules say it is mixed."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from functools import partial
from random import Random
from typing import Any

from drills.engine.chance import drawn_evenly
from drills.engine.concentrations import Presentation
from drills.engine.devices import BAG_FROM_ML
from drills.engine.dosing.dilution import CONCENTRATION
from drills.engine.dosing.dose import AMOUNT, VOLUME
from drills.engine.exercises.dose import BAG_MARKS, POUNDS, asked_of, rules_aboard, syringes_told
from drills.engine.exercises.drip import in_range, order_told
from drills.engine.exercises.exercise import UNROUNDED, Exercise, Told, Topic
from drills.engine.exercises.paper import needed, settled
from drills.engine.exercises.people import is_weight_for, told_weight, weight_of
from drills.engine.exercises.stores import Stores
from drills.engine.medicines import DOSE as BY_DOSE
from drills.engine.medicines import MedicineRule, plain_data, problem_asked
from drills.engine.mixtures import Mixture
from drills.engine.quantities import Quantity, half_up, kilograms, read_quantity
from drills.engine.recipes import DOSE

UNITS = ("mL", "mg/mL", "mcg/mL", "units/mL", "mEq/mL", "g", "mg", "mcg")
TOPIC = Topic(DOSE, "dilution", UNITS)
TWO_STRENGTHS, OTHER_BAG = "two strengths aboard", "another bag than the rule's"
_STRENGTH = "Strength = amount / volume"
_MIXED = (
    "Strength = amount / volume of the whole mixture; “in 100 mL” is 100 mL in all, and a powder "
    "takes up no room"
)
_HOLDS, _HELD = "mL = dose / strength", "Amount = mL x strength"
# Else nobody would take another: the rule's own strength is aboard.
_USED_UP = "all of the rule's own strength is used up, made up for practice"
_BY_LABEL = "the label, as the formulary has it; arithmetic (ours, no source)"
_TENTHS = 10

_Mixed = tuple[MedicineRule, Mixture]
_Label = tuple[MedicineRule, Presentation]
_Draft = Callable[[], Exercise | None]


def write(grade: int, stores: Stores, random: Random) -> Exercise:
    """Grade 1 a strength; 2 what holds a dose, or what has run in; 3 mixed from another strength,
    or in another volume."""
    mixed = [(rule, rule.mixture) for rule in stores.rules if rule.mixture and stores.carries(rule)]
    if grade == 1:
        labels = [(rule, packed) for rule in rules_aboard(stores) if (packed := _label(rule))]
        needed([*mixed, *labels], TOPIC.name, "nothing is carried that has a strength")
        return settled(TOPIC.name, lambda: _strength(stores, mixed, labels, random))
    needed(mixed, TOPIC.name, "nothing is carried that a rule says is mixed first")
    if grade == 2:
        return settled(
            TOPIC.name, lambda: _of_mixture(stores, *drawn_evenly(mixed, random), random)
        )
    drafts = [each for one in mixed for each in _with_a_trap(stores, *one, random)]
    lacking = (
        "no medicine that is mixed is carried in two strengths, or can be mixed in another bag"
    )
    needed(drafts, TOPIC.name, lacking)
    return settled(TOPIC.name, lambda: drawn_evenly(drafts, random)())


def _own(rule: MedicineRule) -> Presentation | None:
    """What a rule is mixed from; None of a powder."""
    return next((each.presentation for each in rule.comes_as if each.presentation), None)


def _label(rule: MedicineRule) -> Presentation | None:
    """What is drawn up as it comes."""
    return rule.presentation if rule.is_drawn_up and not rule.mixture else None


def _strength(
    stores: Stores, mixed: list[_Mixed], labels: list[_Label], random: Random
) -> Exercise:
    """Of a mixture, or of what a label says."""
    if mixed and (not labels or random.random() < 0.5):
        return _strength_of_mixture(stores, *drawn_evenly(mixed, random))
    rule, packed = drawn_evenly(labels, random)
    made = TOPIC.exercise(
        1,
        stores,
        question="How much is in each mL?",
        facts=(Told("In your hand", f"{rule.medicine} {packed}"),),
        given={
            "kind": "mixing",
            "amount": _milli(packed.amount).exactly(),
            "in": packed.volume.exactly(),
        },
        asked=CONCENTRATION,
        fineness=UNROUNDED,
        rule=_STRENGTH,
        medicine=rule,
    )
    return replace(made, source=_BY_LABEL)  # what a rule orders says nothing of a label


def _strength_of_mixture(stores: Stores, rule: MedicineRule, mixture: Mixture) -> Exercise:
    own = _own(rule)
    given: dict[str, Any] = {"kind": "mixing", "amount": mixture.amount.exactly()}
    given |= {"in": mixture.volume.exactly()}
    if own and "+" in mixture.how:
        taken = own.volume_of(mixture.amount)
        given = {"kind": "dilution", "concentration": plain_data(own)}
        given |= {"volume": taken.exactly(), "to": mixture.volume.exactly()}
    return TOPIC.exercise(
        1,
        stores,
        question="How strong is the mixture?",
        facts=(Told("Mixed", mixture.how, rule.medicine),),
        given=given,
        asked=CONCENTRATION,
        fineness=UNROUNDED,
        rule=_MIXED,
        medicine=rule,
    )


def _is_drawn_up(rule: MedicineRule, mixture: Mixture) -> bool:
    """Whether doses are drawn up from the mixture, which else runs in."""
    return rule.topic == BY_DOSE and rule.presentation == mixture.presentation


def _of_mixture(stores: Stores, rule: MedicineRule, mixture: Mixture, random: Random) -> Exercise:
    """What holds a dose of the rule where the mixture is drawn up; of what runs in how much has."""
    made = partial(TOPIC.exercise, 2, stores, medicine=rule)
    mixed = _mixed(rule, mixture)
    concentration = plain_data(mixture.presentation)
    if not _is_drawn_up(rule, mixture):
        part = Fraction(1 + int(random.random() * (_TENTHS - 1)), _TENTHS)
        run_in = mixture.volume.times(part)
        return made(
            question="How much of the medicine has run in?",
            facts=(mixed, Told("Has run in", str(run_in))),
            given={"kind": "dose", "fixed": run_in.exactly(), "concentration": concentration},
            asked=AMOUNT,
            fineness=UNROUNDED,
            rule=f"{_MIXED}. {_HELD}",
        )
    dose = _order(rule, random)
    order = _short(dose)
    return made(
        question="How many mL of the mixture hold that?",
        facts=(mixed, order_told(rule, dose, str(order)), syringes_told(stores.syringes)),
        given={
            "kind": "dose",
            "fixed": order.exactly(),
            "concentration": concentration,
            "syringes": list(stores.syringes),
            **_undiluted(rule),
        },
        asked=VOLUME,
        rule=f"{rule.printed}. {_MIXED}. {_HOLDS}",
        is_dose=True,
    )


def _undiluted(rule: MedicineRule) -> dict[str, Any]:
    """What it was mixed from: it lies there to be taken for the mixture."""
    own = _own(rule)
    return {"others": [plain_data(own)]} if own else {}


def _order(rule: MedicineRule, random: Random) -> Quantity:
    """A dose that the rule may order, within its limits."""
    ordered = replace(rule.rule, dose=in_range(rule, random), dose_high=None)
    if not rule.is_by_weight:
        return ordered.for_weight(None).low
    weight = weight_of(rule, None, random, pounds=False)
    kg = kilograms(read_quantity(weight))
    dose = ordered.for_weight(kg).low
    said = Quantity(half_up(dose.amount, _as_said(dose.amount)), dose.unit)
    is_within = replace(ordered, dose=said).for_weight(None).low == said and said.amount
    return said if is_within else dose


def _as_said(amount: Fraction) -> Fraction:
    """What orders are apart: whole ones from ten on, halves from one on, else tenths (ours)."""
    return Fraction(1) if amount >= 10 else Fraction(1, 2) if amount >= 1 else Fraction(1, 10)


def _with_a_trap(
    stores: Stores, rule: MedicineRule, mixture: Mixture, random: Random
) -> Iterator[_Draft]:
    """A dose of the mixture for pounds, and each way to make a mixture that is not the rule's own:
    of another strength that is aboard, and what runs in by the minute, in another bag."""
    if rule.is_by_weight and _is_drawn_up(rule, mixture):
        yield partial(_for_pounds, stores, rule, mixture, random)
    own = _own(rule)
    if own is None or _is_ready(stores, rule, mixture, own):
        return
    for other in stores.in_other_strengths(rule, own):
        yield partial(_from_other, stores, rule, mixture, other)
    bags = () if rule.topic == BY_DOSE else _other_bags(stores, mixture)
    for volume in bags:
        scaled = replace(mixture, amount=mixture.presentation.amount_in(volume), volume=volume)
        yield partial(_in_other_bag, stores, rule, mixture, scaled, own)


def _is_ready(stores: Stores, rule: MedicineRule, mixture: Mixture, own: Presentation) -> bool:
    """Whether what a mixture comes to is carried as such, so that nobody mixes it."""
    strength = mixture.presentation.strength
    others = stores.in_other_strengths(rule, own)
    return any(each.strength.ratio_to(strength) == 1 for each in others)


def _other_bags(stores: Stores, mixture: Mixture) -> tuple[Quantity, ...]:
    """The volumes of the bags aboard that a mixture in a bag is not made in."""
    if mixture.volume.amount < BAG_FROM_ML:
        return ()
    volumes = (Quantity(bag, "mL") for bag in stores.bags if bag >= BAG_FROM_ML)
    return tuple(volume for volume in volumes if volume.ratio_to(mixture.volume) != 1)


def _for_pounds(
    stores: Stores, rule: MedicineRule, mixture: Mixture, random: Random
) -> Exercise | None:
    weight = weight_of(rule, None, random, pounds=True)
    if not is_weight_for(rule, weight, exactly=stores.settings.is_exact_pounds):
        return None
    return TOPIC.exercise(
        3,
        stores,
        question="How many mL of the mixture do you give?",
        facts=(
            told_weight(weight, stores.pounds_of(weight)),
            _mixed(rule, mixture),
            syringes_told(stores.syringes),
        ),
        given={**problem_asked(rule, asked_of(stores, rule, weight)), **_undiluted(rule)},
        asked=VOLUME,
        rule=f"{rule.printed}. {_MIXED}. {_HOLDS}",
        trap=POUNDS,
        medicine=rule,
        weight=weight,
    )


def _from_other(
    stores: Stores, rule: MedicineRule, mixture: Mixture, other: Presentation
) -> Exercise | None:
    """Where as much of the other strength is carried as the mixture takes."""
    facts = (
        Told("To be mixed", _told(mixture), rule.medicine),
        Told("In your hand", str(other), _USED_UP),
    )
    made = _to_add(stores, rule, mixture, other, facts, TWO_STRENGTHS)
    return made if _needs(made, other) <= stores.count_of(rule, other) else None


def _needs(made: Exercise, of: Presentation) -> Fraction:
    """How many containers go into a mixture, in parts of one."""
    return made.problem.solve().results[VOLUME].exact.ratio_to(of.volume)


def _in_other_bag(
    stores: Stores, rule: MedicineRule, mixture: Mixture, scaled: Mixture, of: Presentation
) -> Exercise | None:
    """Where as much is carried as the other bag takes."""
    facts = (
        Told("To be mixed", _told(scaled), f"{rule.medicine}, as strong as {_told(mixture)}"),
        Told("In your hand", str(of)),
    )
    made = _to_add(stores, rule, scaled, of, facts, OTHER_BAG)
    return made if _needs(made, of) <= stores.count(rule) else None


def _to_add(
    stores: Stores,
    rule: MedicineRule,
    mixture: Mixture,
    of: Presentation,
    facts: tuple[Told, ...],
    trap: str,
) -> Exercise:
    """Where doses are drawn up from the mixture it holds many; a rate has its limits by time; else
    the whole of it is the dose."""
    is_dose = rule.topic == BY_DOSE and not _is_drawn_up(rule, mixture)
    return TOPIC.exercise(
        3,
        stores,
        question="How much of what you hold goes into the mixture?",
        facts=(*facts, syringes_told(stores.syringes)),
        given={
            "kind": "dose",
            "fixed": _short(mixture.amount).exactly(),
            "concentration": plain_data(of),
            "syringes": list(stores.syringes),
        },
        asked=VOLUME,
        rule=f"{rule.printed}. {_HOLDS}" if is_dose else _HOLDS,
        trap=trap,
        medicine=rule,
        is_dose=is_dose,
    )


def _told(mixture: Mixture) -> str:
    return f"{_short(mixture.amount)} in {mixture.volume}"


def _mixed(rule: MedicineRule, mixture: Mixture) -> Told:
    """How it is mixed, and the marks it is measured by where it fills a bag."""
    marks = BAG_MARKS if mixture.volume.amount >= BAG_FROM_ML else ""
    return Told("Mixed", mixture.how, "; ".join(filter(None, (rule.medicine, marks))))


def _milli(amount: Quantity) -> Quantity:
    """Grams as milligrams, which the strength of what is drawn up is told in."""
    return amount.to("mg") if amount.unit == "g" else amount


def _short(quantity: Quantity) -> Quantity:
    """A thousand micrograms and more as milligrams, and less than one mg as micrograms."""
    if quantity.unit == "mcg" and quantity.amount >= 1000:
        return quantity.to("mg")
    return quantity.to("mcg") if quantity.unit == "mg" and quantity.amount < 1 else quantity
