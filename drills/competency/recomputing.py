"""Whether what is stored of the model is what all evidence leads to, and making it so."""

from collections.abc import Iterator
from dataclasses import dataclass

from drills.competency.fitted import figures_of
from drills.competency.gathering import Numbering, columns_of, seen_rows
from drills.competency.models import Fit, PersonOffset
from drills.competency.moving import MOVING, replayed
from drills.competency.refitting import Say, as_it_stood, fitted_to, offsets_of
from drills.engine.knowing.history import history

# Sums in another order differ by so much.
NEAR = 1e-6


@dataclass(frozen=True, slots=True)
class Difference:
    """A figure that is stored as something else than the evidence leads to."""

    what: str
    stored: float
    worked_out: float


def differences(made: Fit, say: Say) -> Iterator[Difference]:
    """Every stored figure of a fit, and of people since, that replaying all evidence does not give.

    Answers of people who were erased since cannot be replayed: where there are fewer answers than
    the fit was made of, that is told first.
    """
    numbering = Numbering()
    say("reading the evidence")
    answers = columns_of(seen_rows(as_it_stood(made.through, made.made_at)), numbering)
    if int(answers.scored.sum()) != made.answers:
        yield Difference("answers", made.answers, int(answers.scored.sum()))
    if not answers.scored.any():
        return
    model, times = fitted_to(answers, history(answers), say)
    worked_out = figures_of(model, times, numbering)
    yield from _between(made.figures["coefficients"], worked_out["coefficients"], "coefficient")
    for name, levels in worked_out["offsets"].items():
        stored = {key: mean for key, (mean, _) in made.figures["offsets"][name].items()}
        yield from _between(stored, {key: mean for key, (mean, _) in levels.items()}, name)
    fitted = {
        row.person_id: row.fitted_mean
        for row in offsets_of(made, model, times, numbering.names("person"))
    }
    rows = {row.person_id: row for row in PersonOffset.objects.filter(fit=made)}
    yield from _between(
        {f"{key}": row.fitted_mean for key, row in rows.items()},
        {f"{key}": mean for key, mean in fitted.items()},
        "person",
    )
    for again in replayed(made):
        for figure in MOVING:
            name = f"{figure} of person"
            stored_figure, figure_again = (
                getattr(rows[again.person_id], figure),
                getattr(again, figure),
            )
            yield from _between(
                {f"{again.person_id}": stored_figure}, {f"{again.person_id}": figure_again}, name
            )


def _between(
    stored: dict[str, float], worked_out: dict[str, float], name: str
) -> Iterator[Difference]:
    for key in sorted(stored.keys() | worked_out.keys()):
        one, two = stored.get(key, float("nan")), worked_out.get(key, float("nan"))
        if not abs(one - two) <= NEAR:
            yield Difference(f"{name} {key}", one, two)
