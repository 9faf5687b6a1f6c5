"""The quickest plan that brings a whole kit, as a person would walk it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from drills.engine.optimum.alone import Found, one_trip
from drills.engine.optimum.options import Option
from drills.engine.optimum.prepared import Lift, Lifts, Prepared, Spot, Walks, bits
from drills.engine.optimum.statement import Place, Source, Statement
from drills.engine.optimum.two import NEVER, FoundTwo, second_walks, two_people, two_trips


@dataclass(frozen=True, slots=True)
class Take:
    """So many of a need out of a place."""

    need: int
    place: Place
    count: int


@dataclass(frozen=True, slots=True)
class Visit:
    """What is done at one stop: openings and bags by their numbers, and what is taken."""

    stop: int
    opened: tuple[int, ...]
    bags: tuple[int, ...]
    taken: tuple[Take, ...]


@dataclass(frozen=True, slots=True)
class Route:
    """One walk from the begin to the patient: its visits in order, and its time in cs."""

    visits: tuple[Visit, ...]
    cs: int


@dataclass(frozen=True, slots=True)
class Plan:
    """The quickest plan: one route, two trips one after the other, or one for each of two people.

    `cs` is when the whole kit is there. It is proved where `bound_cs` is the same; else no plan is
    quicker than that. `is_carried` is no where it takes more hands than two trips have, and there
    is no cot: then the plan is that of somebody without a limit.
    """

    routes: tuple[Route, ...]
    cs: int
    bound_cs: int
    people: int = 1
    is_carried: bool = True

    @property
    def is_proved(self) -> bool:
        """Whether nothing is quicker."""
        return self.bound_cs == self.cs


def quickest(statement: Statement, people: int = 1) -> Plan:
    """The quickest plan for one person or for two.

    Raises `StatementError` where something is not aboard in the number that is needed.
    """
    statement.check()
    stops = statement.stops_of_use()
    plan = _quickest(statement.at_stops(stops), people)
    return replace(plan, routes=tuple(_numbered(route, stops) for route in plan.routes))


def _numbered(route: Route, stops: Sequence[int]) -> Route:
    """A route with the stops as the statement numbers them."""
    visits = (replace(each, stop=stops[each.stop]) for each in route.visits)
    return replace(route, visits=tuple(visits))


def _quickest(statement: Statement, people: int) -> Plan:
    ready = Prepared(statement)
    single = one_trip(ready, [each for each in ready.liftings if ready.is_light(each)])
    cs = single.cs if single else NEVER
    double = two_people(ready, cs) if people > 1 else two_trips(ready, single)
    if double:
        return _double(ready, double, people)
    if single:
        return replace(_single(ready, single), people=people)
    free = _quickest(replace(statement, hands=None), people)
    return replace(free, is_carried=False)


def _single(ready: Prepared, found: Found) -> Plan:
    needs = [(need, many, found.spots) for need, many in enumerate(found.lifted.left)]
    taken = [take for each in needs for take in _taken(*each)]
    route = _route(ready, ready.walks, found.lifted.bags, found.spots, taken, set())
    return Plan((route,), found.cs, found.cs)


def _double(ready: Prepared, found: FoundTwo, people: int) -> Plan:
    is_people = people > 1
    walks = (ready.walks, ready.walks if is_people else second_walks(ready))
    shares = [_shares(found, option, need) for need, option in found.options]
    routes: list[Route] = []
    paid: set[int] = set()
    for side in range(2):
        taken = [take for share in shares for take in share[side]]
        bags = found.start.sides[side]
        # What stands open on the second trip was paid for on the first; people pay each their own.
        paid = set() if is_people else paid
        routes.append(_route(ready, walks[side], bags, _spots_of(found, side), taken, paid))
    return Plan(tuple(routes), found.cs, found.bound_cs, people)


def _spots_of(found: FoundTwo, side: int) -> tuple[Spot, ...]:
    """What one route opens, each source once."""
    return tuple(dict.fromkeys(s for _, option in found.options for s in option.sides[side]))


def _shares(found: FoundTwo, option: Option, need: int) -> tuple[list[Take], list[Take]]:
    """What either route takes of a need."""
    many = found.start.lifted.left[need]
    first = _taken(need, option.units, option.sides[0])
    if not option.units:
        first = _taken(need, many, option.sides[0])
    return first, _taken(need, many - sum(each.count for each in first), option.sides[1])


def _taken(need: int, many: int, spots: Iterable[Spot]) -> list[Take]:
    """So many of a need out of some sources, those with the most of it first."""
    found = []
    for spot in sorted(spots, key=lambda each: -each.stock.get(need, 0)):
        count = min(spot.stock.get(need, 0), many)
        if count:
            found.append(Take(need, spot.source.place, count))
            many -= count
    return found


def _route(
    ready: Prepared,
    walks: Walks,
    bags: Lifts,
    spots: Sequence[Spot],
    taken: Sequence[Take],
    paid: set[int],
) -> Route:
    """One walk; what was `paid` stands open already, and what this one opens is paid then."""
    sources = [spot.source for spot in spots]
    stops = bags.stops | bits(source.stop for source in sources)
    visits = []
    for stop in walks.order(stops):
        here = [source for source in sources if source.stop == stop]
        lifted = [lift for lift in bags.each if lift.way.stop == stop]
        visits.append(_visit(stop, here, lifted, taken, paid))
    cs = walks.exact(stops) + sum(_visit_cs(ready.statement, visit) for visit in visits)
    return Route(tuple(visits), cs)


def _visit(
    stop: int,
    sources: Sequence[Source],
    lifted: Sequence[Lift],
    taken: Sequence[Take],
    paid: set[int],
) -> Visit:
    ways = [*(lift.way.openings for lift in lifted), *(source.openings for source in sources)]
    opened = dict.fromkeys(o for way in ways for o in way if o not in paid)
    paid.update(opened)
    places = {source.place for source in sources}
    return Visit(
        stop,
        opened=tuple(opened),
        bags=tuple(lift.number for lift in lifted),
        taken=tuple(take for take in taken if take.place in places),
    )


def _visit_cs(statement: Statement, visit: Visit) -> int:
    """What is done at a stop."""
    opened = sum(statement.openings[opening].cs for opening in visit.opened)
    lifted = sum(statement.bags[number].cs for number in visit.bags)
    picked = sum(statement.needs[take.need].pick_cs * take.count for take in visit.taken)
    return opened + lifted + picked
