"""Doses: a rule of the formulary, a weight, and what is aboard to draw from and with."""

import json
from collections.abc import Iterator, Sequence

from drills.engine.dosing.dose import VOLUME
from drills.engine.exercises.exercise import DOSE_UNITS, Exercise, Told, way_of
from drills.engine.medicines import MedicineRule, dose_asked
from drills.engine.recipes import DOSE

TOPIC = "dose"
_QUESTION = "What volume do you give?"


def dose_exercise(
    rule: MedicineRule,
    weight: str,
    *,
    syringes: Sequence[int],
    grade: int = 2,
    is_rule_shown: bool = True,
) -> Exercise:
    """The volume that a rule comes to for a weight as it was told."""
    given = dose_asked(rule, weight, syringes=syringes)
    return Exercise(
        kind=DOSE,
        topic=TOPIC,
        grade=grade,
        question=_QUESTION,
        facts=tuple(_facts(rule, weight, syringes)),
        given=json.dumps(given),
        asked=VOLUME,
        units=DOSE_UNITS,
        rule=rule.printed,
        source=f"{rule.source}, {rule.version} ({rule.status})",
        notice=rule.notice,
        subject=f"{rule.medicine}, {way_of(is_rule_shown=is_rule_shown)}",
        is_rule_shown=is_rule_shown,
        medicine=rule,
        weight=weight,
    )


def _facts(rule: MedicineRule, weight: str, syringes: Sequence[int]) -> Iterator[Told]:
    sizes = ", ".join(f"{size} mL" for size in syringes)
    yield Told("Weight as told", weight)
    yield Told(
        "In your hand",
        f"{rule.medicine} {rule.presentation}",
        f"Syringes aboard: {sizes}" if sizes else "",
    )
