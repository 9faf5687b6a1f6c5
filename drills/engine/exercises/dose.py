"""Doses: a rule of the formulary, a weight, and what is aboard to draw from and with.

Grade 1 is one step: the dose of a weight, or the volume of a dose that is fixed. Grade 2 is from
kilograms to the volume. Grade 3 has one of the traps, the first of these that it meets.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from random import Random

from drills.engine.ages import Age
from drills.engine.calls import Patient
from drills.engine.chance import drawn_evenly
from drills.engine.devices import BAG, BAG_FROM_ML, SYRINGES
from drills.engine.dosing import MAXIMUM, MINIMUM, DoseProblem, Problem, Result, Solution
from drills.engine.dosing.containers import OPEN
from drills.engine.dosing.dose import DOSE as THE_DOSE
from drills.engine.dosing.dose import VOLUME
from drills.engine.exercises.exercise import (
    DOSE_UNITS,
    SYRINGES_TOLD,
    UNROUNDED,
    Exercise,
    Told,
    Topic,
)
from drills.engine.exercises.paper import needed, settled
from drills.engine.exercises.people import (
    is_in_pounds,
    is_weight_for,
    told_weight,
    weight_in,
    weight_of,
)
from drills.engine.exercises.stores import Stores
from drills.engine.medicines import Asked, MedicineRule, problem_asked
from drills.engine.quantities import plain, read_quantity
from drills.engine.recipes import DOSE

TOPIC = Topic(DOSE, "dose", DOSE_UNITS)
MANY, MOST, LEAST = "more than one container", "a maximum", "a minimum"
TWO_STRENGTHS, RANGE, POUNDS = "two strengths aboard", "a range", "pounds"
TRAPS = (MANY, MOST, LEAST, TWO_STRENGTHS, RANGE, POUNDS)
# A rule and a person that make nothing are soon known: another rule is drawn instead.
FEW = 40
_DRAWN = "What volume do you draw up?"
_DRAWN_FROM = ("concentration", "syringes", "others")
BAG_MARKS = f"{BAG_FROM_ML} mL and more by the bag's marks, {plain(BAG.marks)} mL apart"
_PIECES = "How many tablets do you give?"
NEBULISED = "nebulised"
_WORDS = {
    VOLUME: "What volume do you give?",
    THE_DOSE: "What dose do you give?",
    OPEN: "How many of what is in your hand do you open for one dose?",
}


def write(grade: int, stores: Stores, random: Random) -> Exercise:
    """A dose of any rule whose medicine is aboard, for the patient or for somebody it is for."""
    rules = rules_aboard(stores)
    needed(rules, TOPIC.name, "no medicine that a rule can be drilled for is carried")
    return settled(TOPIC.name, lambda: _draft(grade, stores, drawn_evenly(rules, random), random))


def of_rule(grade: int, stores: Stores, rule: MedicineRule, random: Random) -> Exercise:
    """A dose of one rule; `CannotApplyError` where it makes none of that grade."""
    if stores.patient is not None:
        weights = _weights_of(grade, rule, stores.patient)
        drafts = (partial(of_weight, grade, stores, rule, each) for each in weights)
        return settled(TOPIC.name, *drafts, tries=1)
    tried: dict[str, Exercise | None] = {}

    def draft() -> Exercise | None:
        # By a weight it comes out the same whoever draws it.
        weight = _weight(grade, stores, rule, random)
        if weight not in tried:
            tried[weight] = of_weight(grade, stores, rule, weight)
        return tried[weight]

    return settled(TOPIC.name, draft, tries=FEW)


def _weights_of(grade: int, rule: MedicineRule, patient: Patient) -> Iterator[str]:
    """What a patient weighs as it may be told: in kg, at grade 3 as it was told before the other
    way; once and empty where the rule asks for none."""
    if not rule.is_by_weight:
        yield ""
    elif grade < 3:
        yield weight_in(patient, pounds=False)
    else:
        own = patient.weight.endswith("lb")
        yield from (weight_in(patient, pounds=each) for each in (own, not own))


def rules_aboard(stores: Stores) -> tuple[MedicineRule, ...]:
    """The rules of a dose that is drawn from what is carried, or counted in tablets."""
    return tuple(rule for rule in stores.rules if is_worked_out(rule) and stores.carries(rule))


def is_worked_out(rule: MedicineRule) -> bool:
    """Whether a rule is of a dose in mL or in tablets."""
    return rule.is_drawn_up or rule.is_of_pieces


def _draft(grade: int, stores: Stores, rule: MedicineRule, random: Random) -> Exercise | None:
    return of_weight(grade, stores, rule, _weight(grade, stores, rule, random))


def of_weight(grade: int, stores: Stores, rule: MedicineRule, weight: str) -> Exercise | None:
    """A dose of one rule for a weight as it is told, empty where the rule asks for none; None where
    it is no exercise of that grade, or more would be drawn than is aboard."""
    exactly = stores.settings.is_exact_pounds
    if weight and not is_weight_for(rule, weight, exactly=exactly):
        return None
    made = (_with_a_trap if grade == 3 else _plain)(grade, stores, rule, weight)
    return made if made is None or _is_enough_aboard(stores, rule, made) else None


def _weight(grade: int, stores: Stores, rule: MedicineRule, random: Random) -> str:
    """A weight as it is told, at grade 3 often in pounds; empty where the rule asks for none."""
    if not rule.is_by_weight:
        return ""
    pounds = grade == 3 and is_in_pounds(stores.patient, random)
    return weight_of(rule, stores.patient, random, pounds=pounds)


def _is_enough_aboard(stores: Stores, rule: MedicineRule, made: Exercise) -> bool:
    """Whether all that may be drawn up is carried: nobody empties syringes that are not there."""
    volume = made.problem.solve().results.get(VOLUME)
    packed = rule.presentation
    if volume is None or packed is None or rule.mixture:
        return True
    most = (volume.high or volume.exact).ratio_to(packed.volume)
    return most <= stores.count(rule)


def _plain(grade: int, stores: Stores, rule: MedicineRule, weight: str) -> Exercise | None:
    """Without any trap; several steps take a weight."""
    if grade > 1 and not rule.is_by_weight:
        return None
    asked = THE_DOSE if grade == 1 and rule.is_by_weight else given_as(rule)
    made = _made(grade, stores, rule, asked_of(stores, rule, weight), asked)
    solution = made.problem.solve()
    is_trap = _limits(solution) or solution.results[asked].is_range
    return None if is_trap else made


def _with_a_trap(grade: int, stores: Stores, rule: MedicineRule, weight: str) -> Exercise | None:
    others = stores.in_other_strengths(rule, rule.presentation) if rule.presentation else ()
    asked = replace(asked_of(stores, rule, weight), others=others)
    made = _made(grade, stores, rule, asked, VOLUME)
    solution = made.problem.solve()
    met = {
        # Whole containers are counted at grade 1 as well: it takes something else to trap.
        MANY: not is_given_whole(rule)
        and _takes_more_than_one(stores, rule, solution.results[VOLUME]),
        MOST: MAXIMUM in _limits(solution),
        LEAST: MINIMUM in _limits(solution),
        TWO_STRENGTHS: bool(others) and not is_given_whole(rule) and are_told_apart(made.problem),
        RANGE: solution.results[VOLUME].is_range,
        POUNDS: weight.endswith("lb"),
    }
    trap = next((each for each in TRAPS if met[each]), "")
    figure = OPEN if trap == MANY else given_as(rule)
    return _made(grade, stores, rule, asked, figure, trap) if trap else None


def is_given_whole(rule: MedicineRule) -> bool:
    """Whether whole containers go into the nebuliser as they come, and nothing is drawn up."""
    packed, figures = rule.presentation, rule.rule
    if packed is None or rule.route.casefold() != NEBULISED or not rule.is_drawn_up:
        return False
    is_of_containers = figures.dose.kind == packed.amount.kind and not rule.mixture
    if not is_of_containers or rule.is_by_weight or figures.dose_high:
        return False
    return packed.volume_of(figures.dose).ratio_to(packed.volume).denominator == 1


def given_as(rule: MedicineRule) -> str:
    """What a dose is measured in: whole containers, else a volume."""
    return OPEN if is_given_whole(rule) else VOLUME


def are_told_apart(problem: Problem) -> bool:
    """Whether every other strength aboard gives a volume that is wrong: ranges may overlap, and
    who takes the wrong one is right all the same then."""
    if not isinstance(problem, DoseProblem):
        return False
    right = problem.solve().results[VOLUME]
    for other in problem.others:
        wrong = replace(problem, presentation=other, others=()).solve().results[VOLUME]
        low, high = wrong.low_amount, wrong.high_amount
        if low <= right.high_amount and high >= right.low_amount:
            return False
    return True


def asked_of(stores: Stores, rule: MedicineRule, weight: str) -> Asked:
    """What there is to draw up with; tablets are drawn with nothing."""
    return Asked(
        weight=weight,
        syringes=() if rule.is_of_pieces else stores.syringes,
        pounds=stores.pounds_of(weight),
        age=Age.of_years(int(stores.patient.age_y)) if stores.patient else None,
    )


def _takes_more_than_one(stores: Stores, rule: MedicineRule, volume: Result) -> bool:
    """Whether it takes more than one of what it is drawn from, and as many are aboard."""
    packed = rule.presentation
    if packed is None or rule.mixture or rule.is_of_pieces or volume.is_range:
        return False
    many = volume.exact.ratio_to(packed.volume)
    return 1 < many <= stores.count(rule)


def _limits(solution: Solution) -> set[str]:
    return {solution.limit, solution.limit_high} - {""}


def _made(
    grade: int, stores: Stores, rule: MedicineRule, asked: Asked, figure: str, trap: str = ""
) -> Exercise:
    is_whole = figure == OPEN and is_given_whole(rule)
    if figure == OPEN:  # what is counted is drawn by no syringe
        asked = replace(asked, syringes=())
    given = problem_asked(rule, asked)
    if figure == OPEN:
        given["kind"] = "containers"
    if is_whole and rule.presentation:
        given["graduation"] = rule.presentation.volume.exactly()
    if figure == THE_DOSE:  # nothing is drawn up
        given = {name: value for name, value in given.items() if name not in _DRAWN_FROM}
        asked = replace(asked, syringes=())
    return TOPIC.exercise(
        grade,
        stores,
        question=_question(rule, figure),
        facts=_facts(rule, asked),
        given=given,
        asked=figure,
        fineness=_fineness(rule, figure),
        rule=rule.printed,
        trap=trap,
        about=rule.medicine,
        medicine=rule,
        weight=asked.weight,
    )


def _fineness(rule: MedicineRule, figure: str) -> str:
    if figure == THE_DOSE:
        return UNROUNDED
    return "To the half tablet: one and a half is 1.5." if rule.is_of_pieces else ""


def _question(rule: MedicineRule, figure: str) -> str:
    if figure != VOLUME:
        return _WORDS[figure]
    return _PIECES if rule.is_of_pieces else _DRAWN if _is_run_in(rule) else _WORDS[VOLUME]


def _facts(rule: MedicineRule, asked: Asked) -> Iterator[Told]:
    if asked.weight:
        yield told_weight(str(read_quantity(asked.weight)), asked.pounds)
    is_ready = rule.mixture and not _is_run_in(rule)
    held = "Mixed, in your hand" if is_ready else "In your hand"
    yield Told(held, f"{rule.medicine} {rule.presentation}", _note(rule))
    if asked.others:
        yield Told("Also aboard", "; ".join(map(str, asked.others)))
    if asked.syringes:
        yield syringes_told(asked.syringes)


def _note(rule: MedicineRule) -> str:
    """How it is mixed, and by which marks it runs in where it comes in a bag."""
    is_bag = rule.presentation is not None and rule.presentation.volume.amount >= BAG_FROM_ML
    mixed = f"from {rule.mixture.how}" if rule.mixture else ""
    if rule.mixture and _is_run_in(rule):
        mixed = f"then run in from {rule.mixture.volume}"
    return "; ".join(filter(None, (mixed, BAG_MARKS if is_bag else "")))


def _is_run_in(rule: MedicineRule) -> bool:
    """Whether what is drawn up runs in from a bag: mixed there, or over minutes that are said."""
    if rule.mixture:
        return rule.presentation != rule.mixture.presentation
    packed = rule.presentation
    return bool(rule.over_min and packed and packed.volume.amount < BAG_FROM_ML)


def syringes_told(sizes: Sequence[int]) -> Told:
    """The syringes aboard with their marks, for where they are not drawn."""
    known = [(size, SYRINGES[size]) for size in sizes if size in SYRINGES]
    words = ", ".join(f"{size} mL by {plain(device.marks)} mL" for size, device in known)
    return Told(SYRINGES_TOLD, words)
