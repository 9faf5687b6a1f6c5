"""Burns: the area by a named chart, the fluid by the formula of the kind, the rate after a time.

The formulas are those of one published set, so that a child and a grown person, and burns of heat
and of current, are told apart within it.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
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
from drills.engine.exercises.exercise import Exercise, Told, way_of
from drills.engine.exercises.paper import amount, settled
from drills.engine.exercises.people import (
    age_drawn,
    age_of,
    kg_of,
    told_age,
    told_weight,
    weight_for,
    weight_near,
)
from drills.engine.exercises.stores import Stores
from drills.engine.quantities import kilograms, plain, read_quantity
from drills.engine.recipes import SUPPLY
from drills.engine.tables import BURN_FORMULAS, START_RATES
from drills.engine.tables.kinds import BurnFormula, BurnPart

TOPIC = "burn"
UNITS = ("mL", "mL/h", "%", "L")
FROM_INJURY = "the hours since the injury"
_KIND_WORDS = {THERMAL: "heat", ELECTRICAL: "high-voltage current"}
_YEARS = (*range(1, 14), 25, 35, 45, 60)
_SOURCE = (
    "ABLS 2010 as printed on a hospital poster (confirmed); charts: NSW Severe Burn Injury Service "
    "guideline, 2008, as reprinted, parts of them common practice from memory"
)
_HALF = "Half of it within 8 hours of the injury, the rest in the next 16"


@dataclass(frozen=True, slots=True)
class _Burned:
    """Who is burned, by what; `pounds` is how those are taken, where not by the usual way."""

    age: Age
    weight: str
    kind: str
    pounds: str

    @property
    def per(self) -> Fraction:
        kg = kilograms(read_quantity(self.weight), exactly=bool(self.pounds)).amount
        return burn_formula(self.kind, self.age, kg).low


def write(grade: int, stores: Stores, random: Random) -> Exercise:
    """Grade 1 one figure; 2 the rate for the rest of the first half; 3 from the regions on."""
    drafts = {1: (_total, _area, _start), 2: (_rate,), 3: (_from_regions,)}[grade]
    draft = drawn_evenly(drafts, random)
    return settled(TOPIC, lambda: draft(stores, random))


def _total(stores: Stores, random: Random) -> Exercise:
    who = _who(stores, random, pounds=False)
    area = 5 * (2 + int(random.random() * 9))
    return _made(
        1,
        stores,
        question="How much fluid in the first 24 hours, by the formula?",
        facts=(*_facts(who), Told("Burned area", amount(area, "%"))),
        given=_fluid(who) | {"area": f"{area} %"},
        asked=TOTAL,
        rule=_formulas(),
    )


def _area(stores: Stores, random: Random) -> Exercise:
    who, chart = (
        _who(stores, random, pounds=False),
        drawn_evenly((RULE_OF_NINES, AGE_CHART), random),
    )
    named = _regions(chart, who.age, random, 2)
    return _made(
        1,
        stores,
        question=f"How much of the body is burned, by the {chart}?",
        facts=(Told("Patient", _person(who)), Told("Burned, all of it", ", ".join(named))),
        given={"kind": "burned", "chart": chart, "age": str(who.age), "regions": "; ".join(named)},
        asked=AREA,
        rule=_chart_lines(chart, who.age),
    )


def _start(stores: Stores, random: Random) -> Exercise:
    who = _who(stores, random, pounds=False)
    return _made(
        1,
        stores,
        question="Nobody has counted the area yet. At what rate does the fluid start?",
        facts=(Told("Patient", _person(who)),),
        given={"kind": "start_rate", "age": str(who.age)},
        asked="rate",
        rule="Starting rate: "
        + ", ".join(f"{row.word} {amount(row.ml_per_h, 'mL/h')}" for row in START_RATES)
        + ".",
    )


def _rate(stores: Stores, random: Random) -> Exercise:
    who = _who(stores, random, pounds=random.random() < 0.5)
    area, since = 5 * (2 + int(random.random() * 9)), drawn_evenly((0, 1, 2, 3, 4), random)
    return _made(
        2,
        stores,
        question="At what rate does the fluid run until the first half is in?",
        facts=(*_facts(who), Told("Burned area", amount(area, "%")), _since(since)),
        given=_fluid(who) | {"area": f"{area} %", "since_injury": f"{since} h"},
        asked=FIRST_HALF_RATE,
        rule=_formulas(),
    )


def _from_regions(stores: Stores, random: Random) -> Exercise:
    who, chart = _who(stores, random, pounds=True), drawn_evenly((RULE_OF_NINES, AGE_CHART), random)
    named = _regions(chart, who.age, random, 2 + int(random.random() * 2))
    since = drawn_evenly((1, 2, 3, 4, 6), random)
    return _made(
        3,
        stores,
        question=f"Count the area by the {chart}. At what rate until the first half is in?",
        facts=(*_facts(who), Told("Burned, all of it", ", ".join(named)), _since(since)),
        given=_fluid(who)
        | {"kind": "burned", "chart": chart, "age": str(who.age)}
        | {"regions": "; ".join(named), "since_injury": f"{since} h"},
        asked=FIRST_HALF_RATE,
        rule=f"{_chart_lines(chart, who.age)} {_formulas()}",
        trap=FROM_INJURY,
    )


def _who(stores: Stores, random: Random, *, pounds: bool) -> _Burned:
    kind = drawn_evenly((THERMAL, THERMAL, ELECTRICAL), random)
    if stores.patient is not None:
        age = age_of(stores.patient)
        weight = weight_near(kg_of(stores.patient), random, pounds=pounds)
    else:
        age = age_drawn(random, _YEARS)
        weight = weight_for(age, random, pounds=pounds)
    return _Burned(age, weight, kind, stores.pounds_of(weight))


def _regions(chart: str, age: Age, random: Random, count: int) -> list[str]:
    """So many regions of a chart, in its own order."""
    there = list(regions(chart, age))
    chosen = {drawn_evenly(there, random) for _ in range(count)}
    return [each for each in there if each in chosen]


def _fluid(who: _Burned) -> dict[str, Any]:
    pounds = {"pounds": who.pounds} if who.pounds else {}
    return {"kind": "burn", "weight": who.weight, "per": f"{plain(who.per)} mL/kg/%"} | pounds


def _facts(who: _Burned) -> Iterator[Told]:
    yield Told("Patient", _person(who), f"burned by {_KIND_WORDS[who.kind]}")
    yield told_weight(who.weight, who.pounds)


def _person(who: _Burned) -> str:
    return f"{told_age(who.age)} {'child' if who.age.years < 15 else 'person'}"


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
) -> Exercise:
    return Exercise(
        kind=SUPPLY,
        topic=TOPIC,
        grade=grade,
        question=question,
        facts=facts,
        given=json.dumps(given),
        asked=asked,
        units=UNITS,
        rule=rule,
        source=_SOURCE,
        subject=f"{TOPIC}, {way_of(is_rule_shown=stores.is_rule_shown)}",
        trap=trap,
        is_rule_shown=stores.is_rule_shown,
    )
