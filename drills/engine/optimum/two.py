"""The quickest plan on two routes: two people at once, or one person who goes twice.

All choices of bags are taken together and covered need by need. After each need every different
partial plan is a label; labels that are equal are one, and one whose bound is no better than the
best plan known is dropped. A first round that keeps a few labels finds a good plan, and where it
dropped none for their number it was the whole search. The second keeps all of them, up to a number
from which on the plan is not proved any more, and the least bound that was dropped is told.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from drills.engine.optimum.alone import Found, disjoint, in_order, is_below, numbers_of
from drills.engine.optimum.options import Board, Option, Options, Rows
from drills.engine.optimum.prepared import Lift, Lifted, Lifts, Prepared, TwoWalks, Walks

FEW, MANY = 400, 150_000
NEVER = 1 << 40
_ROWS_AT_ONCE = 1 << 16
# The columns after the masks of both routes.
_STOPS, _SPENT, _HANDS, _START = (0, 1), 2, 3, 4
_COLUMNS = 5


@dataclass(frozen=True, slots=True)
class Start:
    """A choice of bags, by its number, and which of them are of either route."""

    number: int
    lifted: Lifted
    sides: tuple[Lifts, Lifts]


@dataclass(frozen=True, slots=True)
class FoundTwo:
    """What a search found: the bags of either route, how each need is covered, the time in cs.

    `bound_cs` is less than `cs` where the plan is not proved to be the quickest.
    """

    start: Start
    options: tuple[tuple[int, Option], ...]
    cs: int
    bound_cs: int


@dataclass(frozen=True, slots=True)
class _Stage:
    """A need, and for each label after it the label before and the option that was taken."""

    need: int
    before: NDArray[np.intp]
    chosen: NDArray[np.intp]
    options: tuple[Option | None, ...]


def two_people(ready: Prepared, limit_cs: int) -> FoundTwo | None:
    """The quickest plan of two people that takes less than a limit; None where there is none."""
    return _two_routes(ready, range(len(ready.liftings)), limit_cs, is_people=True)


def two_trips(ready: Prepared, single: Found | None) -> FoundTwo | None:
    """The quickest plan of one person who goes twice, below that of a single trip; else None.

    Bags that can be brought in one trip are: two are never quicker. Of the others those alone are
    tried with which two trips would be quicker if anything could be brought on either.
    """
    numbers = [n for n, each in enumerate(ready.liftings) if not ready.is_light(each)]
    if single and numbers:
        walks = TwoWalks(ready.walks, second_walks(ready))
        numbers = [n for n in numbers if is_below(ready, walks, ready.liftings[n], single)]
    limit = single.cs if single else NEVER
    return _two_routes(ready, numbers, limit, is_people=False) if numbers else None


def _two_routes(
    ready: Prepared, numbers: Sequence[int], limit_cs: int, *, is_people: bool
) -> FoundTwo | None:
    """The quickest plan on two routes with some choices of bags, below a limit; else None."""
    search = _Search(ready, numbers, is_people=is_people)
    found = search.run(FEW, limit_cs)
    if search.dropped == NEVER:
        return found
    better = search.run(MANY, found.cs if found else limit_cs)
    best = better or found
    return best and FoundTwo(best.start, best.options, best.cs, min(best.cs, search.dropped))


class _Search:
    """Labels are rows of one array: the masks of both routes, where each stands, what the first
    spends on lifting and picking, its hands, and the start."""

    def __init__(self, ready: Prepared, numbers: Sequence[int], *, is_people: bool) -> None:
        self._ready = ready
        self._is_people = is_people
        self._board = Board(ready, is_people=is_people)
        self._walks = (ready.walks, ready.walks if is_people else second_walks(ready))
        self._starts = tuple(_starts(ready, numbers, is_people=is_people))
        self._lifted = _whole(each.number for each in self._starts)
        self._carries = np.array(
            [[side.carries for side in each.sides] for each in self._starts], dtype=bool
        ).reshape(-1, 2)
        self._left = np.array([each.left for each in ready.liftings], dtype=np.int64)
        self._fixed = _whole(each.fixed_cs for each in ready.liftings)
        self._all_hands = _whole(map(ready.heavy, ready.liftings))
        self._blocked = self._board.masks(map(self._board.blocked, ready.liftings))
        self._sources = self._board.sources
        self._held = self._board.masks(map(numbers_of, self._sources))
        self._apart = cache(lambda at: disjoint(self._sources, self._order[at:]))
        self._order = in_order(self._sources, [need.quantity for need in ready.needs])
        self.dropped = NEVER

    def run(self, most: int, limit: int) -> FoundTwo | None:
        """Search with at most so many labels at a time, for less than a limit."""
        self.dropped = NEVER
        labels = self._begun()
        labels = labels[self._bound(labels, 0) < limit]
        stages = []
        for at in range(len(self._order)):
            if not len(labels):
                return None
            labels, stage = self._covered(labels, at, most, limit)
            stages.append(stage)
        return self._best(labels, stages, limit)

    def _begun(self) -> Rows:
        """Nothing opened yet but what leads to the bags."""
        rows = np.zeros((len(self._starts), 2 * self._board.words + _COLUMNS), dtype=np.int64)
        masks, stops, spent, hands, start = self._columns(rows)
        for side in range(2):
            bags = [each.sides[side] for each in self._starts]
            masks[side][:] = self._board.masks(map(self._board.ways, bags))
            stops[side][:] = _whole(each.stops for each in bags)
        spent[:] = _whole(each.sides[0].cs for each in self._starts)
        hands[:] = _whole(each.sides[0].hands for each in self._starts)
        start[:] = np.arange(len(rows))
        return rows

    def _columns(
        self, labels: Rows
    ) -> tuple[tuple[Rows, Rows], tuple[Rows, Rows], Rows, Rows, Rows]:
        """The masks and stops of both routes, what the first spends, its hands, and the start."""
        words = self._board.words
        rest = labels[:, 2 * words :]
        return (
            (labels[:, :words], labels[:, words : 2 * words]),
            (rest[:, _STOPS[0]], rest[:, _STOPS[1]]),
            rest[:, _SPENT],
            rest[:, _HANDS],
            rest[:, _START],
        )

    def _covered(self, labels: Rows, at: int, most: int, limit: int) -> tuple[Rows, _Stage]:
        """All that becomes of some labels when the next need is covered."""
        need = self._order[at]
        left = self._left[self._lifted[self._columns(labels)[4]], need]
        parts: list[tuple[Rows, NDArray[np.intp], NDArray[np.intp]]] = []
        options: list[Option | None] = []
        for many in np.unique(left):
            rows = np.flatnonzero(left == many)
            if many == 0:
                parts.append((labels[rows], rows, np.full(len(rows), len(options))))
                options.append(None)
                continue
            tried = self._board.options(need, int(many))
            for block in _blocks(rows, len(tried.each)):
                grown, before, which = self._grown(labels[block], at, tried)
                below = self._bound(grown, at + 1) < limit
                parts.append((grown[below], block[before[below]], which[below] + len(options)))
            options.extend(tried.each)
        grown, before, chosen = (np.concatenate(each) for each in zip(*parts, strict=True))
        kept = self._kept(grown, at + 1, most)
        return grown[kept], _Stage(need, before[kept], chosen[kept], tuple(options))

    def _grown(
        self, labels: Rows, at: int, tried: Options
    ) -> tuple[Rows, NDArray[np.intp], NDArray[np.intp]]:
        """Each label with each option that is open to it; which label, and which option, it was."""
        masks, _, _, hands, start = self._columns(labels)
        need = self._ready.needs[self._order[at]]
        lifted = self._lifted[start]
        barred = (masks[0][:, None] & tried.barred[0]) | (masks[1][:, None] & tried.barred[1])
        barred |= self._blocked[lifted][:, None] & (tried.masks[0] | tried.masks[1])
        is_open = ~barred.any(axis=2)
        limit = self._ready.statement.hands
        if need.hands and limit is not None:
            held = hands[:, None] + tried.units * need.hands
            others = self._hands_so_far(lifted, at)[:, None] - held
            free = self._carries[start]
            is_open &= ((held <= limit) | free[:, :1]) & ((others <= limit) | free[:, 1:])
        before, which = np.nonzero(is_open)
        grown = labels[before]
        new_masks, new_stops, new_spent, new_hands, _ = self._columns(grown)
        for side in range(2):
            new_masks[side][:] |= tried.masks[side][which]
            new_stops[side][:] |= tried.stops[side][which]
        new_spent += tried.units[which] * need.pick_cs
        new_hands += tried.units[which] * need.hands
        return grown, before, which

    def _hands_so_far(self, lifted: Rows, at: int) -> Rows:
        """What both routes carry when the needs up to one are covered."""
        after = self._order[at + 1 :]
        hands = np.array([self._ready.needs[each].hands for each in after], dtype=np.int64)
        return np.asarray(self._all_hands[lifted] - self._left[lifted][:, after] @ hands)

    def _bound(self, labels: Rows, at: int) -> Rows:
        """What nothing that becomes of a label is quicker than; needs from `at` on are to come."""
        masks, stops, spent, _, start = self._columns(labels)
        lifted = self._lifted[start]
        still, passed = self._still(masks[0] | masks[1], lifted, at)
        first, second = (
            walks.table[walks.known_of(each)].astype(np.int64)
            for walks, each in zip(self._walks, stops, strict=True)
        )
        together = first + second
        if not self._is_people or self._ready.statement.is_closed:
            walks = self._ready.walks
            joint = walks.table[walks.known_of(stops[0] | stops[1] | passed)]
            together = np.maximum(together, joint)
        fixed = self._fixed[lifted]
        if not self._is_people:
            return np.asarray(together + self._board.cost(masks[0] | masks[1]) + fixed + still)
        paid = [self._board.cost(each) for each in masks]
        sure = fixed - self._to_come(lifted, at) - spent
        alone = np.maximum(first + paid[0] + spent, second + paid[1] + sure)
        both = together + paid[0] + paid[1] + fixed + still
        return np.asarray(np.maximum(alone, (both + 1) // 2))

    def _to_come(self, lifted: Rows, at: int) -> Rows:
        """What is still to be picked, by whomever."""
        after = self._order[at:]
        picks = np.array([self._ready.needs[each].pick_cs for each in after], dtype=np.int64)
        return np.asarray((self._left[:, after] @ picks)[lifted])

    def _still(self, opened: Rows, lifted: Rows, at: int) -> tuple[Rows, Rows]:
        """What needs to come must cost at least, and the stops that must be passed for them."""
        still, passed = np.zeros((2, len(opened)), dtype=np.int64)
        after = self._order[at:]
        apart = self._apart(at)
        for need in after:
            is_left = self._left[lifted, need] > 0
            sources = self._sources[need]
            if len(sources) == 1:
                passed |= np.where(is_left, sources[0].stop, 0)
            if apart.get(need):
                is_new = ~(opened & self._held[need]).any(axis=1)
                still += np.where(is_left & is_new, apart[need], 0)
        return still, passed

    def _kept(self, labels: Rows, at: int, most: int) -> NDArray[np.intp]:
        """One row of each that are equal; of too many those with the least bounds."""
        rows = _different(labels)
        if len(rows) > most:
            bound = self._bound(labels[rows], at)
            order = np.argsort(bound, kind="stable")
            self.dropped = min(self.dropped, int(bound[order[most]]))
            rows = rows[order[:most]]
        return rows

    def _best(self, labels: Rows, stages: Sequence[_Stage], limit: int) -> FoundTwo | None:
        """The quickest of the finished plans."""
        bound = self._bound(labels, len(self._order))
        best, row = limit, -1
        for at in np.argsort(bound, kind="stable"):
            if bound[at] >= best:
                break
            cs = self._exact(labels[at : at + 1])
            if cs < best:
                best, row = cs, int(at)
        if row < 0:
            return None
        taken, at = [], row
        for stage in reversed(stages):
            option = stage.options[int(stage.chosen[at])]
            taken += [(stage.need, option)] if option else []
            at = int(stage.before[at])
        start = self._starts[int(self._columns(labels)[4][row])]
        return FoundTwo(start, tuple(reversed(taken)), best, min(best, self.dropped))

    def _exact(self, label: Rows) -> int:
        """The whole time of one finished plan."""
        masks, stops, spent, _, start = self._columns(label)
        fixed = int(self._fixed[self._lifted[start[0]]])
        walks = [each.exact(int(own[0])) for each, own in zip(self._walks, stops, strict=True)]
        if not self._is_people:
            return sum(walks) + fixed + int(self._board.cost(masks[0] | masks[1])[0])
        paid = [int(self._board.cost(each)[0]) for each in masks]
        first = int(spent[0])
        return max(walks[0] + paid[0] + first, walks[1] + paid[1] + fixed - first)


def _starts(ready: Prepared, numbers: Sequence[int], *, is_people: bool) -> Iterator[Start]:
    """Some choices of bags, and who takes which, that hands allow."""
    limit = NEVER if ready.statement.hands is None else ready.statement.hands
    for number in numbers:
        lifted = ready.liftings[number]
        if ready.heavy(lifted) <= 2 * limit or lifted.bags.carries:
            dealt = _dealt(lifted.bags.each, is_people=is_people)
            yield from (Start(number, lifted, e) for e in dealt if _are_carried(e, limit))


def _are_carried(sides: Iterable[Lifts], limit: int) -> bool:
    return all(each.carries or each.hands <= limit for each in sides)


def _dealt(lifts: Sequence[Lift], *, is_people: bool) -> Iterator[tuple[Lifts, Lifts]]:
    """Bags dealt to two routes in every way; of people, who are alike, the first has the first."""
    for sides in product((0, 1), repeat=len(lifts)):
        if is_people and sides[:1] == (1,):
            continue
        dealt = list(zip(lifts, sides, strict=True))
        first, second = (tuple(lift for lift, at in dealt if at == side) for side in range(2))
        yield Lifts(first), Lifts(second)


def _whole(numbers: Iterable[int]) -> Rows:
    return np.fromiter(numbers, dtype=np.int64)


def second_walks(ready: Prepared) -> Walks:
    """A second trip begins where the first ended."""
    walk = ready.statement.walk_cs
    if ready.statement.is_closed:
        return ready.walks
    back = [[*row[:-2], row[-1], row[-1]] for row in walk[:-2]]
    last = [*walk[-1][:-2], 0, 0]
    return Walks([*back, last, last], ready.walks.kept)


def _blocks(rows: NDArray[np.intp], options: int) -> Iterator[NDArray[np.intp]]:
    """Some rows at a time, so that with all options they are not too many."""
    size = max(_ROWS_AT_ONCE // max(options, 1), 1)
    for start in range(0, len(rows), size):
        yield rows[start : start + size]


def _different(labels: Rows) -> NDArray[np.intp]:
    """The rows of which none is equal to another; by a number made of each row, and the row."""
    if len(labels) < 2:
        return np.arange(len(labels))
    # Odd numbers from the golden ratio; what they mix up wrongly is only not seen to be equal.
    columns = np.arange(1, labels.shape[1] + 1, dtype=np.uint64)
    factors = columns * np.uint64(0x9E3779B97F4A7C15) | np.uint64(1)
    mixed = (labels.astype(np.uint64) * factors).sum(axis=1)
    mixed ^= mixed >> np.uint64(29)
    order = np.argsort(mixed, kind="stable")
    ordered = labels[order]
    is_new = np.ones(len(order), dtype=bool)
    is_new[1:] = (ordered[1:] != ordered[:-1]).any(axis=1)
    return np.sort(order[is_new])
