"""What a chance is in the mean over what is not known of its log-odds."""

import numpy as np

from drills.engine.knowing.columns import Floats

# The logistic curve beside the normal one: with the same slope in the middle.
SMOOTHED = np.pi / 8


def averaged(log_odds: Floats, variance: Floats) -> Floats:
    """Log-odds of the chance in the mean over a normal doubt of a variance about them.

    Nearer to even the larger the doubt, and off by no more than .018 of a chance: MacKay, Neural
    Computation 1992; 4: 720-736, from memory, checked by `tests/data/averaged_chances.csv`.
    """
    return np.asarray(log_odds / np.sqrt(1.0 + SMOOTHED * variance))


def centred(log_odds: Floats, variance: Floats) -> Floats:
    """The middle of a normal doubt, whose mean chance has these log-odds: `averaged` undone."""
    return np.asarray(log_odds * np.sqrt(1.0 + SMOOTHED * variance))
