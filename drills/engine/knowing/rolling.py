"""Row by row, as a service would have seen it: each answer predicted from those before it alone.

The model is fitted anew whenever the answers have grown by a fifth; in between each answer moves
the coefficients and its person's and its fact's offsets by one step.
"""

import numpy as np

from drills.engine.knowing.columns import Answers, Floats
from drills.engine.knowing.fitting import fit
from drills.engine.knowing.history import history
from drills.engine.knowing.model import Model, blank
from drills.engine.knowing.online import Moving

# The first fit, and how much the answers grow from one to the next: ours, no source.
FIRST_FIT, GROWTH = 24, 1.2


def predict_rows(answers: Answers) -> Floats:
    """The chance that each row is right, told by earlier rows alone. Times must not fall."""
    past = history(answers)
    found = np.empty(len(answers))
    model, at = blank(), 0
    while at < len(answers):
        until = min(len(answers), max(FIRST_FIT, int(at * GROWTH) + 1))
        rows = slice(at, until)
        found[rows] = stepped(model, answers.take(rows), past[rows])
        at = until
        if at < len(answers):
            before = slice(0, at)
            model = fit(answers.take(before), past[before], model)
    return found


def stepped(model: Model, answers: Answers, past: Floats) -> Floats:
    """The chance of each row in turn, the model moved by each outcome before the next."""
    moving = Moving(model)
    base, doubt_of_need = model.usual(answers, past), model.doubt_of_needs(answers)
    return np.array(
        [
            moving.next(*row)
            for row in zip(
                base.tolist(),
                doubt_of_need.tolist(),
                past,
                model.marks(answers),
                answers.person.tolist(),
                answers.fact.tolist(),
                answers.right.tolist(),
                answers.guess.tolist(),
                answers.scored.tolist(),
                strict=True,
            )
        ]
    )
