"""How good the model's chances are: of the latest answers, each told by earlier ones alone."""

from dataclasses import asdict
from typing import Any

import numpy as np

from drills.engine.knowing.columns import Answers, Floats
from drills.engine.knowing.fitting import fit
from drills.engine.knowing.rolling import stepped
from drills.engine.measures import log_loss, measure

# The latest so many days are held back from the fit that is judged; of fewer answers than these
# nothing is said.
HELD_BACK_DAYS, FEWEST_JUDGED = 30.0, 100


def checked(answers: Answers, past: Floats) -> dict[str, Any] | None:
    """What the chances of the latest month were worth; None of too few answers.

    The model is fitted to what came before and then moved by one answer after the other. `days` and
    `count` say of how much, `plain` is the log loss of always saying the share that was right
    before; the rest are `measures.Measures`.
    """
    if not len(answers):
        return None
    since = answers.time[-1] - HELD_BACK_DAYS
    at = int(np.searchsorted(answers.time, since))
    before, after = slice(0, at), slice(at, len(answers))
    # Partly right is neither, and judges nothing.
    judged = answers.scored[after] & np.isin(answers.right[after], (0.0, 1.0))
    if min(int(judged.sum()), int(answers.scored[before].sum())) < FEWEST_JUDGED:
        return None
    model = fit(answers.take(before), past[before])
    chances = stepped(model, answers.take(after), past[after])[judged]
    right = (answers.right[after][judged] >= 1.0).astype(float)
    usual = float(answers.right[before][answers.scored[before]].mean())
    told = asdict(measure(right, chances))
    return {"days": HELD_BACK_DAYS, "plain": log_loss(right, np.full(len(right), usual)), **told}
