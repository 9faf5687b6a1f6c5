"""Body weights for made-up patients.

Up to 10 years by the published formulas of `estimates`, below one year without a step from month
to month. Newborns, from 11 years on, and how far people differ from the middle: from memory,
typical figures and no survey.
"""

from random import Random

from drills.engine.ages import Age
from drills.engine.estimates import estimate_weight, formula_at

POUNDS_SHARE = 0.5
LB_IN_KG = 2.2
_NEWBORN_KG = 3.4
_GROWN = {True: 74.0, False: 88.0}
_AT_11 = 38.0
_CHILD, _INFANT = "Luscombe and Owens", "APLS bands"


def draw_weight(age_y: float, *, is_female: bool, random: Random) -> float:
    """A weight in kg for an age in years, some way round the middle of that age."""
    spread = 0.30 if age_y >= 18 else 0.15
    return middle_weight(age_y, is_female=is_female) * (1 - spread + 2 * spread * random.random())


def middle_weight(age_y: float, *, is_female: bool) -> float:
    """The middle weight in kg of an age in years."""
    if age_y < 1 / 12:
        return _NEWBORN_KG
    if age_y < 1:
        row = formula_at(_INFANT, Age(int(age_y * 12)))
        return float(row.times) * age_y * 12 + float(row.plus)
    if age_y < 11:
        return float(estimate_weight(_CHILD, Age.of_years(int(age_y))).kg)
    grown = _GROWN[is_female]
    if age_y < 18:
        return _AT_11 + (grown - _AT_11) * (age_y - 11) / 7
    return grown


def told_weight(kg: float, random: Random) -> str:
    """A weight as somebody tells it: of a grown-up whole, of a child or a baby finer."""
    if random.random() < POUNDS_SHARE:
        return f"{_told(kg * LB_IN_KG, ((20, 2),))} lb"
    return f"{_told(kg, ((10, 10), (40, 2)))} kg"


def _told(amount: float, finer: tuple[tuple[float, int], ...]) -> str:
    """In whole numbers; below each limit in so many parts of one."""
    parts = next((parts for below, parts in finer if amount < below), 1)
    return f"{round(amount * parts) / parts:g}"
