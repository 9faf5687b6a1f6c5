"""Whether what is stored of the model is what all evidence leads to, and making it so."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from drills.competency.expecting import chances_of, expected_by
from drills.competency.fitted import figures_of
from drills.competency.gathering import Numbering, day_of
from drills.competency.models import Expected, Fit, PersonOffset
from drills.competency.moving import MOVING, replayed
from drills.competency.refitting import (
    Say,
    as_it_stood,
    came_of,
    fitted_to,
    numbered_columns,
    offsets_of,
)
from drills.engine.knowing.history import history

OWN = ["fitted_mean", "fitted_variance", "forgetting", "forgetting_variance", "speed", "came_at"]
# Sums in another order differ by so much.
NEAR = 1e-6


@dataclass(frozen=True, slots=True)
class Difference:
    """A figure that is stored as something else than the evidence leads to."""

    what: str
    stored: float
    worked_out: float


def newest() -> Fit | None:
    """The fit that stands."""
    return Fit.objects.first()


def differences(made: Fit, say: Say) -> Iterator[Difference]:
    """Every stored figure of a fit, and of people since, that replaying all evidence does not give.

    Answers of people who were erased since cannot be replayed: where there are fewer answers than
    the fit was made of, that is among the differences.
    """
    numbering = Numbering()
    say("reading the evidence")
    answers, rows = numbered_columns(as_it_stood(made.through, made.voided), numbering)
    worked_out = {"answers": float(answers.scored.sum())}
    if answers.scored.any():
        past = history(answers)
        model, times = fitted_to(answers, past, say)
        worked_out |= _shared(figures_of(model, times, numbering, answers))
        fitted = offsets_of(made, model, times, came_of(answers, numbering))
        worked_out |= _of_people(fitted, OWN) | _of_people(replayed(made), MOVING)
        worked_out |= _of_rows(expected_by(model, answers, past, rows))
    people = list(PersonOffset.objects.filter(fit=made))
    stored = {"answers": float(made.answers), **_shared(made.figures)}
    stored |= _of_people(people, [*OWN, *MOVING])
    stored |= _of_rows(Expected.objects.filter(fit=made).first())
    for what in sorted(stored.keys() | worked_out.keys()):
        one, two = (figures.get(what, math.nan) for figures in (stored, worked_out))
        if not abs(one - two) <= NEAR:
            yield Difference(what, one, two)


def _shared(figures: Any, path: str = "") -> dict[str, float]:
    """Every figure that people share, by what it is of."""
    if isinstance(figures, (int, float)):
        return {path: float(figures)}
    if isinstance(figures, str):
        return {}
    parts = figures.items() if isinstance(figures, dict) else enumerate(figures)
    found: dict[str, float] = {}
    for name, each in parts:
        found |= _shared(each, f"{path}, {name}" if path else str(name))
    return found


def _of_people(rows: Iterable[PersonOffset], names: Iterable[str]) -> dict[str, float]:
    return {
        f"{name} of person {row.person_id}": _figure(getattr(row, name))
        for name in names
        for row in rows
    }


def _of_rows(kept: Expected | None) -> dict[str, float]:
    return {f"expected of row {row}": chance for row, chance in chances_of(kept).items()}


def _figure(value: float | datetime | None) -> float:
    """As a number; a moment in days, and 0 where there is none."""
    if isinstance(value, datetime):
        return day_of(value)
    return value or 0.0
