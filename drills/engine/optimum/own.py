"""The time of somebody's own way: the places in the order they took from them.

It is worked out by the cost of the quickest plan and from the same statement, so that the two can
be laid side by side, and in as many trips as a plan may have it is never below it. What a person
did not say is taken in their favour: of a place that opens to two sides the better one, and where
hands are full the best moment to go to the patient and come back.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from drills.engine.optimum.plan import Route
from drills.engine.optimum.statement import Bag, Place, Source, Statement, StatementError, Way


@dataclass(frozen=True, slots=True)
class Taken:
    """What was taken at one place of a statement: so many of each need, or a bag whole."""

    place: Place
    counts: Mapping[int, int] = field(default_factory=dict)
    is_whole: bool = False


@dataclass(frozen=True, slots=True)
class Leg:
    """One step of a way: the walk to a stop, what is opened there and what taken, in cs.

    Back at the patient there is no `place`, and the `stop` is that of the end. `is_whole` is of a
    bag that is brought as it is.
    """

    place: Place | None
    stop: int
    walk_cs: int
    open_cs: int = 0
    take_cs: int = 0
    is_whole: bool = field(default=False, compare=False)

    @property
    def code(self) -> str:
        """The code of its place, empty at the patient."""
        return self.place.code if self.place else ""

    @property
    def cs(self) -> int:
        """The whole leg."""
        return self.walk_cs + self.open_cs + self.take_cs


@dataclass(frozen=True, slots=True)
class OwnRoute:
    """A way from the begin to the patient, leg by leg, and its time in cs."""

    legs: tuple[Leg, ...]

    @property
    def cs(self) -> int:
        """When all of it is at the patient."""
        return sum(leg.cs for leg in self.legs)

    @property
    def trips(self) -> int:
        """How often one came to the patient."""
        return sum(1 for leg in self.legs if not leg.place)


@dataclass(frozen=True, slots=True)
class _At:
    """Where one stands, what of later use stands open, and how many hands are full.

    With `rides` a cot comes on this walk, and hands are no limit; more than they hold lies ready
    for it while it is still to be fetched.
    """

    stop: int
    opened: frozenset[int] = frozenset()
    hands: int = 0
    rides: bool = False


_Ways = dict[_At, tuple[int, tuple[Leg, ...]]]


def own_route(statement: Statement, taken: Sequence[Taken]) -> OwnRoute:
    """The least time in which the places can be taken from in this order.

    Exact: every side of every place and every moment to go back is tried, and of equal states the
    quickest is kept. Raises `StatementError` naming a place that is none of the statement, or that
    holds less.
    """
    later = _later_uses(statement, taken)
    cots = [_is_cot(statement, each) for each in taken]
    ways: _Ways = {_At(statement.begin): (0, ())}
    for number, (each, useful) in enumerate(zip(taken, later, strict=True)):
        ways = _grown(statement, ways, each, useful)
        if not any(cots[number + 1 :]):
            ways = {at: way for at, way in ways.items() if _may_go(statement, at)}
    ends = [
        (cs + statement.walk_cs[at.stop][statement.end], at.stop, legs)
        for at, (cs, legs) in ways.items()
    ]
    _, stop, legs = min(ends, key=lambda end: end[0])
    return OwnRoute((*legs, _home(statement, stop)))


def _grown(statement: Statement, ways: _Ways, taken: Taken, useful: frozenset[int]) -> _Ways:
    """All that becomes of some ways with the next thing taken; of equal states the quickest."""
    grown: _Ways = {}
    for at, (cs, legs) in ways.items():
        for after, added in _steps(statement, at, taken):
            kept = replace(after, opened=after.opened & useful)
            total = cs + sum(leg.cs for leg in added)
            if kept not in grown or total < grown[kept][0]:
                grown[kept] = total, (*legs, *added)
    return grown


def taken_on(statement: Statement, route: Route) -> list[Taken]:
    """A route of a plan as what was taken, place by place."""
    found = []
    for visit in route.visits:
        codes = (statement.bags[number].code for number in visit.bags)
        found += [Taken(Place(code), is_whole=True) for code in codes]
        counts: dict[Place, dict[int, int]] = {}
        for take in visit.taken:
            counts.setdefault(take.place, {})[take.need] = take.count
        found += [Taken(place, held) for place, held in counts.items()]
    return found


def _steps(statement: Statement, at: _At, taken: Taken) -> Iterator[tuple[_At, tuple[Leg, ...]]]:
    """Every way to do the next thing: straight on where hands are free, or by the patient."""
    hands, take_cs = _hands(statement, taken), _take_cs(statement, taken)
    for start, gone in _starts(statement, at):
        for way in _ways_to(statement, taken):
            new = frozenset(way.openings) - start.opened
            open_cs = sum(statement.openings[each].cs for each in new)
            walk_cs = statement.walk_cs[start.stop][way.stop]
            leg = Leg(taken.place, way.stop, walk_cs, open_cs, take_cs, taken.is_whole)
            rides = start.rides or _is_cot(statement, taken)
            after = _At(way.stop, start.opened | new, start.hands + hands, rides)
            yield _plain(statement, after), (*gone, leg)


def _starts(statement: Statement, at: _At) -> Iterator[tuple[_At, tuple[Leg, ...]]]:
    """From where one goes on: here, or at the patient with empty hands."""
    yield at, ()
    if at.hands and statement.hands is not None and _may_go(statement, at):
        yield _At(statement.end, at.opened), (_home(statement, at.stop),)


def _may_go(statement: Statement, at: _At) -> bool:
    """Whether all that lies ready can be carried: in hands, or on a cot that was fetched."""
    return statement.hands is None or at.rides or at.hands <= statement.hands


def _plain(statement: Statement, at: _At) -> _At:
    """The same with no more said of hands than matters, so that equal states are one."""
    if statement.hands is None:
        return replace(at, hands=0, rides=False)
    return replace(at, hands=1 if at.rides else min(at.hands, statement.hands + 1))


def _home(statement: Statement, stop: int) -> Leg:
    return Leg(None, statement.end, statement.walk_cs[stop][statement.end])


def _ways_to(statement: Statement, taken: Taken) -> Sequence[Way]:
    if taken.is_whole:
        found = [way for bag in statement.bags if bag.code == taken.place.code for way in bag.ways]
    else:
        here = (each for each in statement.sources if each.place == taken.place)
        found = [Way(each.stop, each.openings) for each in here if _has(each, taken.counts)]
    if not found:
        raise StatementError(f"{taken.place.name}: there is no such place that holds so much.")
    return found


def _has(source: Source, counts: Mapping[int, int]) -> bool:
    return all(source.stock.get(need, 0) >= count for need, count in counts.items())


def _later_uses(statement: Statement, taken: Sequence[Taken]) -> list[frozenset[int]]:
    """After each step, the openings that a later one may need."""
    found: list[frozenset[int]] = []
    useful: frozenset[int] = frozenset()
    for each in reversed(taken):
        found.append(useful)
        useful = useful.union(*(way.openings for way in _ways_to(statement, each)))
    return found[::-1]


def _is_cot(statement: Statement, taken: Taken) -> bool:
    return taken.is_whole and _bag_of(statement, taken.place.code).carries


def _bag_of(statement: Statement, code: str) -> Bag:
    return next(each for each in statement.bags if each.code == code)


def _hands(statement: Statement, taken: Taken) -> int:
    """What it takes of a person, who is free to take any one thing with both hands."""
    if taken.is_whole:
        found = _bag_of(statement, taken.place.code).hands
    else:
        found = sum(statement.needs[need].hands * n for need, n in taken.counts.items())
    return found if statement.hands is None else min(found, statement.hands)


def _take_cs(statement: Statement, taken: Taken) -> int:
    if taken.is_whole:
        return _bag_of(statement, taken.place.code).cs
    return sum(statement.needs[need].pick_cs * count for need, count in taken.counts.items())
