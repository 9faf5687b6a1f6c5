"""The fit of the model: against a general optimiser, and by what was put in."""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.special import expit

from drills.engine.knowing import fitting
from drills.engine.knowing.averaging import SMOOTHED
from drills.engine.knowing.carrying import CARRIED, COEFFICIENTS
from drills.engine.knowing.columns import Answers, Floats
from drills.engine.knowing.fitting import fit, with_pairs
from drills.engine.knowing.history import NAMES, history
from drills.engine.knowing.model import (
    DAYS_SINCE,
    FACT,
    OWN,
    PERSON,
    SHARED,
    Model,
    blank,
    past_priors,
)
from drills.engine.knowing.online import Moving
from drills.engine.knowing.rolling import predict_rows
from tests.engine.knowing_answers import ability, drawn

# What a move says of a row whole, and what the shares of the usual and of the fact go by.
APART = ("moved", "days since it moved", "known at the old place", "known at the old place, fading")
NEW = ("new here", "days since they came")


def at(names: tuple[str, ...]) -> list[int]:
    return [NAMES.index(name) for name in names]


@dataclass(frozen=True)
class Whole:
    """All figures of a model in one row, with a column for each and the variance it has before;
    `facts` are where the facts' own stand."""

    columns: Floats
    prior: Floats
    answers: Answers
    facts: slice

    @classmethod
    def of(cls, answers: Answers, past: Floats, model: Model) -> "Whole":
        kept = answers.take(np.flatnonzero(answers.scored))
        seen = np.hstack([past[answers.scored], np.zeros((len(kept), len(CARRIED)))])
        people = np.eye(len(model.offsets[PERSON].means))[kept.person]
        columns = [seen, people, people * seen[:, [DAYS_SINCE]]]
        columns += [np.eye(len(model.offsets[n].means))[getattr(kept, n)] for n in SHARED]
        before = sum(each.shape[1] for each in columns[: 3 + SHARED.index(FACT)])
        facts = slice(before, before + len(model.offsets[FACT].means))
        prior = past_priors(model.past_variance)
        offsets = [model.offsets[name] for name in (*OWN, *SHARED)]
        variances = [np.full(len(each.means), each.variance) for each in offsets]
        return cls(np.hstack(columns), np.concatenate([prior, *variances]), kept, facts)

    def log_odds(self, figures: Floats) -> tuple[Floats, Floats]:
        """The log-odds of each row, and how they grow with each figure."""
        first, grows = len(NAMES), self.columns.copy()
        whose, moved = self.columns[:, at(NEW)], self.columns[:, at(APART[:2])]
        usually = 2 * expit(2 * moved @ figures[first : first + 2])
        of_fact = 2 * expit(2 * whose @ figures[first + 2 : first + 4])
        fact = self.columns[:, self.facts] @ figures[self.facts]
        grows[:, self.facts] *= of_fact[:, None]
        usual = np.delete(grows, at(APART), axis=1) @ np.delete(figures, at(APART))
        grows *= usually[:, None]
        grows[:, at(APART)] = self.columns[:, at(APART)]
        bend, bend_of_fact = usually * (2 - usually), of_fact * (2 - of_fact)
        grows[:, first : first + 2] = moved * (bend * usual)[:, None]
        grows[:, first + 2 : first + 4] = whose * (usually * bend_of_fact * fact)[:, None]
        said = self.columns[:, at(APART)] @ figures[at(APART)]
        return usually * usual + said, grows

    def chances(self, figures: Floats) -> Floats:
        guess = self.answers.guess
        return np.asarray(guess + (1 - guess) * expit(self.log_odds(figures)[0]))

    def loss(self, figures: Floats) -> tuple[float, Floats]:
        """Less the logarithm of the posterior density, and its slope."""
        guess, right = self.answers.guess, self.answers.right
        odds, grows = self.log_odds(figures)
        known, chance = expit(odds), self.chances(figures)
        told = -float(np.sum(right * np.log(chance) + (1 - right) * np.log1p(-chance)))
        pull = (1 - guess) * known * (1 - known) * (right - chance) / (chance * (1 - chance))
        return (
            told + float(np.sum(figures**2 / self.prior)) / 2,
            figures / self.prior - grows.T @ pull,
        )


def figures_of(model: Model) -> Floats:
    offsets = [model.offsets[name].means for name in (*OWN, *SHARED)]
    return np.concatenate([model.coefficients, *offsets])


@pytest.mark.parametrize("seed", range(4))
def test_no_other_figures_are_more_likely(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the variances it found, a general optimiser started from nothing ends where it did."""
    monkeypatch.setattr(fitting, "ENOUGH", 1e-7)
    monkeypatch.setattr(fitting, "MOST_ROUNDS", 400)
    answers = drawn(seed, rows=240)
    past = history(answers)
    model = fit(answers, past)
    whole, ours = Whole.of(answers, past, model), figures_of(model)
    found = minimize(
        whole.loss, np.zeros(len(ours)), jac=True, method="L-BFGS-B", options={"maxiter": 5000}
    )

    assert whole.loss(ours)[0] <= found.fun + 1e-6
    assert whole.chances(ours) == pytest.approx(whole.chances(found.x), abs=2e-3)


def test_spreads_are_those_of_the_curvature() -> None:
    """What is not known of an offset is the diagonal of the inverse curvature, worked out whole."""
    answers, _ = ability(3, people=12, things=7, each=40)
    past = history(answers)
    model = fit(answers, past)
    whole = Whole.of(answers, past, model)
    chance = whole.chances(figures_of(model))
    curved = whole.columns.T @ (whole.columns * (chance * (1 - chance))[:, None])
    spreads = np.concatenate([model.offsets[name].spreads for name in (*OWN, *SHARED)])
    worked_out = np.diag(np.linalg.inv(curved + np.diag(1 / whole.prior)))

    assert worked_out[len(COEFFICIENTS) :] == pytest.approx(spreads, rel=1e-3)


def test_variances_are_those_put_in() -> None:
    """People drawn with a spread of 1.2 and things with 0.8 are found to differ so, within a
    quarter: 200 people and 80 things say no more."""
    answers, chance = ability(5, people=200, things=80, each=60)
    model = fit(answers, history(answers))
    told = model.chances(answers, history(answers))

    assert model.offsets["person"].variance == pytest.approx(1.2**2, rel=0.25)
    assert model.offsets["fact"].variance == pytest.approx(0.8**2, rel=0.25)
    assert np.corrcoef(told, chance)[0, 1] > 0.95


def test_chances_are_as_often_right_as_they_say() -> None:
    """Each tenth of chances is what the true chances there are in the mean, within four in 100."""
    answers, chance = ability(6, people=200, things=80, each=60)
    told = predict_rows(answers)
    settled = slice(4000, None)
    tenths = np.array_split(np.argsort(told[settled]), 10)
    off = [told[settled][t].mean() - chance[settled][t].mean() for t in tenths]

    assert np.abs(off).max() < 0.04


def test_an_earlier_fit_leads_to_the_same_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """Started from a fit of half of the answers, all are told the same once variances settle."""
    monkeypatch.setattr(fitting, "ENOUGH", 1e-5)
    monkeypatch.setattr(fitting, "MOST_ROUNDS", 400)
    answers, _ = ability(7, people=40, things=30, each=40)
    past = history(answers)
    half = slice(0, 800)
    started = fit(answers, past, fit(answers.take(half), past[half]))

    assert started.chances(answers, past) == pytest.approx(
        fit(answers, past).chances(answers, past), abs=0.01
    )


@pytest.mark.parametrize("variance", [1.0, 2.25])
def test_answers_of_one_person_on_one_thing_agree_by_what_was_put_in(variance: float) -> None:
    """Where each person knows a thing or does not, beyond both, that variance is found within a
    fifth; where nobody does, next to none."""
    answers, chance = ability(8, people=60, things=20, each=200)
    past = history(answers)
    draw = np.random.default_rng(8)
    own = draw.normal(0, np.sqrt(variance), (60, 20))[answers.person, answers.fact]
    known = expit(np.log(chance / (1 - chance)) + own)
    paired = replace(answers, right=(draw.random(len(answers)) < known).astype(float))

    alone = with_pairs(fit(answers, past), answers, past).pair_variance
    both = history(paired)
    found = with_pairs(fit(paired, both), paired, both).pair_variance
    assert alone < 0.15
    assert found == pytest.approx(variance, rel=0.2)


def test_without_an_answer_chances_are_even() -> None:
    """A model of nothing says even chances, and chance alone where there is more of it."""
    answers = replace(drawn(1), guess=np.zeros(60), scored=np.zeros(60, dtype=bool))

    assert (fit(answers, history(answers)).chances(answers, history(answers)) == 0.5).all()


def in_mean(log_odds: float, variance: float) -> float:
    return float(expit(log_odds / np.sqrt(1 + SMOOTHED * variance)))


def test_one_answer_moves_all_it_tells_of_by_one_step_of_newtons_method() -> None:
    """The step is the slope of the likelihood, divided by its curvature and the prior's: of what is
    usual, the person, the thing's need (a variance of .2) and the thing itself."""
    moving, past, none = Moving(blank()), np.eye(1, len(NAMES))[0], np.zeros(0)
    first = moving.next(0.3, 0.2, past, none, 4, 9, 1.0, 0.0, True)
    chance = expit(0.3)
    usual, person, need, fact = 9.0, 0.5, 0.2, 0.5
    doubt = usual + person + need + fact
    weight = chance * (1 - chance)
    step = (1 - chance) / (1 + weight * doubt)
    same, other = (moving.next(0.3, 0.2, past, none, 4, at, 1.0, 0.0, False) for at in (9, 8))
    left, known = doubt / (1 + weight * doubt), weight / (1 + weight * doubt)
    apart = usual - usual**2 * known + person - person**2 * known + need + fact

    assert first == pytest.approx(in_mean(0.3, doubt))
    # What the coefficients and the person have in common after the step is left out.
    own = (need + fact) - (need + fact) ** 2 * known
    assert same == pytest.approx(in_mean(0.3 + step * doubt, apart - need - fact + own))
    assert other == pytest.approx(in_mean(0.3 + step * (usual + person), apart))
    assert left < apart < doubt


def test_no_row_is_predicted_from_itself_or_a_later_one() -> None:
    """With every later outcome turned round, the chances up to there are the same."""
    answers, _ = ability(9, people=10, things=8, each=60)
    turned = replace(answers, right=np.r_[answers.right[:300], 1.0 - answers.right[300:]])

    assert (predict_rows(answers)[:301] == predict_rows(turned)[:301]).all()
    assert (predict_rows(answers)[301:] != predict_rows(turned)[301:]).any()


def test_little_carries_over_to_a_new_place_where_little_does() -> None:
    """People differ much on what lies where it lay, and not at all on what moved: there they are
    told apart by less than a third as much."""
    answers, chance = ability(9, people=60, things=30, each=60)
    is_moved = answers.fact < 10
    draw = np.random.default_rng(9)
    right = draw.random(len(answers)) < np.where(is_moved, 0.4, chance)
    moved = np.where(is_moved, answers.time - 3.0, np.nan)
    told = replace(answers, right=right.astype(float), moved=moved)
    past = history(told)
    odds = fit(told, past).log_odds(told, past)

    assert odds[is_moved].std() < odds[~is_moved].std() / 3


def test_how_well_a_thing_is_known_says_little_of_who_is_new_where_it_does_not() -> None:
    """Who was there differs by the thing alone, who came lately by nothing: of these the thing says
    less than a third as much."""
    answers, _ = ability(10, people=60, things=30, each=60)
    is_new = answers.person < 15
    draw = np.random.default_rng(10)
    known = expit(np.linspace(-2, 2, 30))[answers.fact]
    right = draw.random(len(answers)) < np.where(is_new, 0.4, known)
    came = np.where(is_new, answers.time - 3.0, np.nan)
    told = replace(answers, right=right.astype(float), came=came)
    past = history(told)
    odds = fit(told, past).log_odds(told, past)

    assert odds[is_new].std() < odds[~is_new].std() / 3


def test_a_skill_that_nobody_learns_is_not_thought_learnt_as_a_place_is() -> None:
    """Whoever was asked for a place before finds it nine times of ten, whoever worked out a dose
    before is right half the time; told that these are skills, it sees it to a few in 100."""
    people, things, times = 40, 20, 3
    draw = np.random.default_rng(11)
    time, person, thing = (each.ravel() for each in np.indices((times, people, things)))
    again, is_skill, rows = time > 0, thing < 6, times * people * things
    chance = np.where(is_skill, 0.5, np.where(again, 0.9, 0.3))
    answers = replace(
        ability(11, people=people, things=things, each=things * times)[0],
        time=time * 10.0 + np.arange(rows) / rows,
        person=person,
        fact=thing,
        need=thing,
        slot=thing,
        kind=is_skill.astype(np.int64),
        right=(draw.random(rows) < chance).astype(float),
    )
    asked = is_skill & again
    off = {}
    for told in (is_skill, np.zeros(rows, dtype=bool)):
        each = replace(answers, skill=told)
        past = history(each)
        chances = fit(each, past).chances(each, past)
        off[bool(told.any())] = abs(
            float(chances[asked].mean()) - float(answers.right[asked].mean())
        )

    assert off[True] < 0.03
    assert off[False] > 0.05
