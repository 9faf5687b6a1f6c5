"""The question for a rig: its compartments, doors and stock, and a kit of things with counts."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from math import gcd

from drills.engine.layout import WHEELED, Compartment, Layout, Rect, StockLine, item_key
from drills.engine.optimum.ground import OUTSIDE, Ground, PatientPlace
from drills.engine.optimum.motions import OURS, Multipliers
from drills.engine.optimum.statement import (
    Bag,
    Need,
    Opening,
    Place,
    Source,
    Statement,
    StatementError,
    Way,
)

# What is carried in the hand: from so many kg on with one, and with two. Ours, no source.
ONE_HAND_KG, TWO_HANDS_KG = 5, 12
_BAG_HANDS = {"one-hand": 1, "two-hands": 2, WHEELED: 1}
# What rolls and is open carries what is laid on it; a case on wheels does not.
_OPEN = ("none", "open")
HANDS_OF_ONE = 2
NEAR_PATIENT, CAB = "patient", "cab"
BY_THE_CURB = PatientPlace()
NOTHING: Mapping[int, int] = {}


@dataclass(frozen=True, slots=True)
class Served:
    """A need in so many, and what serves it: things by key, with how many of it one of each is."""

    name: str
    quantity: int
    things: Mapping[str, int]


class Rig:
    """A layout made ready for questions: what stands where, and what each compartment costs.

    The patient is 6 m off the curb side; `at` asks for another. `motions` are the seconds that
    count: our own, or those of the service.
    """

    def __init__(self, layout: Layout, motions: Multipliers = OURS) -> None:
        self.layout = layout
        self.motions = motions
        self.patient = BY_THE_CURB
        self.ground = Ground(layout, motions)
        self._openings: dict[str, int] = {}
        self._told: list[Opening] = []
        bags = [each.code for each in layout.compartments if each.is_bag]
        self._bag_numbers = {code: number for number, code in enumerate(bags)}
        # All of them at once, so that where one stands does not hang on what was asked before.
        for top in layout.children.get("", ()):
            for face, rect in _sides(top):
                self.ground.stop_at(face, rect)
        self._behind = self.ground.behind()
        self.cots = frozenset(each.code for each in layout.compartments if _is_cot(each))
        self._walks: dict[tuple[PatientPlace, str], tuple[tuple[int, ...], ...]] = {}
        self.lines = cache(self._lines)
        self.hands_of = cache(self._hands_of)

    def at(self, patient: PatientPlace) -> "Rig":
        """The same rig with the patient elsewhere."""
        found = copy(self)
        found.patient = patient
        return found

    def statement(
        self,
        kit: Mapping[str, int],
        *,
        begin: str = NEAR_PATIENT,
        hands: int | None = HANDS_OF_ONE,
        idle: Collection[str] = (),
    ) -> Statement:
        """The question for a kit of things by their names, each in so many.

        Raises `StatementError` naming what is not aboard, or not in that number.
        """
        served = [Served(name, count, {item_key(name): 1}) for name, count in kit.items()]
        return self.question(served, begin=begin, hands=hands, idle=idle)

    def question(
        self,
        kit: Sequence[Served],
        *,
        held: Collection[tuple[str, str]] = (),
        begin: str = NEAR_PATIENT,
        hands: int | None = HANDS_OF_ONE,
        idle: Collection[str] = (),
    ) -> Statement:
        """The question for needs that several things serve; what is `held` is not there, and cots
        that are `idle` carry nothing.

        Exact where all that serves a need is alike in size and in the hands it takes, and no thing
        serves two. Else no plan is quicker than this one: each need is taken at its lightest.
        Raises `StatementError` naming what is not aboard, or not in that number.
        """
        lines = self.lines(frozenset(held))
        stock: dict[str, dict[int, int]] = {}
        needs = []
        for number, served in enumerate(kit):
            need, found = self._need(served, lines)
            needs.append(need)
            for code, count in found:
                at = stock.setdefault(code, {})
                at[number] = at.get(number, 0) + count
        sources, holds = self.laid(stock, needs)
        return self.posed(needs, sources, holds, begin=begin, hands=hands, idle=idle)

    def laid(
        self, stock: Mapping[str, Mapping[int, int]], needs: Sequence[Need]
    ) -> tuple[list[Source], dict[str, dict[int, int]]]:
        """What lies in each place, by the number of the need, as sources; what comes with a cot
        alone, by its code: all that is heavy on it, such as the cot itself."""
        sources: list[Source] = []
        holds: dict[str, dict[int, int]] = {}
        for code, counts in stock.items():
            heavy = {need for need in counts if code in self.cots and needs[need].hands}
            if heavy:
                holds[code] = {need: counts[need] for need in heavy}
            loose = {need: n for need, n in counts.items() if need not in heavy}
            if loose:
                sources += self.sources(code, loose)
        return sources, holds

    def posed(
        self,
        needs: Sequence[Need],
        sources: Sequence[Source],
        holds: Mapping[str, Mapping[int, int]],
        *,
        begin: str = NEAR_PATIENT,
        hands: int | None = HANDS_OF_ONE,
        idle: Collection[str] = (),
    ) -> Statement:
        """The question for needs that lie in some sources, on this rig's ground and with its bags.

        Its openings are all that were met so far: the sources are made before.
        """
        bags = [self.bag(code, holds.get(code, NOTHING)) for code in self._bag_numbers]
        return Statement(
            needs=tuple(needs),
            openings=tuple(self._told),
            sources=tuple(sources),
            bags=tuple(replace(e, carries=e.carries and e.code not in idle) for e in bags),
            walk_cs=self.walks(begin),
            hands=hands,
        ).in_units()

    def walks(self, begin: str) -> tuple[tuple[int, ...], ...]:
        """The walks between all stops, the begin and the patient, worked out once for each two."""
        at = self.patient, begin
        if at not in self._walks:
            self._walks[at] = self.ground.walks(*self.ends(begin))
        return self._walks[at]

    def ends(self, begin: str) -> tuple[tuple[float, float], tuple[float, float]]:
        """Where one begins, and where the patient is, in metres."""
        at_patient = self.ground.patient_at(self.patient)
        return (at_patient if begin == NEAR_PATIENT else self.ground.cab_seat()), at_patient

    def _need(
        self, served: Served, lines: Mapping[str, Sequence[StockLine]]
    ) -> tuple[Need, list[tuple[str, int]]]:
        """A need, and how many of it lie where; in packs where all that serves it are alike."""
        things = {thing: size for thing, size in served.things.items() if thing in lines}
        held = [(line, size) for thing, size in things.items() for line in lines[thing]]
        _refuse_fewer(served, sum(line.par * size for line, size in held))
        sizes = {*things.values()} or {1}
        pack = gcd(*sizes)
        hands = min(map(self.hands_of, things), default=0)
        pick = self.motions.cs("heavy" if hands else "pick") * pack // max(sizes)
        counts = [(line.compartment, line.par * size // pack) for line, size in held]
        return Need(
            served.name, -(-served.quantity // pack), pick, hands * (len(sizes) == 1)
        ), counts

    def _lines(self, held: frozenset[tuple[str, str]]) -> dict[str, list[StockLine]]:
        """Stock lines by thing, without what is held."""
        found: dict[str, list[StockLine]] = {}
        for line in self.layout.lines_there(held):
            found.setdefault(line.key, []).append(line)
        return found

    def _hands_of(self, thing: str) -> int:
        """How many hands one of a thing takes."""
        kg = max(
            (line.weight_kg or 0 for line in self.lines(frozenset()).get(thing, ())), default=0
        )
        return (kg >= ONE_HAND_KG) + (kg >= TWO_HANDS_KG)

    def sources(self, code: str, held: Mapping[int, int]) -> Iterator[Source]:
        """A place with what it holds, by the number of the need, from each of its sides."""
        chain = self.layout.chain(code)
        bags = frozenset(
            self._bag_numbers[each.code] for each in chain if each.code in self._bag_numbers
        )
        for stop, openings in self._ways(chain):
            yield Source(Place(code), stop, openings, held, bags)

    def bag(self, code: str, holds: Mapping[int, int] = NOTHING) -> Bag:
        """What it takes to bring a bag whole, from each of its sides, and what comes with it alone.

        A cot inside comes out by the rear door.
        """
        chain = self.layout.chain(code)
        within = (self._bag_numbers[e.code] for e in chain[:-1] if e.code in self._bag_numbers)
        ways = tuple(Way(stop, openings[:-1]) for stop, openings in self._ways(chain))
        carries = code in self.cots
        if carries and self._behind is not None and chain[0].face not in OUTSIDE:
            ways = (
                Way(self._behind, (self._opening("door to the rear", self.motions.cs("door")),)),
            )
        return Bag(
            code,
            self.motions.cs("cot" if carries else "bag"),
            ways,
            _BAG_HANDS[chain[-1].carried],
            frozenset(within),
            carries=carries,
            holds=holds,
        )

    def _ways(self, chain: tuple[Compartment, ...]) -> Iterator[tuple[int, tuple[int, ...]]]:
        """From each side: where one stands, and what is opened down to the last compartment."""
        top = chain[0]
        for at, (face, rect) in enumerate(_sides(top)):
            if at and not all(self._is_through(each) for each in chain[1:]):
                continue
            stop = self.ground.stop_at(face, rect)
            outer = [self._opening(f"{top.code} {face}", self._top_cs(top), _lock_of(top))]
            outer = [*self._doors_to(face), *outer]
            inner = [
                self._opening(each.code, self._inner_cs(each, parent), _lock_of(each))
                for parent, each in pairwise(chain)
            ]
            yield stop, (*outer, *inner)

    def _is_through(self, compartment: Compartment) -> bool:
        """Whether an inner compartment is reached from the second side of its cabinet."""
        return bool(compartment.also_face) or compartment.opens == "both"

    def _opening(self, code: str, seconds: int, locked: str = "") -> int:
        if code not in self._openings:
            self._openings[code] = len(self._told)
            self._told.append(Opening(code, seconds, locked))
        return self._openings[code]

    def _doors_to(self, face: str) -> Iterator[int]:
        """A door that must be open for a face, such as that of the rear or of the cab."""
        if face in OUTSIDE[:2] or face not in (*OUTSIDE, CAB):
            return
        doors = [p for p in self.layout.points if p.kind == "door" and face in p.serves]
        if doors:
            yield self._opening(f"door to the {face}", self.motions.cs("door"))

    def _top_cs(self, each: Compartment) -> int:
        return self.motions.cs("turn") + self._height_cs(each) + self._own_cs(each)

    def _inner_cs(self, each: Compartment, parent: Compartment) -> int:
        is_other_height = each.height and each.height != parent.height
        return self._own_cs(each) + (self._height_cs(each) if is_other_height else 0)

    def _own_cs(self, each: Compartment) -> int:
        closure = {"door": "door", "drawer": "drawer", "lid": "lid"}.get(each.closure)
        if each.closure == "zip":
            closure = "zip" if each.is_bag else "pocket"
        found = self.motions.cs(closure) if closure else 0
        found += self.motions.cs("lock") if each.locked else 0
        found += self.motions.cs("seal") if each.sealed else 0
        return found + self.motions.look_cs(len(self.layout.lines_in.get(each.code, ())))

    def _height_cs(self, each: Compartment) -> int:
        height = each.height
        if not height and each.rect:
            # The rows of a face, a third each: from the floor up.
            height = "low" if each.rect.centre[1] >= 8 else ""
        if height in ("floor", "low"):
            return self.motions.cs("low")
        return self.motions.cs("overhead") if height == "overhead" else 0


def _is_cot(each: Compartment) -> bool:
    return each.carried == WHEELED and each.closure in _OPEN


def _lock_of(each: Compartment) -> str:
    return each.code if each.locked else ""


def _refuse_fewer(served: Served, aboard: int) -> None:
    if aboard < served.quantity:
        raise StatementError(
            f"{served.name}: {served.quantity} are asked for, and {aboard} are aboard."
        )


def _sides(top: Compartment) -> Iterator[tuple[str, Rect | None]]:
    """The faces that a top compartment opens to, and where on them."""
    yield top.face, top.rect
    if top.also_face:
        yield top.also_face, top.also_rect
