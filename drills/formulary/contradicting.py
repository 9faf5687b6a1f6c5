"""The rules of a revision that contradict each other, side by side."""

from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from drills.engine.contradictions import (
    CHILD_ABOVE_ADULT,
    SAME_DOSE,
    SAME_USE,
    Differing,
    Stated,
    contradictions,
)
from drills.formulary.models import DoseRule

WHY = {
    SAME_USE: "For the same use, and one patient can be under both",
    SAME_DOSE: "The same dose, with two maximums by what it is given for",
    CHILD_ABOVE_ADULT: "A child may have more than an adult",
}


@dataclass(frozen=True, slots=True)
class Pair:
    """Two rules that contradict each other, why they are held together, and what differs."""

    first: DoseRule
    second: DoseRule
    why: str
    differs: tuple[Differing, ...]

    @property
    def rules(self) -> tuple[DoseRule, DoseRule]:
        return self.first, self.second


def contradicting(rules: Collection[DoseRule]) -> list[Pair]:
    """The pairs of a revision's rules that disagree, in the order of the rules."""
    by_code = {rule.code: rule for rule in rules}
    return [
        Pair(by_code[each.first], by_code[each.second], WHY[each.kind], each.differs)
        for each in contradictions(map(_stated, rules))
    ]


def _stated(rule: DoseRule) -> Stated:
    return Stated(
        code=rule.code,
        medicine=rule.medicine.key,
        indication=rule.indication,
        route=rule.route,
        dose=rule.dose,
        dose_high=rule.dose_high,
        minimum=rule.minimum,
        maximum=rule.maximum,
        total=rule.max_total,
        over=rule.over_min,
        interval=rule.repeat_min,
        ages=(_exact(rule.age_from_y), _exact(rule.age_below_y)),
        weights=(_exact(rule.weight_from_kg), _exact(rule.weight_below_kg)),
        uses=tuple((each["problem"], tuple(each.get("severities", ()))) for each in rule.problems),
    )


def _exact(bound: Decimal | None) -> Fraction | None:
    return None if bound is None else Fraction(bound)
