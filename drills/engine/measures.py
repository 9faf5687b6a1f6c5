"""How good chances were, once it is known what came of them.

`right` is 1 or 0 of each answer, `chance` what was thought before, both of one length. Every
figure stands with how many answers it is of: a gap of calibration is never quite nothing, not even
of true chances, and less so of few answers.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import minimize
from scipy.special import expit, log_expit, logit
from scipy.stats import rankdata

from drills.engine.memory import wilson

Array = NDArray[np.float64]

BINS = 10
# No chance is believed to be nearer to never or always than this when it is judged.
NEAREST = 1e-6
CONVERGED, STEEPEST = 1e-8, 50.0


@dataclass(frozen=True, slots=True)
class Bin:
    """So many answers of about one chance: the mean chance, the share that was right, and the
    80 % interval of that share."""

    count: int
    chance: float
    share: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Brier:
    """The mean squared error and its parts, after Murphy 1973 (from memory): `score` is
    `reliability` - `resolution` + `uncertainty` + `within`, the last for chances that differ
    inside a bin (Stephenson 2008, from memory) and nothing where they do not."""

    score: float
    reliability: float
    resolution: float
    uncertainty: float

    @property
    def within(self) -> float:
        """What the bins do not tell apart."""
        return self.score - self.reliability + self.resolution - self.uncertainty


@dataclass(frozen=True, slots=True)
class Measures:
    """All figures of some answers. `slope` and `intercept` are those of the line through the
    log-odds, 1 and 0 for true chances; `gap` is the expected calibration error."""

    count: int
    right: float
    log_loss: float
    brier: Brier
    slope: float
    intercept: float
    gap: float
    auc: float
    bins: tuple[Bin, ...]


def measure(right: ArrayLike, chance: ArrayLike) -> Measures:
    """Every figure at once; `ValueError` for no answers, or two columns of different lengths."""
    seen, thought = _columns(right, chance)
    slope, intercept = calibration_line(seen, thought)
    bins = reliability(seen, thought)
    return Measures(
        count=len(seen),
        right=float(seen.mean()),
        log_loss=log_loss(seen, thought),
        brier=brier(seen, thought),
        slope=slope,
        intercept=intercept,
        gap=_gap(bins),
        auc=auc(seen, thought),
        bins=bins,
    )


def log_loss(right: ArrayLike, chance: ArrayLike) -> float:
    """The mean of the negative natural logarithm of the chance of what came."""
    seen, thought = _columns(right, chance)
    return float(-np.log(np.where(seen > 0, thought, 1.0 - thought)).mean())


def brier(right: ArrayLike, chance: ArrayLike) -> Brier:
    """The mean squared error, and its parts by bins of equal count."""
    seen, thought = _columns(right, chance)
    bins, mean = reliability(seen, thought), float(seen.mean())
    return Brier(
        score=float(np.mean((thought - seen) ** 2)),
        reliability=sum(each.count * (each.chance - each.share) ** 2 for each in bins) / len(seen),
        resolution=sum(each.count * (each.share - mean) ** 2 for each in bins) / len(seen),
        uncertainty=mean * (1.0 - mean),
    )


def reliability(right: ArrayLike, chance: ArrayLike, *, bins: int = BINS) -> tuple[Bin, ...]:
    """Answers in bins of equal count by their chance; fewer where there are fewer answers."""
    seen, thought = _columns(right, chance)
    order = np.argsort(thought, kind="stable")
    parts = np.array_split(order, min(bins, len(order)))
    return tuple(_bin(seen[part], thought[part]) for part in parts)


def calibration_gap(right: ArrayLike, chance: ArrayLike) -> float:
    """The expected calibration error: how far share and mean chance lie apart, over ten bins of
    equal count."""
    return _gap(reliability(right, chance))


def calibration_line(right: ArrayLike, chance: ArrayLike) -> tuple[float, float]:
    """Slope and intercept of the logistic regression of what came on the log-odds of the chance.

    Not a number where no finite line fits best: all right, all wrong, or split at one chance.
    """
    seen, thought = _columns(right, chance)
    columns = np.stack([logit(thought), np.ones(len(seen))], axis=1)
    if _is_split(seen, thought):
        return float("nan"), float("nan")

    def loss(line: Array) -> tuple[float, Array]:
        at = columns @ line
        told = -float(np.mean(seen * log_expit(at) + (1.0 - seen) * log_expit(-at)))
        return told, columns.T @ (expit(at) - seen) / len(seen)

    found = minimize(
        loss, np.array([1.0, 0.0]), jac=True, method="BFGS", options={"gtol": CONVERGED}
    )
    slope, intercept = map(float, found.x)
    is_finite = max(abs(slope), abs(intercept)) < STEEPEST
    return (slope, intercept) if is_finite else (float("nan"), float("nan"))


def _is_split(seen: Array, thought: Array) -> bool:
    """Whether one chance parts right from wrong, or nothing tells them apart."""
    hits, misses = thought[seen > 0], thought[seen <= 0]
    if not len(hits) or not len(misses) or np.ptp(thought) == 0:
        return True
    return bool(hits.min() >= misses.max() or misses.min() >= hits.max())


def auc(right: ArrayLike, chance: ArrayLike) -> float:
    """The chance that of a right and a wrong answer the right one was thought likelier, ties half.

    Not a number where all were right or all wrong.
    """
    seen, thought = _columns(right, chance)
    hits, misses = int(seen.sum()), int((1 - seen).sum())
    if not hits or not misses:
        return float("nan")
    ranks = rankdata(thought)[seen > 0].sum()
    return float((ranks - hits * (hits + 1) / 2) / (hits * misses))


def share_of_gain(loss: float, *, worst: float, best: float) -> float:
    """How much of the way from the worst log loss to the best is gone, 1 at the best."""
    return (worst - loss) / (worst - best)


def _gap(bins: tuple[Bin, ...]) -> float:
    apart = sum(each.count * abs(each.chance - each.share) for each in bins)
    return apart / sum(each.count for each in bins)


def _bin(seen: Array, thought: Array) -> Bin:
    low, high = wilson(float(seen.sum()), len(seen))
    return Bin(len(seen), float(thought.mean()), float(seen.mean()), low, high)


def _columns(right: ArrayLike, chance: ArrayLike) -> tuple[Array, Array]:
    seen, thought = np.asarray(right, dtype=float), np.asarray(chance, dtype=float)
    if seen.shape != thought.shape or seen.ndim != 1 or not len(seen):
        raise ValueError(f"answers {seen.shape} and chances {thought.shape}: as many of both")
    return seen, np.clip(thought, NEAREST, 1.0 - NEAREST)
