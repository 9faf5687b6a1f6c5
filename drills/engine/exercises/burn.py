"""Burns: the area by a named chart, the fluid by the formula of the kind, the rate after a time.

Fluid is by the approved rules where there are any for a burn of that kind; else the formulas are
those of one published set, so that a child and a grown person, and burns of heat and of current,
are told apart within it. It is asked for areas alone that are given fluid for.
"""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import partial
from random import Random
from typing import Any

from drills.engine.ages import Age
from drills.engine.burns import (
    ABLS,
    ELECTRICAL,
    THERMAL,
    band,
    parts,
    regions,
)
from drills.engine.chance import drawn_evenly, mixed
from drills.engine.dosing.burn import FIRST_HALF_RATE, TOTAL
from drills.engine.dosing.burned import AREA
from drills.engine.dosing.drip import ML_PER_H
from drills.engine.exercises.burned import (
    Burned,
    Regions,
    age_told,
    area_told,
    hours_told,
    regions_told,
    who_is_burned,
)
from drills.engine.exercises.drip import WHOLE_ML_PER_H, dialled
from drills.engine.exercises.exercise import Exercise, Told, Topic
from drills.engine.exercises.paper import amount, settled
from drills.engine.exercises.people import (
    bounds_told,
    is_for,
    is_in_pounds,
    told_weight,
)
from drills.engine.exercises.stores import Stores
from drills.engine.medicines import BURN, DRIP, MedicineRule
from drills.engine.quantities import Quantity, plain
from drills.engine.recipes import SUPPLY
from drills.engine.tables import BURN_FORMULAS, START_RATES
from drills.engine.tables.kinds import BurnFormula, BurnPart

TOPIC = Topic(SUPPLY, "burn", ("mL", "mL/h", "%", "L"))
FROM_INJURY = "the hours since the injury"
# Later than that a rate is catching up, which is asked for and not worked out: ours, no source.
_AFTER, _AFTER_A_WHILE = (0, 1, 2, 3, 4), (1, 2, 3, 4)
_KIND_WORDS = {THERMAL: "heat", ELECTRICAL: "high-voltage current"}
_FORMULAS_BY = "ABLS 2010 as printed on a hospital poster (confirmed)"
_CHARTS_BY = (
    "charts: NSW Severe Burn Injury Service guideline, 2008, as reprinted, parts of them common "
    "practice from memory"
)
_HALF = "Half of it within 8 hours of the injury, the rest in the next 16"


def write(grade: int, stores: Stores, random: Random) -> Exercise:
    """Grade 1 one figure; 2 the rate for the rest of the first half; 3 from the regions on."""
    drafts = {1: (_total, _area, _start), 2: (_rate,), 3: (_from_regions,)}[grade]
    if stores.patient is not None:
        each = (partial(draft, stores, random) for draft in mixed(drafts, random))
        return settled(TOPIC.name, *each, tries=1)
    drawn = drawn_evenly(drafts, random)
    return settled(TOPIC.name, lambda: drawn(stores, random))


def _total(stores: Stores, random: Random) -> Exercise | None:
    who = who_is_burned(stores, random, pounds=False)
    area = area_told(stores, who, random) if who else None
    if who is None or area is None:
        return None
    return _of_fluid(
        1,
        stores,
        who,
        question="How much fluid in the first 24 hours, by the formula?",
        facts=(_area_fact(area),),
        given=who.fluid | {"area": f"{plain(area)} %"},
        asked=TOTAL,
        fineness="Whole mL.",
    )


def _area(stores: Stores, random: Random) -> Exercise | None:
    age, who = age_told(stores, random)
    burned = regions_told(stores, age, random, lambda: 2)
    if burned is None:
        return None
    return TOPIC.exercise(
        1,
        stores,
        question=f"How much of the body is burned, by the {burned.chart}?",
        facts=(Told("Patient", who), _regions_fact(burned)),
        given={
            "kind": "burned",
            "chart": burned.chart,
            "age": str(age),
            "regions": "; ".join(burned.named),
        },
        asked=AREA,
        fineness="Quarters of a percent count.",
        rule=_chart_lines(burned.chart, age),
        source=_CHARTS_BY,
    )


def _start(stores: Stores, random: Random) -> Exercise | None:
    """By the approved rates for burns, where there are any."""
    age, who = age_told(stores, random)
    rules = [each for each in stores.rules if each.topic == DRIP and _is_start_rate(each)]
    made = partial(
        TOPIC.exercise,
        1,
        stores,
        question="Nobody has counted the area yet. At what rate does the fluid start?",
        facts=(Told("Patient", who),),
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
    who = who_is_burned(stores, random, pounds=is_in_pounds(stores.patient, random))
    area = area_told(stores, who, random) if who else None
    if who is None or area is None:
        return None
    since = hours_told(stores, random, _AFTER)
    if since is None:
        return None
    given = who.fluid | {"area": f"{plain(area)} %", "since_injury": f"{since} h"}
    return _of_fluid(
        2,
        stores,
        who,
        question="At what rate does the fluid run until the first half is in?",
        facts=(_area_fact(area), _since(since)),
        given=dialled(given, FIRST_HALF_RATE),
        asked=FIRST_HALF_RATE,
        fineness=WHOLE_ML_PER_H,
    )


def _from_regions(stores: Stores, random: Random) -> Exercise | None:
    """An area that is given fluid for, counted from its regions."""
    who = who_is_burned(stores, random, pounds=True)
    if who is None:
        return None
    burned = regions_told(stores, who.age, random, lambda: 2 + int(random.random() * 2))
    if burned is None or not who.is_given_fluid(burned.area(who.age)):
        return None
    since = hours_told(stores, random, _AFTER_A_WHILE)
    if since is None:
        return None
    given = (
        who.fluid
        | {"kind": "burned", "chart": burned.chart, "age": str(who.age)}
        | {"regions": "; ".join(burned.named), "since_injury": f"{since} h"}
    )
    return _of_fluid(
        3,
        stores,
        who,
        question=f"Count the area by the {burned.chart}. At what rate until the first half is in?",
        facts=(_regions_fact(burned), _since(since)),
        given=dialled(given, FIRST_HALF_RATE),
        asked=FIRST_HALF_RATE,
        fineness=WHOLE_ML_PER_H,
        chart=burned.chart,
        trap=FROM_INJURY,
    )


def _area_fact(area: Fraction) -> Told:
    return Told("Burned area", amount(area, "%"))


def _regions_fact(burned: Regions) -> Told:
    return Told("Burned, all of it", ", ".join(burned.named))


def _of_fluid(
    grade: int,
    stores: Stores,
    who: Burned,
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
            Told("Patient", who.who, f"burned by {_KIND_WORDS[who.kind]}"),
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
