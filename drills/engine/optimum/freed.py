"""One's own choices on a rig, given up one after the other, and the least time of the rest."""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil

from drills.engine.optimum.kit import OwnWay, beside_bags
from drills.engine.optimum.plan import Plan, Visit, quickest
from drills.engine.optimum.rig import Rig
from drills.engine.optimum.statement import Need, Place, Source, Statement
from drills.engine.staging import Kit
from drills.engine.wanted import Wanted, counted, musts, packs_of, share

Stock = dict[str, dict[str, int]]
# A thing by its key, the code of the place or the bag that it comes out of, whether it comes whole.
Sourced = tuple[str, str, bool]


@dataclass(frozen=True, slots=True)
class Step:
    """What was taken at one place, or with one bag: for the must-haves, and beside them.

    A bag is `idle` that was brought whole for no must-have.
    """

    code: str
    stop: int
    is_whole: bool
    needed: Mapping[str, int]
    beside: Mapping[str, int]
    is_idle: bool = False

    @property
    def is_kept(self) -> bool:
        """Whether anything of it is left when what is no must-have is given up."""
        return bool(self.needed or self.beside or self.is_idle)

    @property
    def things(self) -> Counter[str]:
        """All of it."""
        return Counter(self.needed) + Counter(self.beside)


@dataclass(frozen=True, slots=True)
class Freed:
    """A plan while choices are given up: its places in order, and where each thing comes from."""

    plan: Plan
    order: tuple[str, ...]
    sources: frozenset[Sourced]

    @property
    def cs(self) -> int:
        """Its time."""
        return self.plan.cs


def steps_of(rig: Rig, own: OwnWay, kit: Kit, wanted: Sequence[Wanted]) -> list[Step]:
    """One's own way place by place; what comes first serves the must-haves first."""
    here = _here(rig, kit)
    packs = packs_of(wanted)
    got = sum(got_of(wanted, sum(here.values(), Counter[str]())), Counter[str]())
    left = Counter({thing: ceil(count / packs.get(thing, 1)) for thing, count in got.items()})
    stops = {leg.code: leg.stop for leg in own.legs}
    found = []
    for code, is_whole in dict.fromkeys((e.place.code, e.is_whole) for e in own.taken):
        things = here[code, is_whole]
        needed = things & left
        left -= needed
        # What else lies in a bag costs nothing beside what was needed of it.
        beside = Counter[str]() if is_whole and needed else things - needed
        found.append(Step(code, stops[code], is_whole, needed, beside, is_whole and not needed))
    return found


def _here(rig: Rig, kit: Kit) -> dict[tuple[str, bool], Counter[str]]:
    """What came out of each place, and in each bag that came whole."""
    whole, lines = beside_bags(rig, kit)
    found = {(code, True): _inside(rig, code) for code in whole}
    for (code, thing), count in lines.items():
        found.setdefault((code, False), Counter())[thing] = count
    return found


def _inside(rig: Rig, code: str) -> Counter[str]:
    """What lies in a bag."""
    found: Counter[str] = Counter()
    for line in rig.layout.stock:
        if any(each.code == code for each in rig.layout.chain(line.compartment)):
            found[line.key] += line.par
    return found


def got_of(wanted: Sequence[Wanted], brought: Mapping[str, int]) -> list[Counter[str]]:
    """What each must-have gets of some things, packs counted by what they hold."""
    return share(musts(wanted), counted(brought, packs_of(wanted)))


@dataclass(frozen=True, slots=True)
class Choices:
    """The steps of a way on a rig, what is reported missing there, and the hands of one person.

    Cots that are `idle` carry nothing, though they were brought.
    """

    rig: Rig
    steps: Sequence[Step]
    held: Collection[tuple[str, str]]
    hands: int | None
    idle: frozenset[str] = frozenset()

    def plan(self, kept: Sequence[Step], free: Mapping[str, int]) -> Freed:
        """The least time when some steps stay as they were, and some things come from anywhere."""
        needs, sources, cots = self._as_they_were(kept)
        things = {len(needs) + at: thing for at, thing in enumerate(free)}
        needs += [self._need(thing, many) for thing, many in free.items()]
        stock = {
            code: {need: held[thing] for need, thing in things.items() if thing in held}
            for code, held in self._stock(kept, free).items()
        }
        loose, holds = self.rig.laid(stock, needs)
        statement = self.rig.posed(
            needs, [*sources, *loose], {**holds, **cots}, hands=self.hands, idle=self.idle
        )
        plan = quickest(statement)
        stay = ((thing, step.code, step.is_whole) for step in kept for thing in step.needed)
        return Freed(plan, *_told(statement, plan, things, stay))

    def _as_they_were(
        self, kept: Sequence[Step]
    ) -> tuple[list[Need], list[Source], dict[str, dict[int, int]]]:
        """Steps as needs that nothing else serves; a cot that was brought serves its own."""
        needs: list[Need] = []
        sources: list[Source] = []
        cots: dict[str, dict[int, int]] = {}
        for step in kept:
            for need in self._needs_of(step):
                if step.is_whole and step.code in self.rig.cots:
                    cots[step.code] = {len(needs): 1}
                else:
                    sources += self._sources_of(step, len(needs), need.quantity)
                needs.append(need)
        return needs, sources, cots

    def _need(self, thing: str, many: int) -> Need:
        hands = self.rig.hands_of(thing)
        return Need(thing, many, self.rig.motions.cs("heavy" if hands else "pick"), hands)

    def _needs_of(self, step: Step) -> list[Need]:
        """What is taken at a place as needs that nothing else serves: all that is light as one."""
        if step.is_whole:
            bag = self.rig.bag(step.code)
            return [Need(step.code, 1, bag.cs, bag.hands)] if step.is_kept else []
        each = [self._need(thing, many) for thing, many in step.things.items()]
        light = sum(need.pick_cs * need.quantity for need in each if not need.hands)
        heavy = [need for need in each if need.hands]
        return [Need(step.code, 1, light), *heavy] if light else heavy

    def _sources_of(self, step: Step, number: int, many: int) -> Iterator[Source]:
        """From each side of a step's place, by a name of its own: beside it the same place may
        serve what is free."""
        ways = self.rig.bag(step.code).ways if step.is_whole else self.rig.sources(step.code, {})
        for way in ways:
            yield Source(Place(step.code, f"own{number}"), way.stop, way.openings, {number: many})

    def _stock(self, kept: Sequence[Step], free: Mapping[str, int]) -> Stock:
        """What is free to be taken in each place: what was taken there, or no more than is left."""
        codes = {step.code for step in kept}
        found = {
            step.code: {thing: n for thing, n in step.needed.items() if thing in free}
            for step in self.steps
            if not step.is_whole and step.code not in codes
        }
        for code, thing, left in self._left(kept):
            if thing in free:
                here = found.setdefault(code, {})
                here[thing] = max(here.get(thing, 0), left)
        return found

    def _left(self, kept: Sequence[Step]) -> Iterator[tuple[str, str, int]]:
        """What some steps leave in each place."""
        loose = {step.code: step.things for step in kept if not step.is_whole}
        whole = {step.code for step in kept if step.is_whole}
        for line in self.rig.layout.lines_there(self.held):
            code, thing = line.compartment, line.key
            left = line.par - loose.get(code, Counter())[thing]
            if left > 0 and whole.isdisjoint(each.code for each in self.rig.layout.chain(code)):
                yield code, thing, left


def _told(
    statement: Statement, plan: Plan, things: Mapping[int, str], stay: Iterable[Sourced]
) -> tuple[tuple[str, ...], frozenset[Sourced]]:
    """The places of a plan in order, and where each thing comes from."""
    visits = [visit for route in plan.routes for visit in route.visits]
    order = dict.fromkeys(code for visit in visits for code in _codes(statement, visit))
    come = (each for visit in visits for each in _come(statement, visit, things))
    return tuple(order), frozenset([*come, *stay])


def _codes(statement: Statement, visit: Visit) -> Iterator[str]:
    """The bags and places of a visit."""
    yield from (statement.bags[number].code for number in visit.bags)
    yield from (take.place.code for take in visit.taken)


def _come(statement: Statement, visit: Visit, things: Mapping[int, str]) -> Iterator[Sourced]:
    """What comes of a visit that is free, with the place or the bag it comes out of."""
    for number in visit.bags:
        inside = things.keys() & statement.content[number].keys()
        yield from ((things[need], statement.bags[number].code, True) for need in inside)
    for take in visit.taken:
        if take.need in things:
            yield things[take.need], take.place.code, False


def without_beside(steps: Sequence[Step]) -> list[Step]:
    """The steps with what serves the must-haves alone."""
    return [replace(each, beside={}, is_idle=False) for each in steps]
