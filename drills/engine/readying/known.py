"""What is thought of one person now, thing by thing, and what a call asks them to find."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from itertools import chain, product

import numpy as np
from numpy.polynomial.hermite_e import hermegauss
from numpy.typing import NDArray
from scipy.special import expit

from drills.engine.facts import Fact
from drills.engine.readying.counting import Array, how_many
from drills.engine.readying.parting import Parts, Whole, product_of

# Nodes at which a fact's own doubt is looked at: of a spread of 3 on the scale of log-odds 15 and
# 61 tell the same to 1e-3.
_OWN_NODES = 15


@cache
def normal_nodes(count: int) -> tuple[Array, Array]:
    """Where to look at a standard normal doubt, and the share of it that each place stands for."""
    nodes, weights = hermegauss(count)
    return nodes, weights / weights.sum()


@dataclass(frozen=True, eq=False)
class Known:
    """What is thought of one person now, fact by fact.

    All arrays have one figure for each of `facts`. `logit` is the mean of the log-odds of knowing
    it and `variance` the doubt about this fact alone; `shared` is the standard deviation of the
    doubt that it shares with the others, such as about the person, which moves all together.
    `floor` is the chance of hitting on it unknown. `log_seconds` and `log_spread` are mean and
    standard deviation of the natural logarithm of the seconds of search once it is known. `firsts`
    counts first answers, `hands_on` those of them given at the rig.
    """

    facts: tuple[Fact, ...]
    logit: Array
    variance: Array
    shared: Array
    floor: Array
    log_seconds: Array
    log_spread: Array
    firsts: NDArray[np.int64]
    hands_on: NDArray[np.int64]

    @cached_property
    def at(self) -> dict[Fact, int]:
        """Where each fact stands in the arrays."""
        return {fact: index for index, fact in enumerate(self.facts)}

    @cached_property
    def plainly(self) -> Array:
        """The chance of each fact with no doubt about it."""
        return np.asarray(self.floor + (1.0 - self.floor) * expit(self.logit))

    @cached_property
    def expected(self) -> Array:
        """The chance of knowing each fact, in the mean over all doubt, without luck."""
        nodes, weights = normal_nodes(_OWN_NODES)
        spread = np.sqrt(self.variance + self.shared**2)
        return np.asarray(weights @ expit(self.logit + spread * nodes[:, None]))

    @property
    def chance(self) -> Array:
        """The chance of each fact, in the mean over all doubt."""
        return np.asarray(self.floor + (1.0 - self.floor) * self.expected)

    @property
    def without_luck(self) -> "Known":
        """The same where a thing is fetched: nobody hits on it by chance."""
        return replace(self, floor=np.zeros(len(self.facts)))

    def only(self, facts: Sequence[Fact]) -> "Known":
        """The same of some facts alone, in their order; `ValueError` names one that is missing."""
        if missing := [fact for fact in facts if fact not in self.at]:
            raise ValueError(f"{missing[0]}: nothing is thought of it; all facts of a kit must be.")
        rows = [self.at[fact] for fact in facts]
        return Known(
            tuple(facts),
            self.logit[rows],
            self.variance[rows],
            self.shared[rows],
            self.floor[rows],
            self.log_seconds[rows],
            self.log_spread[rows],
            self.firsts[rows],
            self.hands_on[rows],
        )

    def chances(self, shift: Array) -> Array:
        """The chance of each fact where the person is so many shared deviations better or worse.

        `shift` has any shape; facts come behind it. Each fact's own doubt is integrated out.
        """
        nodes, weights = normal_nodes(_OWN_NODES)
        middle = self.logit + self.shared * shift[..., None]
        spread = middle[..., None, :] + np.sqrt(self.variance) * nodes[:, None]
        knows = np.einsum("n,...nf->...f", weights, expit(spread))
        return np.asarray(self.floor + (1.0 - self.floor) * knows)

    def drawn(self, shift: Array, own: Array) -> Array:
        """The chance of each fact where shift and own doubt are given in standard deviations.

        `shift` is (draws,), `own` (draws, facts).
        """
        at = self.logit + self.shared * shift[:, None] + np.sqrt(self.variance) * own
        return np.asarray(self.floor + (1.0 - self.floor) * expit(at))


@dataclass(frozen=True, slots=True)
class Must:
    """One thing that a call must have, and the facts of each way to it.

    In a bag a way takes two facts and both must be known; of a thing in several places any way
    that is known finds it. `weight` says how much it matters beside the others.
    """

    name: str
    ways: tuple[tuple[Fact, ...], ...]
    weight: float = 1.0


class Kit:
    """Things to find together, prepared for arrays of chances.

    `musts` are the things, in the order in which they are answered; `facts` all facts that their
    ways take, each once, in the order in which chances come in. Chances are 0 to 1, in arrays whose
    last axis is the facts, or the things; what stands before it (people, draws, nodes) is kept.

    A fact that more than one way takes, such as where a bag is, is found or missed once for all of
    them: so things that share one are not independent. Of a thing by itself that is minded exactly.
    Of all together shared facts are looked at known and unknown: those of most things, 32 cases of
    a call. Any more count as if each thing had them alone, which tells a little too low. Raises
    `ValueError` of no things, or of one without a way.
    """

    MOST_SHARED = 5

    def __init__(self, musts: Iterable[Must], *, most_shared: int = MOST_SHARED) -> None:
        self.musts = tuple(musts)
        _refuse_empty(self.musts)
        ways = list(chain.from_iterable(must.ways for must in self.musts))
        self.facts = tuple(dict.fromkeys(chain.from_iterable(ways)))
        place = {fact: index for index, fact in enumerate(self.facts)}
        self._ways = _filled(ways, place)
        self._starts = np.cumsum([0, *(len(must.ways) for must in self.musts[:-1])])
        self.shared = np.array([place[fact] for fact in _shared(ways)[:most_shared]], dtype=int)
        self._known = np.array(list(product((0.0, 1.0), repeat=len(self.shared))))

    def cases(self, chances: Array) -> tuple[Array, Array]:
        """Shared facts known and unknown in every way: how likely each case is, (cases, ...), and
        the chance of each thing in it, (cases, ..., things); of `chances` (..., facts)."""
        ones = (1,) * (chances.ndim - 1)
        known = self._known.reshape(len(self._known), *ones, len(self.shared))
        of_shared = chances[..., self.shared]
        likely = np.where(known > 0, of_shared, 1.0 - of_shared).prod(axis=-1)
        case = np.repeat(chances[None], len(known), axis=0)
        case[..., self.shared] = known
        return likely, self._found(case)

    def each(self, chances: Array) -> Array:
        """The chance of each thing by itself: (..., facts) to (..., things)."""
        by_fact = dict(zip(self.facts, np.moveaxis(chances, -1, 0), strict=True))
        parts, wholes = self._alone
        told = parts.found(by_fact)
        return np.stack([product_of(whole, by_fact, told) for whole in wholes], axis=-1)

    @cached_property
    def _alone(self) -> tuple[Parts, list[Whole]]:
        """What finding each thing takes, without the others."""
        parts = Parts()
        return parts, [parts.whole([must.ways]) for must in self.musts]

    def counts(self, chances: Array) -> Array:
        """The chance that exactly 0, 1, ... things are found: (..., things + 1)."""
        likely, found = self.cases(chances)
        return np.asarray((likely[..., None] * how_many(found)).sum(axis=0))

    def _found(self, chances: Array) -> Array:
        """The chance of each thing with its facts taken as independent, as they are once those that
        are shared are 0 or 1."""
        whole = np.concatenate([chances, np.ones((*chances.shape[:-1], 1))], axis=-1)
        by_way = whole[..., self._ways[:, 0]]
        for step in self._ways.T[1:]:
            by_way *= whole[..., step]
        missed = np.multiply.reduceat(1.0 - by_way, self._starts, axis=-1)
        return np.asarray(1.0 - missed)


def _refuse_empty(musts: Sequence[Must]) -> None:
    if not (musts and all(must.ways and all(must.ways) for must in musts)):
        raise ValueError("A kit takes at least one thing, and each thing a way to it.")


def _shared(ways: Iterable[Sequence[Fact]]) -> list[Fact]:
    """The facts that more than one way takes, those of most ways first."""
    times = Counter(chain.from_iterable(map(dict.fromkeys, ways)))
    return [fact for fact, count in times.most_common() if count > 1]


def _filled(ways: Sequence[Sequence[Fact]], place: Mapping[Fact, int]) -> NDArray[np.int64]:
    """Where the facts of each way stand; one that takes fewer is filled up with what is always
    known, which stands behind all facts."""
    longest = max(map(len, ways))
    return np.array(
        [[place[fact] for fact in way] + [len(place)] * (longest - len(way)) for way in ways]
    )
