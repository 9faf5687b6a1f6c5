"""Drips: how fast the pump or the drops run, from a bag over a time, or from a dose of a rule."""

from collections.abc import Callable, Iterator
from fractions import Fraction
from functools import lru_cache, partial
from itertools import product
from random import Random
from typing import Any

from drills.engine.chance import drawn_evenly, drawn_out
from drills.engine.concentrations import Presentation
from drills.engine.dosing.drip import GTT_PER_MIN, ML_PER_H
from drills.engine.dosing.reading import read_solved
from drills.engine.exercises.exercise import MADE_UP, MADE_UP_INSIDE, Exercise, Told, Topic
from drills.engine.exercises.paper import amount, is_done, needed, none_on_paper
from drills.engine.exercises.people import told_weight, weight_in, weights_near
from drills.engine.exercises.stores import Stores
from drills.engine.medicines import DRIP, Asked, MedicineRule, problem_asked
from drills.engine.quantities import Quantity
from drills.engine.recipes import DOSE

TOPIC = Topic(DOSE, "drip", ("mL/h", "mL/min", "gtt/min", "mcg/min"))
TWO_SETS, POUNDS = "two drip sets aboard", "pounds"
_SOURCE = "common practice, no source"
_PUMP = "mL/h = volume / hours."
_DROPS = "Drops a minute = mL a minute x drops in a mL."
_A_MINUTE = "mL a minute = mL/h / 60."
_DOSED = "mL/h = dose a minute x 60 / strength."
_IN_PUMP, _BY_DROPS = "At how many mL an hour do you set the pump?", "How many drops a minute?"
# A pump is set to whole mL/h from 10 on and to tenths below: common practice, no source.
DIALS = ((Fraction(10), "1 mL/h"), (Fraction(0), "0.1 mL/h"))
WHOLE_ML_PER_H, WHOLE_DROPS = "Whole mL/h; below 10 to the tenth.", "Whole drops."
_HOURS = tuple(map(Fraction, ("0.5", "1", "2", "3", "4", "5", "6", "8", "10")))
_MINUTES = (10, 15, 20, 30, 40, 50, 60, 90, 120, 180, 240)
# What a crew can count, two a second, and what is worth a drip at all, in either unit (ours, no
# source). What no pump is set to is refused.
MOST_DROPS, _LEAST = Fraction(120), Fraction(5)
# A drop of these and of finer sets matters little enough for a dose by the minute: ours, no source.
MICRO_FROM = 60
# An order is a round figure: as coarse as leaves so many steps in the range of the rule. Ours.
_LEAST_STEPS, _ROUND = 3, (5, 2, 1)
_GROWN_KG = Fraction(75)


# One order as it may be told, not yet worked out.
_Draft = Callable[[], Exercise]


def write(grade: int, stores: Stores, random: Random) -> Exercise:
    """Grade 1 a pump; 2 drops, or the pump for a dose; 3 drops for a dose by weight, two sets.

    What a rule orders half of the time, and a plain order where that comes to no numbers for
    paper: of 125 mL/h every drop a minute is a fraction.
    """
    plain, *ruled = _kinds(grade, stores)
    sorts = [[plain]]
    if ruled and (not plain or random.random() < 0.5):
        sorts = [ruled, [plain]]
    for kinds in sorts:
        if (made := next(_drawn(kinds, random), None)) is not None:
            return made
    raise none_on_paper(TOPIC.name)


def each_once(grade: int, stores: Stores, random: Random) -> list[Iterator[Exercise]]:
    """Every drip that can be asked, each once, in an order that is drawn: the plain ones by
    themselves, and those of each rule; `CannotApplyError` where nothing is aboard for any."""
    return [_drawn([each], random) for each in _kinds(grade, stores)]


def _drawn(kinds: list[list[_Draft]], random: Random) -> Iterator[Exercise]:
    """What is left of some kinds, each kind as likely as the others, and each draft once."""
    left = [list(each) for each in kinds if each]
    while left:
        kind = drawn_evenly(left, random)
        made = _as_run(drawn_out(kind, random)())
        left = [each for each in left if each]
        if made is not None and is_done(made):
            yield made


def _kinds(grade: int, stores: Stores) -> list[list[_Draft]]:
    """The plain orders, of which there may be none where a rule orders any, then those of each
    rule."""
    if grade == 1:
        needed(stores.bags, TOPIC.name, "no bag of fluid is carried")
        return [_pumped(stores)]
    needed(stores.drip_sets, TOPIC.name, "no drip set is carried that says its drops")
    ruled = [_of_rule(grade, stores, rule) for rule in _ruled(stores)]
    if not ruled:
        needed(stores.bags, TOPIC.name, "no bag of fluid is carried")
    return [_by_drop(grade, stores), *ruled]


def _pumped(stores: Stores) -> list[_Draft]:
    return [
        partial(_pump, stores, volume, hours) for volume, hours in product(_volumes(stores), _HOURS)
    ]


def _by_drop(grade: int, stores: Stores) -> list[_Draft]:
    orders = product(_volumes(stores), _MINUTES, stores.drip_sets)
    return [partial(_drops, grade, stores, *each) for each in orders]


def _of_rule(grade: int, stores: Stores, rule: MedicineRule) -> list[_Draft]:
    weights, sets = _weights(stores, rule, pounds=grade == 3), _sets(grade, stores, rule)
    orders = product(_orders(rule), weights, sets)
    return [partial(_ordered, grade, stores, rule, *each) for each in orders]


def _sets(grade: int, stores: Stores, rule: MedicineRule) -> tuple[Fraction, ...]:
    """By what an order runs: a fluid by any set, a dose by the finest; by none where its drop is
    too large for a dose that is counted."""
    if rule.is_rate_of_fluid:
        return stores.drip_sets
    finest = max(stores.drip_sets)
    return (finest,) if grade == 2 or finest >= MICRO_FROM else ()


def _as_run(made: Exercise) -> Exercise | None:
    """What can be counted or set; nobody runs 4,500 drops a minute."""
    rate = made.solution.results[made.asked]
    is_counted = made.asked != GTT_PER_MIN or rate.low_amount <= MOST_DROPS
    return made if is_counted and rate.low_amount >= _LEAST else None


def dialled(given: dict[str, Any], asked: str) -> dict[str, Any]:
    """A problem whose rate is set on a pump, with the marks of the dial where the rate lies."""
    rate = read_solved(given)[1].results[asked].exact.amount
    return given | {"graduation": next(marks for least, marks in DIALS if rate >= least)}


def _ruled(stores: Stores) -> tuple[MedicineRule, ...]:
    """The rules of what runs in, with what it is mixed from, or the fluid, aboard."""
    return tuple(
        rule
        for rule in stores.rules_of(DRIP)
        if rule.is_rate_of_fluid or rule.presentation
        if stores.carries(rule)
    )


def _pump(stores: Stores, volume: Fraction, hours: Fraction) -> Exercise:
    given = {"kind": "drip", "volume": amount(volume, "mL"), "over": amount(hours, "h")}
    return TOPIC.exercise(
        1,
        stores,
        question=_IN_PUMP,
        facts=_plain_order(given),
        given=dialled(given, ML_PER_H),
        asked=ML_PER_H,
        fineness=WHOLE_ML_PER_H,
        rule=_PUMP,
        source=_SOURCE,
    )


def _drops(grade: int, stores: Stores, volume: Fraction, minutes: int, drops: Fraction) -> Exercise:
    others = _other_sets(stores, drops) if grade == 3 else ()
    given = {"kind": "drip", "volume": amount(volume, "mL"), "over": amount(minutes, "min")}
    facts = _plain_order(given)
    return TOPIC.exercise(
        grade,
        stores,
        question=_BY_DROPS,
        facts=(*facts, *_set_facts(drops, others)),
        given=given | _set_data(drops, others),
        asked=GTT_PER_MIN,
        fineness=WHOLE_DROPS,
        rule=f"mL a minute = volume / minutes. {_DROPS}",
        source=_SOURCE,
        trap=TWO_SETS if others else "",
    )


def _ordered(
    grade: int, stores: Stores, rule: MedicineRule, order: Quantity, weight: str, drops: Fraction
) -> Exercise:
    """What a rule orders: a dose by pump at grade 2 and by the drops of a micro set at grade 3, a
    fluid by those of any."""
    ordered = "rate" if rule.is_rate_of_fluid else "dose_rate"
    others = _other_strengths(grade, stores, rule)
    asked = Asked(weight=weight, pounds=stores.pounds_of(weight), others=others)
    given = problem_asked(rule, asked) | {ordered: order.exactly(), "high": None}
    facts = tuple(_order_facts(rule, order, asked))
    made = partial(
        TOPIC.exercise,
        grade,
        stores,
        source=_SOURCE,
        about=f"{rule.medicine} {TOPIC.name}",
        medicine=rule,
        weight=weight,
    )
    if grade == 2 and not rule.is_rate_of_fluid:
        return made(
            question=_IN_PUMP,
            facts=facts,
            given=dialled(given, ML_PER_H),
            asked=ML_PER_H,
            fineness=WHOLE_ML_PER_H,
            rule=f"{rule.printed}. {_DOSED}",
        )
    other_sets = _other_sets(stores, drops) if grade == 3 else ()
    return made(
        question=_BY_DROPS,
        facts=(*facts, *_set_facts(drops, other_sets)),
        given=given | _set_data(drops, other_sets),
        asked=GTT_PER_MIN,
        fineness=WHOLE_DROPS,
        rule=f"{rule.printed}. {_by_drops(rule)}",
        trap=POUNDS if weight else TWO_SETS if other_sets else "",
    )


def _by_drops(rule: MedicineRule) -> str:
    """How drops come of what a rule orders."""
    return f"{'' if rule.is_rate_of_fluid else f'{_DOSED} '}{_A_MINUTE} {_DROPS}"


def _plain_order(given: dict[str, str]) -> tuple[Told, ...]:
    return Told("To run in", given["volume"], MADE_UP), Told("Over", given["over"])


def order_told(rule: MedicineRule, order: Quantity, words: str, *also: str) -> Told:
    """An order, and that it is made up where the rule leaves it open."""
    made_up = MADE_UP_INSIDE if order != rule.rule.dose else ""
    return Told("Ordered", words, "; ".join(filter(None, (*also, made_up))))


def _other_strengths(grade: int, stores: Stores, rule: MedicineRule) -> tuple[Presentation, ...]:
    """At grade 3 what else is aboard of what runs in as it comes; none stands for what is mixed
    first."""
    if grade < 3 or rule.presentation is None or rule.mixture:
        return ()
    return stores.in_other_strengths(rule, rule.presentation)


def _order_facts(rule: MedicineRule, order: Quantity, asked: Asked) -> Iterator[Told]:
    yield order_told(rule, order, f"{rule.medicine} {order}", rule.indication)
    if asked.weight:
        yield told_weight(asked.weight, asked.pounds)
    if not rule.is_rate_of_fluid:
        yield Told("Bag", rule.mixture.how if rule.mixture else str(rule.presentation))
    if asked.others:
        yield Told("Also aboard", "; ".join(map(str, asked.others)))


def _weights(stores: Stores, rule: MedicineRule, *, pounds: bool) -> tuple[str, ...]:
    """What whom a rule is asked of may weigh: the patient, else somebody who is grown; nothing is
    told where the rule needs none."""
    if not rule.is_by_weight:
        return ("",)
    if stores.patient:
        return (weight_in(stores.patient, pounds=pounds),)
    return weights_near(_GROWN_KG, pounds=pounds)


def in_range(rule: MedicineRule, random: Random) -> Quantity:
    """A round dose inside the range of a rule, or one of its ends; of a single dose that one."""
    return drawn_evenly(_orders(rule), random)


def _orders(rule: MedicineRule) -> tuple[Quantity, ...]:
    low, high = rule.rule.dose, rule.rule.dose_high or rule.rule.dose
    doses = round_figures(low.amount, high.to(low.unit).amount)
    return tuple(Quantity(each, low.unit) for each in doses)


# So many orders are drawn for one that can be worked out on paper.
@lru_cache(maxsize=256)
def round_figures(low: Fraction, high: Fraction) -> tuple[Fraction, ...]:
    """Both ends, and what a person would say between: of 2 to 10 the even ones."""
    if low == high:
        return (low,)
    steps = (Fraction(10) ** power * of for power in range(6, -7, -1) for of in _ROUND)
    step = next(each for each in steps if (high - low) / each >= _LEAST_STEPS)
    between = (step * n for n in range(int(low / step), int(high / step) + 1))
    return tuple(sorted({low, *(each for each in between if low < each < high), high}))


def _volumes(stores: Stores) -> tuple[Fraction, ...]:
    """Every bag whole, and so many fifties of mL of the greatest."""
    fifties = (Fraction(50 * n) for n in range(1, int(max(stores.bags, default=0) // 50)))
    return tuple(dict.fromkeys((*stores.bags, *fifties)))


def _other_sets(stores: Stores, drops: Fraction) -> tuple[Fraction, ...]:
    return tuple(each for each in stores.drip_sets if each != drops)


def _set_data(drops: Fraction, others: tuple[Fraction, ...]) -> dict[str, Any]:
    data: dict[str, Any] = {"set": amount(drops, "gtt/mL")}
    return data | ({"other_sets": [amount(each, "gtt/mL") for each in others]} if others else {})


def _set_facts(drops: Fraction, others: tuple[Fraction, ...]) -> Iterator[Told]:
    aboard = ", ".join(amount(each, "gtt/mL") for each in others)
    yield Told(
        "Drip set in your hand", amount(drops, "gtt/mL"), f"also aboard: {aboard}" if aboard else ""
    )
