"""How easy things are and how far apart people are, from who got what right.

One slope for all things: with few people a slope of its own for each says nothing.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.polynomial.hermite_e import hermegauss
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import expit, log_expit, logsumexp

from drills.engine.door import NotUnderstoodError, shown, shown_name

ONE_SLOPE = "one_slope"
# Points at which ability is looked at. Of the published table 21 and 81 tell the same to 1e-6.
POINTS = 81
MOST_ITEMS, MOST_PATTERNS, MOST_PEOPLE = 200, 20_000, 10**9
# A slope beyond this runs away: whoever has one right has all. Ours, no source.
STEEPEST = 40.0
CONVERGED = 1e-4

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ItemFit:
    """What fits best: P(right) = 1 / (1 + exp(-(slope * ability + intercept))).

    `intercept` is one of each thing, in their order; ability is standard normal.
    `log_likelihood` is natural, of all people together.
    """

    log_likelihood: float
    slope: float
    intercept: tuple[float, ...]


def fit_one_slope(right: Array, people: Array) -> ItemFit:
    """Fit one slope and an intercept for each thing by marginal maximum likelihood.

    `right` has a row for each pattern of answers and a column for each thing, 1 for right and 0 for
    wrong; `people` is how many gave each pattern. Ability is integrated out by Gauss-Hermite
    quadrature. `ValueError` where no finite figures fit best: a thing that everybody or nobody got
    right, or answers that all agree. Source of the method: Bock and Aitkin, Psychometrika 1981; 46:
    443-459, from memory; checked by `tests/data/lsat6_one_slope.csv`.
    """
    share = people @ right / people.sum()
    _refuse_settled(share)
    ability, weights = hermegauss(POINTS)
    log_weights = np.log(weights / weights.sum())

    def loss(figures: Array) -> tuple[float, Array]:
        at = figures[0] * ability[:, None] + figures[1:]
        each = right @ log_expit(at).T + (1.0 - right) @ log_expit(-at).T + log_weights
        whole = logsumexp(each, axis=1)
        there = people[:, None] * np.exp(each - whole[:, None])
        off = there.T @ right - there.sum(axis=0)[:, None] * expit(at)
        gradient = np.concatenate([[(ability[:, None] * off).sum()], off.sum(axis=0)])
        return -float(people @ whole), -gradient

    start = np.concatenate([[1.0], np.log(share / (1.0 - share))])
    found = minimize(loss, start, jac=True, method="BFGS", options={"gtol": 1e-7 * people.sum()})
    slope = abs(float(found.x[0]))
    if slope > STEEPEST or np.abs(loss(found.x)[1]).max() > CONVERGED * people.sum():
        raise ValueError("Answers agree so closely that no finite slope fits them best.")
    return ItemFit(-float(found.fun), slope, tuple(map(float, found.x[1:])))


def _refuse_settled(share: Array) -> None:
    for number, each in enumerate(share, 1):
        if not 0.0 < each < 1.0:
            who = "everybody" if each else "nobody"
            raise ValueError(f"Item {number}: {who} got it right, so that nothing finite fits it.")


def told_fit(given: Any) -> dict[str, Any]:
    """The fit of `{"patterns": {"00101": 3, ...}, "model": "one_slope"}` as plain data.

    `NotUnderstoodError` names the field and what it accepts.
    """
    if not isinstance(given, Mapping):
        raise NotUnderstoodError(
            f"standard input: {shown(given)} came in; an object with patterns and a model is "
            "accepted."
        )
    for name in given.keys() - {"patterns", "model"}:
        raise NotUnderstoodError(f"{shown_name(name)}: there is no such field.")
    if given.get("model") != ONE_SLOPE:
        raise NotUnderstoodError(f"model: {shown(given.get('model'))} came in; it is {ONE_SLOPE}.")
    right, people = _read_patterns(given.get("patterns"))
    try:
        fit = fit_one_slope(right, people)
    except ValueError as error:
        raise NotUnderstoodError(f"patterns: {error}") from error
    return {
        "log_likelihood": fit.log_likelihood,
        "slope": fit.slope,
        "intercept": list(fit.intercept),
    }


def _read_patterns(given: Any) -> tuple[Array, Array]:
    if not isinstance(given, Mapping) or not given:
        raise NotUnderstoodError(
            f'patterns: {shown(given)} came in; an object such as {{"001": 4, "011": 2}} is '
            "accepted: each thing right or wrong, and how many people."
        )
    if len(given) > MOST_PATTERNS:
        raise NotUnderstoodError(
            f"patterns: {len(given)} came in; at most {MOST_PATTERNS} are accepted."
        )
    _refuse_patterns(given)
    people = np.array(list(given.values()), dtype=float)
    if not people.sum():
        raise NotUnderstoodError("patterns: nobody is in them; at least one person is accepted.")
    return np.array([[each == "1" for each in pattern] for pattern in given], dtype=float), people


def _refuse_patterns(given: Mapping[str, Any]) -> None:
    length = len(next(iter(given)))
    if not 2 <= length <= MOST_ITEMS:
        raise NotUnderstoodError(
            f"patterns: {length} things came in; 2 to {MOST_ITEMS} are accepted."
        )
    for pattern, count in given.items():
        _refuse_pattern(pattern, count, length)


def _refuse_pattern(pattern: str, count: Any, length: int) -> None:
    if set(pattern) - {"0", "1"} or len(pattern) != length:
        raise NotUnderstoodError(
            f"patterns: {shown_name(pattern)} came in; {length} times 0 or 1 is accepted, as in "
            "the first."
        )
    is_whole = isinstance(count, int) and not isinstance(count, bool)
    if not is_whole or not 0 <= count <= MOST_PEOPLE:
        raise NotUnderstoodError(
            f"patterns: {shown(count)} people came in for {pattern}; a whole number from 0 to "
            f"{MOST_PEOPLE} is accepted."
        )
