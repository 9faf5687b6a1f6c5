"""Burns: the area by a named chart, the fluid by the formula of the kind, the rate after a time.

Fluid is by the approved rules where there are any for a burn of that kind; else the formulas are
those of one published set, so that a child and a grown person, and burns of heat and of current,
are told apart within it. It is asked for areas alone that are given fluid for.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from random import Random
from typing import Any

from drills.engine.ages import Age
from drills.engine.burns import (
    ABLS,
    AGE_CHART,
    ELECTRICAL,
    RULE_OF_NINES,
    THERMAL,
    band,
    burn_formula,
    parts,
    regions,
)
from drills.engine.chance import drawn_evenly
from drills.engine.dosing.burn import FIRST_HALF_RATE, TOTAL
from drills.engine.dosing.burned import AREA
from drills.engine.dosing.drip import ML_PER_H
from drills.engine.exercises.drip import WHOLE_ML_PER_H, dialled
from drills.engine.exercises.exercise import Exercise, Told, Topic
from drills.engine.exercises.paper import amount, settled
from drills.engine.exercises.people import (
    age_drawn,
    age_of,
    bounds_told,
    is_for,
    kg_of,
    told_age,
    told_weight,
    weight_for,
    weight_near,
)
from drills.engine.exercises.stores import Stores
from drills.engine.medicines import BURN, DRIP, MedicineRule
from drills.engine.quantities import Quantity, kilograms, plain, read_quantity
from drills.engine.recipes import SUPPLY
from drills.engine.tables import BURN_FORMULAS, START_RATES
from drills.engine.tables.kinds import BurnFormula, BurnPart

TOPIC = Topic(SUPPLY, "burn", ("mL", "mL/h", "%", "L"))
FROM_INJURY = "the hours since the injury"
# RCEMLearning, Major trauma: burns, fluids, as read: fluid is needed over 15 % of a grown person
# and over 10 % of a child, who is here 14 years and under.
CHILD_BELOW_Y, OVER_OF_A_CHILD, OVER_OF_A_GROWN = 15, 10, 15
# Below that nobody climbs where high-voltage current is: ours, no source.
CURRENT_FROM_Y = 6
_LARGEST = 50
# Later than that a rate is catching up, which is asked for and not worked out: ours, no source.
_AFTER, _AFTER_A_WHILE = (0, 1, 2, 3, 4), (1, 2, 3, 4)
_KIND_WORDS = {THERMAL: "heat", ELECTRICAL: "high-voltage current"}
_YEARS = (*range(1, 14), 25, 35, 45, 60)
_FORMULAS_BY = "ABLS 2010 as printed on a hospital poster (confirmed)"
_CHARTS_BY = (
    "charts: NSW Severe Burn Injury Service guideline, 2008, as reprinted, parts of them common "
    "practice from memory"
)
_HALF = "Half of it within 8 hours of the injury, the rest in the next 16"


@dataclass(frozen=True, slots=True)
class _Burned:
    """Who is burned, by what, and the approved rule for it, where there is one.

    `pounds` is how those of the weight are taken, where not by the usual way.
    """

    age: Age
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
    def needs_over(self) -> int:
        """Over how many percent fluid is given."""
        return OVER_OF_A_CHILD if self.age.years < CHILD_BELOW_Y else OVER_OF_A_GROWN

    @property
    def fluid(self) -> dict[str, Any]:
        """What the fluid is worked out from, all but the area."""
        return {"kind": "burn", "weight": self.weight, "per": self.per} | (
            {"pounds": self.pounds} if self.pounds else {}
        )


def write(grade: int, stores: Stores, random: Random) -> Exercise:
    """Grade 1 one figure; 2 the rate for the rest of the first half; 3 from the regions on."""
    drafts = {1: (_total, _area, _start), 2: (_rate,), 3: (_from_regions,)}[grade]
    draft = drawn_evenly(drafts, random)
    return settled(TOPIC.name, lambda: draft(stores, random))


def _total(stores: Stores, random: Random) -> Exercise | None:
    who = _who(stores, random, pounds=False)
    if who is None:
        return None
    area = f"{_area_drawn(who, random)} %"
    return _of_fluid(
        1,
        stores,
        who,
        question="How much fluid in the first 24 hours, by the formula?",
        facts=(Told("Burned area", str(read_quantity(area))),),
        given=who.fluid | {"area": area},
        asked=TOTAL,
        fineness="Whole mL.",
    )


def _area(stores: Stores, random: Random) -> Exercise:
    age, chart = _age(stores, random), drawn_evenly((RULE_OF_NINES, AGE_CHART), random)
    named = _regions(chart, age, random, 2)
    return TOPIC.exercise(
        1,
        stores,
        question=f"How much of the body is burned, by the {chart}?",
        facts=(Told("Patient", _person(age)), Told("Burned, all of it", ", ".join(named))),
        given={"kind": "burned", "chart": chart, "age": str(age), "regions": "; ".join(named)},
        asked=AREA,
        fineness="Quarters of a percent count.",
        rule=_chart_lines(chart, age),
        source=_CHARTS_BY,
    )


def _start(stores: Stores, random: Random) -> Exercise | None:
    """By the approved rates for burns, where there are any."""
    age = _age(stores, random)
    rules = [each for each in stores.rules if each.topic == DRIP and _is_start_rate(each)]
    made = partial(
        TOPIC.exercise,
        1,
        stores,
        question="Nobody has counted the area yet. At what rate does the fluid start?",
        facts=(Told("Patient", _person(age)),),
        fineness=WHOLE_ML_PER_H,
    )
    if not rules:
        rates = (f"{row.word} {amount(row.ml_per_h, 'mL/h')}" for row in START_RATES)
        return made(
            given={"kind": "start_rate", "age": str(age)},
            asked="rate",
            rule=f"Starting rate: {', '.join(rates)}",
            source=_FORMULAS_BY,
        )
    own = [rule for rule in rules if is_for(rule, age)]
    if len(own) != 1:
        return None
    return made(
        given={"kind": "drip", "volume": _in_an_hour(own[0]), "over": "1 h"},
        asked=ML_PER_H,
        rule=f"Starting rate: {', '.join(map(_who_and_what, rules))}",
        medicine=own[0],
        also=rules,
        age=age,
    )


def _in_an_hour(rule: MedicineRule) -> str:
    """What runs in within an hour: so the rate has a working, as every answer has."""
    return rule.rule.dose.each("h").of(Quantity(Fraction(1), "h")).to("mL").exactly()


def _is_start_rate(rule: MedicineRule) -> bool:
    return rule.is_rate_of_fluid and "burn" in rule.indication.lower()


def _rate(stores: Stores, random: Random) -> Exercise | None:
    who = _who(stores, random, pounds=random.random() < 0.5)
    if who is None:
        return None
    area, since = f"{_area_drawn(who, random)} %", drawn_evenly(_AFTER, random)
    given = who.fluid | {"area": area, "since_injury": f"{since} h"}
    return _of_fluid(
        2,
        stores,
        who,
        question="At what rate does the fluid run until the first half is in?",
        facts=(Told("Burned area", str(read_quantity(area))), _since(since)),
        given=dialled(given, FIRST_HALF_RATE),
        asked=FIRST_HALF_RATE,
        fineness=WHOLE_ML_PER_H,
    )


def _from_regions(stores: Stores, random: Random) -> Exercise | None:
    """An area that is given fluid for, counted from its regions."""
    who, chart = _who(stores, random, pounds=True), drawn_evenly((RULE_OF_NINES, AGE_CHART), random)
    if who is None:
        return None
    named = _regions(chart, who.age, random, 2 + int(random.random() * 2))
    there = regions(chart, who.age)
    if not who.needs_over < sum(there[each] for each in named) <= _LARGEST:
        return None
    since = drawn_evenly(_AFTER_A_WHILE, random)
    given = (
        who.fluid
        | {"kind": "burned", "chart": chart, "age": str(who.age)}
        | {"regions": "; ".join(named), "since_injury": f"{since} h"}
    )
    return _of_fluid(
        3,
        stores,
        who,
        question=f"Count the area by the {chart}. At what rate until the first half is in?",
        facts=(Told("Burned, all of it", ", ".join(named)), _since(since)),
        given=dialled(given, FIRST_HALF_RATE),
        asked=FIRST_HALF_RATE,
        fineness=WHOLE_ML_PER_H,
        chart=chart,
        trap=FROM_INJURY,
    )


def _of_fluid(
    grade: int,
    stores: Stores,
    who: _Burned,
    *,
    question: str,
    facts: Sequence[Told],
    given: Mapping[str, Any],
    asked: str,
    fineness: str,
    chart: str = "",
    trap: str = "",
) -> Exercise:
    """Fluid for somebody, by the rules or the formulas, after the lines of the chart if any."""
    lines = (_chart_lines(chart, who.age), _CHARTS_BY) if chart else ("", "")
    rules = [each for each in stores.rules if each.topic == BURN] if who.rule else []
    rule, source = (_rules(rules), "") if rules else (_formulas(), _FORMULAS_BY)
    return TOPIC.exercise(
        grade,
        stores,
        question=question,
        facts=(
            Told("Patient", _person(who.age), f"burned by {_KIND_WORDS[who.kind]}"),
            told_weight(who.weight, who.pounds),
            *facts,
        ),
        given=given,
        asked=asked,
        fineness=fineness,
        rule=" ".join(filter(None, (lines[0], rule))),
        source="; ".join(filter(None, (source, lines[1]))),
        trap=trap,
        medicine=who.rule,
        also=rules,
        weight=who.weight,
        age=who.age,
    )


def _area_drawn(who: _Burned, random: Random) -> int:
    """Percents in fives that are given fluid for, up to half of the body."""
    return drawn_evenly(range(who.needs_over + 5, _LARGEST + 1, 5), random)


def _age(stores: Stores, random: Random) -> Age:
    return age_of(stores.patient) if stores.patient else age_drawn(random, _YEARS)


def _who(stores: Stores, random: Random, *, pounds: bool) -> _Burned | None:
    """Somebody burned; None where there are approved rules for that kind and not just one fits."""
    kind = drawn_evenly((THERMAL, THERMAL, ELECTRICAL), random)
    age = _age(stores, random)
    kind = kind if age.years >= CURRENT_FROM_Y else THERMAL
    weight = (
        weight_near(kg_of(stores.patient), random, pounds=pounds)
        if stores.patient
        else weight_for(age, random, pounds=pounds)
    )
    rules = _rules_of(kind, stores)
    exactly = stores.settings.is_exact_pounds
    own = [rule for rule in rules if is_for(rule, age, weight, exactly=exactly)]
    if rules and len(own) != 1:
        return None
    return _Burned(age, weight, kind, stores.pounds_of(weight), own[0] if own else None)


def _rules_of(kind: str, stores: Stores) -> list[MedicineRule]:
    return [each for each in stores.rules if each.topic == BURN and _kind_of(each) == kind]


def _kind_of(rule: MedicineRule) -> str:
    return ELECTRICAL if "electric" in rule.indication.lower() else THERMAL


def _rules(rules: Sequence[MedicineRule]) -> str:
    """Every approved rule for burns, so that the right one must be chosen."""
    told = dict.fromkeys(rule.indication for rule in rules)
    lines = (f"{said}: {_whom([r for r in rules if r.indication == said])}" for said in told)
    return f"{_started('; '.join(lines))}. {_HALF}."


def _whom(rules: Sequence[MedicineRule]) -> str:
    """What for whom; where all are given the same, that alone."""
    if len({rule.printed for rule in rules}) == 1 and len(rules) > 1:
        return rules[0].printed
    return ", ".join(map(_who_and_what, rules))


def _who_and_what(rule: MedicineRule) -> str:
    return f"{rule.printed} {bounds_told(rule)}".strip()


def _started(text: str) -> str:
    return text[:1].upper() + text[1:]


def _regions(chart: str, age: Age, random: Random, count: int) -> list[str]:
    """So many regions of a chart, in its own order."""
    there = list(regions(chart, age))
    chosen = {drawn_evenly(there, random) for _ in range(count)}
    return [each for each in there if each in chosen]


def _person(age: Age) -> str:
    return f"{told_age(age)} {'child' if age.years < CHILD_BELOW_Y else 'person'}"


def _since(hours: int) -> Told:
    words = "just now" if not hours else f"{hours} hour{'' if hours == 1 else 's'} ago"
    return Told("Burned", words)


def _formulas() -> str:
    """Every line of the set, so that the right one must be chosen."""
    rows = [row for row in BURN_FORMULAS if row.set == ABLS]
    kinds = dict.fromkeys(row.kind for row in rows)
    lines = "; ".join(_kind_line(kind, [r for r in rows if r.kind == kind]) for kind in kinds)
    return f"{ABLS}: {lines}. {_HALF}."


def _kind_line(kind: str, rows: Sequence[BurnFormula]) -> str:
    child, grown = (amount(row.low, "mL/kg/%") for row in rows)
    young = "" if child == grown else f"{child} for 14 years and under, if under 40 kg, else "
    return f"{kind} {young}{grown}"


def _chart_lines(chart: str, age: Age) -> str:
    there = regions(chart, age)
    lines = ", ".join(_part_line(row, there) for row in parts(chart, age))
    return f"{chart.capitalize()}, {band(chart, age)}: {lines}."


def _part_line(row: BurnPart, there: Mapping[str, Fraction]) -> str:
    """A part as the chart has it; front and back, left and right are alike."""
    percent = next(each for name, each in there.items() if name.endswith(row.part))
    which = f"each {row.part}" if row.sides else f"the {row.part}" if row.faces else row.part
    return f"{'front or back of ' if row.faces else ''}{which} {plain(percent)}%"
