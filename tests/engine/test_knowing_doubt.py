"""How sure the model is: a chance is the mean over what is not known, wherever it is said."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.polynomial.hermite_e import hermegauss
from scipy.special import expit, logit

from drills.engine.knowing.averaging import averaged
from drills.engine.knowing.carrying import COEFFICIENTS, share_of_usual
from drills.engine.knowing.columns import Answers, Floats
from drills.engine.knowing.fitting import fit
from drills.engine.knowing.history import NAMES, history
from drills.engine.knowing.model import CATEGORY, FACT, KIND, NEED, PERSON, Model, blank
from drills.engine.knowing.rolling import stepped
from drills.engine.knowing.thinking import doubt_of
from tests.engine.knowing_answers import ability, drawn
from tests.engine.test_knowing_fit import Whole, figures_of
from tests.reference import table

MEANS = table("averaged_chances.csv")
# How far the approximation may be off, and two of them one after the other.
OFF, TWICE = 0.018, 0.02
NOBODY = 999


def fitted(seed: int = 4) -> tuple[Model, Answers, Floats]:
    answers = drawn(seed, rows=300)
    past = history(answers)
    return fit(answers, past), answers, past


def mean_over(centre: Floats, variance: Floats) -> Floats:
    """The mean chance over a normal doubt, integrated."""
    nodes, weights = hermegauss(61)
    at = centre + np.sqrt(variance) * nodes[:, None]
    return np.asarray(weights @ expit(at) / weights.sum())


@pytest.mark.parametrize("row", MEANS, ids=lambda row: f"{row['log_odds']} +- {row['variance']}")
def test_a_chance_in_the_mean_over_a_doubt_is_near_the_integral(row: dict[str, str]) -> None:
    told = expit(averaged(np.array(float(row["log_odds"])), np.array(float(row["variance"]))))

    assert told == pytest.approx(float(row["mean"]), abs=float(row["within"]))


@given(centre=st.floats(-8, 8), variance=st.floats(0, 9))
def test_it_is_never_farther_from_the_integral_than_it_says(centre: float, variance: float) -> None:
    at, doubt = np.array([centre]), np.array([variance])

    assert abs(expit(averaged(at, doubt)) - mean_over(at, doubt))[0] < OFF


def test_what_is_not_known_of_sums_is_worked_out_from_the_whole_curvature() -> None:
    """Answers tell of the sum of a thing's own offset and its need's, and of that of the level and
    the only kind of prompt: its variance is less than that of the parts."""
    answers, _ = ability(3, people=12, things=7, each=40)
    answers = replace(answers, need=answers.fact)
    past = history(answers)
    model = fit(answers, past)
    whole = Whole.of(answers, past, model)
    chance = whole.chances(figures_of(model))
    curved = whole.columns.T @ (whole.columns * (chance * (1 - chance))[:, None])
    covariance = np.linalg.inv(curved + np.diag(1 / whole.prior))
    sizes = [len(model.offsets[name].means) for name in (NEED, FACT, CATEGORY, KIND)]
    needs, _, categories, kinds = len(covariance) - np.cumsum(sizes[::-1])[::-1]
    things = covariance[needs:categories, needs:categories]
    of_sum = np.diag(things[:7, :7] + things[:7, 7:] + things[7:, :7] + things[7:, 7:])
    rows = np.array([int(np.flatnonzero(answers.fact == thing)[0]) for thing in range(7)])
    few = [*range(len(COEFFICIENTS)), categories, kinds]

    assert model.doubt_of_things(answers.take(rows), past[rows]) == pytest.approx(of_sum, rel=1e-3)
    assert (of_sum < np.diag(things)[:7]).all()
    assert model.covariance == pytest.approx(covariance[np.ix_(few, few)], rel=1e-3, abs=1e-5)
    assert covariance[0, kinds] < -0.5 * covariance[kinds, kinds]


@pytest.mark.parametrize("unknown", ["person", "need", "fact"])
def test_what_is_less_known_is_nearer_to_even(unknown: str) -> None:
    """Of as high log-odds, a row of nobody or nothing that is known is thought less sure of."""
    answers, _ = ability(4, people=12, things=7, each=40)
    answers = replace(answers, need=answers.fact)
    past = history(answers)
    model = fit(answers, past)
    other = replace(answers, **{unknown: np.full(len(answers), NOBODY)})
    known, less = (model.doubt(each, past) for each in (answers, other))
    odds = model.log_odds(answers, past)

    assert (less > known).all()
    assert (np.abs(averaged(odds, less)) < np.abs(averaged(odds, known))).all()


def test_an_answer_told_of_by_nothing_is_even_whatever_the_doubt() -> None:
    answers = drawn(1)

    assert blank().chances(answers, history(answers)) == pytest.approx(
        answers.guess + (1 - answers.guess) / 2
    )


@pytest.mark.parametrize("seed", range(3))
def test_the_mean_over_what_is_not_known_of_a_person_is_the_chance(seed: int) -> None:
    """What pages draw from has the chance as its mean, within two hundredths."""
    model, answers, past = fitted(seed)
    for person in range(5):
        own = np.flatnonzero(answers.person == person)
        mine, before = answers.take(own), past[own]
        doubt = doubt_of(model, mine, before, np.arange(len(own)))
        told = mean_over(doubt.centre, doubt.own + doubt.shared**2)

        assert (doubt.own >= 0).all()
        assert mine.guess + (1 - mine.guess) * told == pytest.approx(
            model.chances(mine, before), abs=TWICE
        )


def test_of_what_moved_only_a_share_of_the_doubt_about_the_person_counts() -> None:
    """Nothing else being doubted, things share it as far as what is usual carries over."""
    at = COEFFICIENTS.index("carries over to a new place")
    nothing = np.zeros((len(COEFFICIENTS), len(COEFFICIENTS)))
    model = replace(blank(), coefficients=-np.eye(len(COEFFICIENTS))[at], covariance=nothing)
    two = drawn(2).take(np.array([3, 3]))
    answers = replace(two, scored=two.right > 1, counts=two.right > 1, moved=np.array([np.nan, 0]))
    past = history(answers)
    past[:, 1 : NAMES.index("moved")] = 0.0
    doubt = doubt_of(model, answers, past, np.arange(2))
    share = share_of_usual(past, model.coefficients)
    person = np.sqrt(model.offsets[PERSON].variance)

    assert share[1] < 0.5 < share[0] == 1.0
    assert doubt.shared == pytest.approx(share * person)


def test_nothing_asked_is_nothing_doubted() -> None:
    model, answers, past = fitted()

    assert len(doubt_of(model, answers, past, np.zeros(0, dtype=np.int64)).centre) == 0


def test_the_first_answer_after_a_fit_is_predicted_as_by_the_fit() -> None:
    """Row by row or all at once: until an answer moves the model both say the same."""
    model, answers, past = fitted()
    told = model.chances(answers, past)
    alone = [stepped(model, answers.take(np.array([at])), past[[at]])[0] for at in range(40)]

    assert alone == pytest.approx(told[:40], abs=1e-9)
    assert logit(told).std() > 0.1
