"""How much two answers agree, as a variance: against integrals that are worked out apart."""

import numpy as np
import pytest
from numpy.polynomial.hermite_e import hermegauss
from scipy.optimize import brentq
from scipy.special import expit, logit

from drills.engine.knowing.agreeing import variance_of_agreement
from drills.engine.knowing.columns import Floats

LEAST, MOST = 0.005, 9.0
CHANCES = np.linspace(0.05, 0.97, 60)


def covariances(first: Floats, second: Floats, variance: float) -> Floats:
    """The covariance of two chances that have a normal doubt in common, each in the mean as given:
    its middle found by trial, and the integral taken at 101 nodes."""
    nodes, weights = hermegauss(101)
    weights, doubt = weights / weights.sum(), np.sqrt(variance) * nodes

    def knows(chance: float) -> Floats:
        middle = brentq(lambda at: float(weights @ expit(at + doubt)) - chance, -30, 30)
        return np.asarray(expit(middle + doubt))

    both = [weights @ (knows(a) * knows(b)) - a * b for a, b in zip(first, second, strict=True)]
    return np.array(both)


def found(first: Floats, second: Floats, agreed: float, *, guess: float = 0.0) -> float:
    """What is found of pairs of chances, each a hundred times."""
    odds = [np.repeat(logit(each), 100) for each in (first, second)]
    weight = np.full(len(odds[0]), (1.0 - guess) ** 2)
    return variance_of_agreement((odds[0], odds[1]), weight, 100 * agreed, LEAST, MOST)


@pytest.mark.parametrize("variance", [0.1, 0.5, 1.0, 2.0, 4.0])
def test_the_variance_that_makes_two_answers_agree_so_far_is_found(variance: float) -> None:
    """Within a tenth of pairs of all chances, whichever of them is the first."""
    other = np.roll(CHANCES, 7)
    agreed = covariances(CHANCES, other, variance).sum()

    assert found(CHANCES, other, agreed) == pytest.approx(variance, rel=0.1)
    assert found(other, CHANCES, agreed) == pytest.approx(variance, rel=0.1)


def test_little_variance_is_what_agrees_by_what_it_weighs_and_much_is_more() -> None:
    """Taken as straight, the sum over what it weighs tells of a small one, and of 1 a quarter too
    little."""
    weighs = np.sum((CHANCES * (1 - CHANCES)) ** 2)
    little, much = (covariances(CHANCES, CHANCES, each).sum() for each in (0.02, 1.0))

    assert found(CHANCES, CHANCES, little) == pytest.approx(little / weighs, rel=0.03)
    assert found(CHANCES, CHANCES, much) > 1.25 * much / weighs


def test_where_chance_alone_is_in_it_less_agreement_says_as_much() -> None:
    agreed = covariances(CHANCES, CHANCES, 1.0).sum()

    assert found(CHANCES, CHANCES, agreed * 0.7**2, guess=0.3) == pytest.approx(1.0, rel=0.1)


@pytest.mark.parametrize(("agreed", "bound"), [(-3.0, LEAST), (0.0, LEAST), (1e4, MOST)])
def test_no_agreement_and_more_than_can_be_stay_within_the_bounds(
    agreed: float, bound: float
) -> None:
    assert found(CHANCES, CHANCES, agreed) == bound
