"""The kit of a call asked of a rig: the quickest way to bring its must-haves, and one's own way.

A need is served by several things, and what lies of them in a place is added up. Where a thing
serves two needs, or what serves one is not alike in size or in the hands it takes, every mix of
things is asked for itself, so that the answer stays exact; of very many mixes the first alone are,
and the plan then says what no plan is quicker than.

Simplified: useful things are left out, and a person brings what they find in full number.
"""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice, product

from drills.engine.optimum.own import Leg, Taken, own_route, taken_on
from drills.engine.optimum.plan import Plan, quickest
from drills.engine.optimum.rig import Rig, Served
from drills.engine.optimum.statement import Place, Statement, StatementError
from drills.engine.staging import Kit, Line
from drills.engine.wanted import Wanted, musts

MOST_MIXES = 24


@dataclass(frozen=True, slots=True)
class Quickest:
    """The quickest plan for a kit, leg by leg, with the statement it was worked out from.

    `ways` are the legs of each person who has anything to do. No plan takes less than `bound_cs`;
    where that is its own time it is proved.
    """

    statement: Statement
    plan: Plan
    ways: tuple[tuple[Leg, ...], ...]
    bound_cs: int

    @property
    def legs(self) -> tuple[Leg, ...]:
        """All legs, of two people one after the other."""
        return tuple(leg for way in self.ways for leg in way)

    @property
    def cs(self) -> int:
        """When the whole kit is at the patient."""
        return self.plan.cs

    @property
    def is_proved(self) -> bool:
        """Whether nothing is quicker."""
        return self.bound_cs == self.plan.cs

    @property
    def most_above(self) -> int:
        """By how many in 100 it may be above the best, rounded up."""
        return -(-(self.plan.cs - self.bound_cs) * 100 // max(self.bound_cs, 1))


def quickest_kit(
    rig: Rig,
    wanted: Sequence[Wanted],
    *,
    held: Collection[tuple[str, str]] = (),
    people: int = 1,
) -> Quickest | None:
    """The quickest way of one person, or of two, to bring the must-haves of a call; None where it
    has none.

    What is `held` is reported missing: (thing key, place key). Raises `StatementError` naming what
    is not aboard.
    """
    needs = [_served(each) for each in musts(wanted) if each.quantity]
    if not needs:
        return None
    idle = idle_cots(rig, wanted)
    loose = rig.question(needs, held=held, idle=idle)
    plan = quickest(loose, people)
    aboard = _aboard(rig, held)
    mixed = _mixed(rig, needs, aboard)
    if not mixed:
        return _told(loose, plan, plan.bound_cs)
    plain = [each for number, each in enumerate(needs) if number not in mixed]
    mixes = _mixes(rig, [needs[number] for number in mixed], aboard)
    asked = (rig.question([*plain, *mix], held=held, idle=idle) for mix in mixes)
    return _best(asked, plan.bound_cs, people)


def idle_cots(rig: Rig, wanted: Sequence[Wanted]) -> frozenset[str]:
    """The cots that carry nothing on a call, since to bring one is a mistake: where wheels stop."""
    wrong = {thing for each in wanted for thing in each.wrong}
    lines = (line for line in rig.layout.stock if line.compartment in rig.cots)
    return frozenset(line.compartment for line in lines if line.key in wrong)


def _best(asked: Iterator[Statement], least_cs: int, people: int) -> Quickest:
    """The quickest of all mixes, or of the first of very many; none takes less than the least."""
    tried: list[tuple[Statement, Plan]] = []
    for statement in islice(asked, MOST_MIXES):
        plan = quickest(statement, people)
        tried.append((statement, plan))
        if plan.is_carried and plan.cs <= least_cs:
            return _told(statement, plan, plan.cs)
    if not tried:
        raise StatementError("The kit cannot be brought: its things do not go round.")
    best = min(tried, key=lambda each: (not each[1].is_carried, each[1].cs))
    is_all = next(asked, None) is None
    bound = min(plan.bound_cs for _, plan in tried) if is_all else least_cs
    return _told(*best, min(bound, best[1].cs))


@dataclass(frozen=True, slots=True)
class OwnWay:
    """The way of a person who brought a kit: what they took, place by place, and its legs."""

    statement: Statement
    taken: tuple[Taken, ...]
    legs: tuple[Leg, ...]

    @property
    def cs(self) -> int:
        """When all of it is at the patient."""
        return sum(leg.cs for leg in self.legs)


def own_way(
    rig: Rig, kit: Kit, order: Sequence[str], wanted: Sequence[Wanted] = ()
) -> OwnWay | None:
    """The way of a person who brought a kit, by the places in the order they took from them.

    `order` is codes of places, and of bags that were brought whole; None where it leaves any out.
    What lies in a bag that was brought whole came with it. A cot carries on a call for what is
    `wanted`, unless to bring one is a mistake there.
    """
    whole, lines = beside_bags(rig, kit)
    needed = whole | {code for code, _ in lines}
    if not needed or needed - set(order):
        return None
    statement, here = _asked(rig, lines, idle_cots(rig, wanted))
    taken: list[Taken] = []
    for code in dict.fromkeys(order):
        taken += [Taken(Place(code), is_whole=True)] if code in whole else []
        taken += _in_units(statement, code, here.get(code, {}))
    return OwnWay(statement, tuple(taken), own_route(statement, taken).legs)


def _asked(
    rig: Rig, lines: Mapping[Line, int], idle: Collection[str]
) -> tuple[Statement, dict[str, dict[int, int]]]:
    """The statement of some lines of stock, and their counts by place and number of the thing."""
    counts = Counter[str]()
    for (_, thing), count in lines.items():
        counts[thing] += count
    numbers = {thing: number for number, thing in enumerate(counts)}
    here: dict[str, dict[int, int]] = {}
    for (code, thing), count in lines.items():
        here.setdefault(code, {})[numbers[thing]] = count
    names = rig.layout.things
    asked = {names[thing].name: n for thing, n in counts.items()}
    return rig.statement(asked, idle=idle), here


def beside_bags(rig: Rig, kit: Kit) -> tuple[set[str], dict[Line, int]]:
    """The bags that came whole, and what came beside them: neither in another bag of the kit.

    Who brings what is heavy on a cot, such as the cot itself, brings the cot with all on it.
    """
    heavy = {code for (code, thing), n in kit.lines.items() if n and rig.hands_of(thing)}
    bags = kit.bags | (heavy & rig.cots)
    outer = {code: {code} | _holders(rig, code) for code, _ in kit.lines}
    whole = {code for code in bags if not _holders(rig, code) & bags}
    lines = {
        line: count for line, count in kit.lines.items() if count and not outer[line[0]] & bags
    }
    return whole, lines


def _holders(rig: Rig, code: str) -> set[str]:
    """All that a place lies in."""
    return {each.code for each in rig.layout.chain(code)[:-1]}


def _in_units(statement: Statement, code: str, counts: Mapping[int, int]) -> Iterator[Taken]:
    """What was taken at a place, each heavy thing out of a place of its own."""
    place = Place(code)
    light = {need: n for need, n in counts.items() if not statement.needs[need].hands}
    if light:
        yield Taken(place, light)
    for need, many in counts.items():
        if need not in light:
            yield from (Taken(statement.unit_of(place, need, n), {need: 1}) for n in range(many))


def _served(wanted: Wanted) -> Served:
    things = {thing: wanted.holds.get(thing, 1) for thing in wanted.serving}
    return Served(wanted.name or wanted.need, wanted.quantity, things)


def _told(statement: Statement, plan: Plan, bound_cs: int) -> Quickest:
    """Two trips are one way of one person; two people have one each."""
    walked = statement if plan.is_carried else replace(statement, hands=None)
    each = [(route,) for route in plan.routes] if plan.people > 1 else [plan.routes]
    taken = [[took for route in own for took in taken_on(walked, route)] for own in each]
    ways = (own_route(walked, took).legs for took in taken if took)
    return Quickest(walked, plan, tuple(ways), bound_cs)


def _aboard(rig: Rig, held: Collection[tuple[str, str]]) -> dict[str, int]:
    """How many there are of each thing."""
    lines = rig.lines(frozenset(held))
    return {thing: sum(line.par for line in each) for thing, each in lines.items()}


def _mixed(rig: Rig, needs: Sequence[Served], aboard: Mapping[str, int]) -> list[int]:
    """The needs that cannot be asked as one sum, by their numbers."""
    here = [{thing: size for thing, size in e.things.items() if thing in aboard} for e in needs]
    users = Counter(thing for things in here for thing in things)
    shared = {thing for thing, many in users.items() if many > 1}
    return [n for n, things in enumerate(here) if shared & things.keys() or _differ(rig, things)]


def _differ(rig: Rig, things: Mapping[str, int]) -> bool:
    """Whether some things are not alike in size or in the hands they take."""
    return len({(size, rig.hands_of(thing)) for thing, size in things.items()}) > 1


def _mixes(rig: Rig, needs: Sequence[Served], aboard: Mapping[str, int]) -> Iterator[list[Served]]:
    """Every mix of things that serves all of some needs, each once; their own things first.

    What is over in a pack serves another need, as it does where a kit is marked.
    """
    seen: set[frozenset[tuple[str, int]]] = set()
    sizes = {thing: size for each in needs for thing, size in each.things.items()}
    ways = [list(_shares(each, aboard)) for each in needs]
    for parts in product(*ways):
        packs = _packs(sum(map(Counter, parts), Counter[str]()), sizes)
        mix = frozenset(packs.items())
        if mix not in seen and Counter(packs) <= Counter(aboard):
            seen.add(mix)
            yield [_thing(rig, *each) for each in sorted(mix)]


def _packs(units: Mapping[str, int], sizes: Mapping[str, int]) -> dict[str, int]:
    return {thing: -(-many // sizes[thing]) for thing, many in units.items()}


def _thing(rig: Rig, thing: str, many: int) -> Served:
    return Served(rig.layout.things[thing].name, many, {thing: 1})


def _shares(need: Served, aboard: Mapping[str, int]) -> Iterator[dict[str, int]]:
    """Every way to serve a need out of its things, in as many as it takes."""
    most = [(thing, size * aboard[thing]) for thing, size in need.things.items() if thing in aboard]
    yield from _grown(most, need.quantity)


def _grown(most: Sequence[tuple[str, int]], short: int) -> Iterator[dict[str, int]]:
    if short <= 0:
        yield {}
        return
    if not most:
        return
    (thing, there), *others = most
    for many in range(min(short, there), -1, -1):
        for rest in _grown(others, short - many):
            yield {thing: many, **rest} if many else rest
