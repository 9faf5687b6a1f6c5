"""A medicine's rule as drills ask about it: who it is for, its dose, and how it is packed."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from drills.engine.concentrations import Presentation
from drills.engine.dosing import DoseRule

SAFETY_WORDS = (
    "Training only. Follow your local protocols and medical direction; "
    "check every dose with your partner."
)

Number = Fraction | float
Bounds = tuple[Fraction | None, Fraction | None]


@dataclass(frozen=True, slots=True)
class ProblemOf:
    """A problem that a rule is for, and the severities it is for; none named is any."""

    problem: str
    severities: tuple[int, ...] = ()

    def is_of(self, problem: str, severity: int) -> bool:
        """Whether a patient with that problem, of that severity, is meant."""
        return problem == self.problem and (not self.severities or severity in self.severities)


@dataclass(frozen=True, slots=True, kw_only=True)
class MedicineRule:
    """One rule that can be drilled, with everything a page must say beside it.

    `ages` in years and `weights` in kg are from the first figure to below the second; None is no
    bound. `printed` is the dose as a person reads it, `level` the key of the certification level
    and `need` the key of what the dose is drawn from, empty where that is not said.
    """

    code: str
    medicine: str
    indication: str
    route: str
    level: str
    need: str
    problems: tuple[ProblemOf, ...]
    ages: Bounds
    weights: Bounds
    rule: DoseRule
    presentation: Presentation
    printed: str
    source: str
    version: str
    status: str
    notice: str


def fits(rule: MedicineRule, problem: str, severity: int, age_y: Number, weight_kg: Number) -> bool:
    """Whether a rule is for such a patient; one that names no problem fits nobody."""
    return (
        any(each.is_of(problem, severity) for each in rule.problems)
        and _within(rule.ages, age_y)
        and _within(rule.weights, weight_kg)
    )


def dose_asked(rule: MedicineRule, weight: str, *, syringes: Sequence[int]) -> dict[str, Any]:
    """The dose of a rule for a weight as it was told, as a problem in plain data."""
    figures = rule.rule
    weighs = {"weight": weight, "per_weight": figures.dose.exactly()}
    optional = {
        "high": figures.dose_high,
        "min": figures.minimum,
        "max": figures.maximum,
    }
    packed = rule.presentation
    return {
        "kind": "dose",
        **(weighs if figures.is_per_kg else {"fixed": figures.dose.exactly()}),
        **{name: amount.exactly() for name, amount in optional.items() if amount},
        "concentration": {"amount": packed.amount.exactly(), "in": packed.volume.exactly()},
        "syringes": list(syringes),
    }


def _within(bounds: Bounds, value: Number) -> bool:
    start, below = bounds
    return (start is None or value >= start) and (below is None or value < below)


def printed_dose(dose: str, *, high: str = "", minimum: str = "", maximum: str = "") -> str:
    """A dose in words, such as `0.2 mg/kg, at most 10 mg`.

    A limit that is the dose itself, or the end of its range, says nothing and is left out.
    """
    said = [f"{dose} to {high}" if high else dose]
    if minimum and minimum != dose:
        said.append(f"at least {minimum}")
    if maximum and maximum not in (dose, high):
        said.append(f"at most {maximum}")
    return ", ".join(said)
