"""A weight in kilograms: from pounds, or for an age by a named published formula."""

from fractions import Fraction
from random import Random

from drills.engine.ages import MONTHS, Age
from drills.engine.chance import drawn_evenly
from drills.engine.dosing.weight import KG
from drills.engine.estimates import formula_at, weight_formulas
from drills.engine.exercises.exercise import Exercise, Told, Topic
from drills.engine.exercises.paper import settled
from drills.engine.exercises.people import age_drawn, told_age, weight_for
from drills.engine.exercises.stores import Stores
from drills.engine.quantities import KG_PER_POUND, exact_text
from drills.engine.recipes import DOSE
from drills.engine.tables import WEIGHT_FORMULAS
from drills.engine.tables.kinds import WeightFormula

TOPIC = Topic(DOSE, "weight", ("kg",))
TENTHS = "Kilograms to the tenth."
_BY_TABLE = (
    "Wisconsin EMSC table as printed in a 2025 US EMS protocol book, p.87; arithmetic check only "
    "(confirmed)"
)
_EXACTLY = "the pound as it is defined, no text named (from memory)"
BANDS = "a formula that changes with the age"


def write(grade: int, stores: Stores, random: Random) -> Exercise:
    """Pounds at grade 1; above it a child by a formula, at grade 3 by one that has bands."""
    if grade == 1:
        return settled(TOPIC.name, lambda: _from_pounds(stores, random))
    return settled(TOPIC.name, lambda: _by_formula(grade, stores, random))


def _from_pounds(stores: Stores, random: Random) -> Exercise:
    weight = weight_for(age_drawn(random, range(1, 80)), random, pounds=True)
    pounds = stores.pounds_of(weight)
    return TOPIC.exercise(
        1,
        stores,
        question="How many kilograms is that?",
        facts=(Told("Weight as told", weight),),
        given={"kind": "weight", "from": weight} | ({"pounds": pounds} if pounds else {}),
        asked=KG,
        fineness=TENTHS,
        rule=f"kg = lb x {exact_text(KG_PER_POUND)}" if pounds else "kg = lb / 2.2",
        source=_EXACTLY if pounds else _BY_TABLE,
    )


def _by_formula(grade: int, stores: Stores, random: Random) -> Exercise | None:
    """Of an age; at grade 3 None where a line of another band gives the same."""
    row = drawn_evenly(_rows(grade), random)
    months = row.from_months + int(random.random() * ((row.below_months or 0) - row.from_months))
    months = max(months, 1)
    age = Age(months) if row.unit == "months" else Age.of_years(months // MONTHS)
    lines = [each for each in WEIGHT_FORMULAS if each.formula == row.formula]
    if grade == 3 and [_kg(each, age) for each in lines].count(_kg(row, age)) > 1:
        return None
    return TOPIC.exercise(
        grade,
        stores,
        question=f"How many kilograms by the formula {row.formula}?",
        facts=(Told("Patient", f"{told_age(age)} child"),),
        given={"kind": "weight_by_age", "formula": row.formula, "age": str(age)},
        asked=KG,
        fineness=TENTHS,
        rule=f"{row.formula}: {'; '.join(map(_line, lines))}.",
        source=f"{formula_at(row.formula, age).source} ({row.status})",
        trap=BANDS if grade == 3 else "",
    )


def _kg(row: WeightFormula, age: Age) -> Fraction:
    """What a line of a formula gives for an age, in its band or out of it."""
    return row.times * (age.months if row.unit == "months" else age.years) + row.plus


def _rows(grade: int) -> list[WeightFormula]:
    """Formulas of one line, or those of several at grade 3."""
    many = {
        name
        for name in weight_formulas()
        if sum(row.formula == name for row in WEIGHT_FORMULAS) > 1
    }
    return [row for row in WEIGHT_FORMULAS if (row.formula in many) == (grade == 3)]


def _line(row: WeightFormula) -> str:
    below = Age(row.below_months) if row.below_months else ""
    return f"from {Age(row.from_months)} to below {below} {row.written.replace('×', 'x')}"
