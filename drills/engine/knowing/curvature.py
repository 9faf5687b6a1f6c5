"""The log-odds of a fit's rows, and how the likelihood curves: of what people share, of what is
each person's own, and how the two cross."""

from dataclasses import dataclass, replace

import numpy as np
from scipy import sparse
from scipy.linalg import cho_factor, cho_solve

from drills.engine.knowing.carrying import (
    COEFFICIENTS,
    moved_part,
    share_of_fact,
    share_of_usual,
    slopes,
    usual_part,
)
from drills.engine.knowing.columns import Floats, Ints

FACT = "fact"


@dataclass(frozen=True, slots=True)
class Levels:
    """Offsets of one kind: the level of each row, by what it is multiplied there, and where they
    stand among shared figures."""

    name: str
    index: Ints
    times: Floats
    span: slice

    @property
    def size(self) -> int:
        return int(self.span.stop) - int(self.span.start)


@dataclass(frozen=True, slots=True)
class Problem:
    """The rows that are fitted to. `past` has their history, or once `straight` has been called how
    they grow with each coefficient; `own` are the columns that each person has figures of their own
    for."""

    right: Floats
    guess: Floats
    past: Floats
    person: Ints
    own: Floats
    people: int
    levels: tuple[Levels, ...]

    @property
    def width(self) -> int:
        return len(COEFFICIENTS)

    @property
    def shared_size(self) -> int:
        return int(self.levels[-1].span.stop)

    def log_odds(self, shared: Floats, own: Floats) -> Floats:
        """The log-odds of each row, by shared figures and those of each person."""
        told = shared[: self.width]
        share = share_of_usual(self.past, told)
        return share * self._usual(shared, own) + moved_part(self.past, told)

    def straight(self, shared: Floats, own: Floats) -> tuple["Problem", Floats]:
        """The same rows as they are straight in all figures near some: each without its share of
        the usual, and those shares, by which all of it is to be multiplied."""
        told = shared[: self.width]
        share = share_of_usual(self.past, told)
        of_fact = share_of_fact(self.past, told)
        levels = tuple(
            replace(each, times=of_fact) if each.name == FACT else each for each in self.levels
        )
        (fact,) = (shared[each.span][each.index] for each in levels if each.name == FACT)
        grows = slopes(self.past, share, self._usual(shared, own), of_fact, fact)
        return replace(self, past=grows / share[:, None], levels=levels), share

    def _usual(self, shared: Floats, own: Floats) -> Floats:
        total = usual_part(self.past, shared[: self.width])
        of_fact = share_of_fact(self.past, shared[: self.width])
        for each in self.levels:
            told = shared[each.span][each.index]
            total += told * of_fact if each.name == FACT else told
        return np.asarray(total + np.sum(self.own * own[self.person], axis=1))

    def times_columns(self, weight: Floats) -> Floats:
        """The sum of weights times each shared column."""
        levels = [np.bincount(each.index, weight * each.times, each.size) for each in self.levels]
        return np.concatenate([self.past.T @ weight, *levels])

    def times_own(self, weight: Floats) -> Floats:
        """The sum of weights times each own column, by person."""
        columns = [np.bincount(self.person, weight * each, self.people) for each in self.own.T]
        return np.stack(columns, axis=1)

    def curved(self, weight: Floats) -> Floats:
        """Shared columns by shared columns, each row with its weight."""
        found = np.zeros((self.shared_size, self.shared_size))
        weighed = self.past * weight[:, None]
        found[: self.width, : self.width] = self.past.T @ weighed
        for number, each in enumerate(self.levels):
            found[each.span, : self.width] = _members(each.index, each.size, each.times) @ weighed
            found[: self.width, each.span] = found[each.span, : self.width].T
            for other in self.levels[: number + 1]:
                times = weight * each.times * other.times
                crossed = _crossed(each.index, each.size, other.index, other.size, times)
                found[each.span, other.span] = crossed
                found[other.span, each.span] = crossed.T
        return found

    def curved_own(self, weight: Floats) -> Floats:
        """Own columns by own columns, of each person."""
        return np.stack([self.times_own(weight * each) for each in self.own.T], axis=1)

    def between(self, weight: Floats) -> Floats:
        """Own columns of each person by shared columns."""
        found = np.empty((self.people, self.own.shape[1], self.shared_size))
        members = _members(self.person, self.people, np.ones(len(self.person)))
        for at, column in enumerate(self.own.T):
            times = weight * column
            found[:, at, : self.width] = members @ (self.past * times[:, None])
            for each in self.levels:
                met = times * each.times
                crossed = _crossed(self.person, self.people, each.index, each.size, met)
                found[:, at, each.span] = crossed
        return found


def _crossed(one: Ints, rows: int, two: Ints, columns: int, weight: Floats) -> Floats:
    counted = np.bincount(one * columns + two, weight, rows * columns)
    return np.asarray(counted.reshape(rows, columns))


def _members(index: Ints, size: int, times: Floats) -> sparse.csr_matrix:
    """A row for each level, with its multiplier where a row of the problem is of it."""
    rows = np.arange(len(index))
    return sparse.csr_matrix((times, (index, rows)), shape=(size, len(index)))


@dataclass(frozen=True, slots=True)
class Step:
    """The change that Newton's method makes, and the variance of what is not known after it;
    `covariance` is that of all shared figures."""

    shared: Floats
    own: Floats
    shared_spread: Floats
    own_spread: Floats
    covariance: Floats


def newton_step(curved: Floats, blocks: Floats, between: Floats, pull: Floats, own: Floats) -> Step:
    """Solve for both kinds of figures at once.

    `curved` (shared by shared), `blocks` (own by own, of each person) and `between` (own by shared)
    are the curvature, `pull` and `own` the slopes. People are eliminated first.
    """
    inverse = np.linalg.inv(blocks)
    eased = np.einsum("pij,pjm->pim", inverse, between)
    flat, flat_eased = (each.reshape(-1, len(curved)) for each in (between, eased))
    left = cho_factor(curved - flat.T @ flat_eased, lower=True, check_finite=False)
    alone = np.einsum("pij,pj->pi", inverse, own)
    shared = cho_solve(left, pull - flat.T @ alone.reshape(-1), check_finite=False)
    covariance = cho_solve(left, np.eye(len(curved)), check_finite=False)
    through = np.einsum("ki,ki->k", flat_eased @ covariance, flat_eased)
    return Step(
        shared,
        alone - np.einsum("pim,m->pi", eased, shared),
        np.diag(covariance).copy(),
        np.einsum("pii->pi", inverse) + through.reshape(alone.shape),
        covariance,
    )
