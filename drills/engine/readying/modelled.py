"""What a fitted model thinks of one person, as calls and things ask for it."""

from collections.abc import Collection

import numpy as np

from drills.engine.facts import Fact
from drills.engine.knowing.columns import Answers, Ints
from drills.engine.knowing.history import history
from drills.engine.knowing.model import Model
from drills.engine.knowing.thinking import doubt_of
from drills.engine.knowing.times import Times
from drills.engine.readying.known import Known


def known_of(
    model: Model, pace: Times, answers: Answers, rows: Ints, facts: Collection[Fact]
) -> Known:
    """What is thought of some facts, one for each of `rows`: questions that nobody answered yet.

    `answers` are one person's, those questions among them; `pace` is how long things take them.
    """
    doubt = doubt_of(model, answers, history(answers, pace), rows)
    took = pace.log_seconds(answers.person, answers.fact, answers.modality)
    return Known(
        facts=tuple(facts),
        logit=doubt.centre,
        variance=doubt.own,
        shared=doubt.shared,
        floor=answers.guess[rows],
        log_seconds=took[rows],
        log_spread=np.full(len(rows), pace.spread),
        firsts=doubt.firsts,
        hands_on=doubt.hands_on,
    )
