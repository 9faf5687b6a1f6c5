"""The question for a rig: its compartments, doors and stock, and a kit of things with counts."""

from collections.abc import Iterator, Mapping
from itertools import pairwise

from drills.engine.layout import Compartment, Layout, StockLine, item_key
from drills.engine.optimum.ground import OUTSIDE, Ground, Patient
from drills.engine.optimum.motions import cs, look_cs
from drills.engine.optimum.statement import (
    Bag,
    Need,
    Opening,
    Source,
    Statement,
    StatementError,
    Way,
)

# What is carried in the hand: from so many kg on with one, and with two. Ours, no source.
ONE_HAND_KG, TWO_HANDS_KG = 5, 12
_BAG_HANDS = {"one-hand": 1, "two-hands": 2, "wheeled": 1}
HANDS_OF_ONE = 2
NEAR_PATIENT, CAB = "patient", "cab"
BY_THE_CURB = Patient()


class Rig:
    """A layout made ready for questions: what stands where, and what each compartment costs."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.ground = Ground(layout)
        self._openings: dict[str, int] = {}
        self._told: list[Opening] = []
        bags = [each.code for each in layout.compartments if each.is_bag]
        self._bag_numbers = {code: number for number, code in enumerate(bags)}

    def statement(
        self,
        kit: Mapping[str, int],
        *,
        patient: Patient = BY_THE_CURB,
        begin: str = NEAR_PATIENT,
        hands: int | None = HANDS_OF_ONE,
    ) -> Statement:
        """The question for a kit of things by their names, each in so many.

        Raises `StatementError` naming what is not aboard, or not in that number.
        """
        lines = self._lines(kit)
        needs = tuple(self._need(name, count, lines[item_key(name)]) for name, count in kit.items())
        numbers = {item_key(name): number for number, name in enumerate(kit)}
        stock: dict[str, dict[int, int]] = {}
        for key, found in lines.items():
            for line in found:
                at = stock.setdefault(line.compartment, {})
                at[numbers[key]] = at.get(numbers[key], 0) + line.par
        sources = tuple(self._sources(stock))
        bags = tuple(self._bag(code) for code in self._bag_numbers)
        ground = self.ground
        at_patient = ground.patient_at(patient)
        start = at_patient if begin == NEAR_PATIENT else ground.cab_seat()
        return Statement(
            needs=needs,
            openings=tuple(self._told),
            sources=sources,
            bags=bags,
            walk_cs=ground.walks(start, at_patient),
            hands=hands,
        ).in_units()

    def _lines(self, kit: Mapping[str, int]) -> dict[str, list[StockLine]]:
        found: dict[str, list[StockLine]] = {item_key(name): [] for name in kit}
        for line in self.layout.stock:
            if line.key in found:
                found[line.key].append(line)
        for name, count in kit.items():
            aboard = sum(line.par for line in found[item_key(name)])
            if aboard < count:
                raise StatementError(f"{name}: {count} are asked for, and {aboard} are aboard.")
        return found

    def _need(self, name: str, count: int, lines: list[StockLine]) -> Need:
        kg = max((line.weight_kg or 0 for line in lines), default=0)
        hands = (kg >= ONE_HAND_KG) + (kg >= TWO_HANDS_KG)
        return Need(name, count, cs("heavy" if hands else "pick"), hands)

    def _sources(self, stock: Mapping[str, Mapping[int, int]]) -> Iterator[Source]:
        for code, held in stock.items():
            chain = self.layout.chain(code)
            bags = frozenset(
                self._bag_numbers[each.code] for each in chain if each.code in self._bag_numbers
            )
            for stop, openings in self._ways(chain):
                yield Source(code, stop, openings, held, bags)

    def _bag(self, code: str) -> Bag:
        chain = self.layout.chain(code)
        within = (self._bag_numbers[e.code] for e in chain[:-1] if e.code in self._bag_numbers)
        ways = tuple(Way(stop, openings[:-1]) for stop, openings in self._ways(chain))
        return Bag(code, cs("bag"), ways, _BAG_HANDS[chain[-1].carried], frozenset(within))

    def _ways(self, chain: tuple[Compartment, ...]) -> Iterator[tuple[int, tuple[int, ...]]]:
        """From each side: where one stands, and what is opened down to the last compartment."""
        top = chain[0]
        sides = [(top.face, top.rect), *([(top.also_face, top.also_rect)] if top.also_face else [])]
        for at, (face, rect) in enumerate(sides):
            if at and not all(self._is_through(each) for each in chain[1:]):
                continue
            stop = self.ground.stop_at(face, rect)
            outer = [self._opening(f"{top.code} {face}", self._top_cs(top))]
            outer = [*self._doors_to(face), *outer]
            inner = [
                self._opening(each.code, self._inner_cs(each, parent))
                for parent, each in pairwise(chain)
            ]
            yield stop, (*outer, *inner)

    def _is_through(self, compartment: Compartment) -> bool:
        """Whether an inner compartment is reached from the second side of its cabinet."""
        return bool(compartment.also_face) or compartment.opens == "both"

    def _opening(self, code: str, seconds: int) -> int:
        if code not in self._openings:
            self._openings[code] = len(self._told)
            self._told.append(Opening(code, seconds))
        return self._openings[code]

    def _doors_to(self, face: str) -> Iterator[int]:
        """A door that must be open for a face, such as that of the rear or of the cab."""
        if face in OUTSIDE[:2] or face not in (*OUTSIDE, CAB):
            return
        doors = [p for p in self.layout.points if p.kind == "door" and face in p.serves]
        if doors:
            yield self._opening(f"door to the {face}", cs("door"))

    def _top_cs(self, each: Compartment) -> int:
        return cs("turn") + self._height_cs(each) + self._own_cs(each)

    def _inner_cs(self, each: Compartment, parent: Compartment) -> int:
        is_other_height = each.height and each.height != parent.height
        return self._own_cs(each) + (self._height_cs(each) if is_other_height else 0)

    def _own_cs(self, each: Compartment) -> int:
        closure = {"door": "door", "drawer": "drawer", "lid": "lid"}.get(each.closure)
        if each.closure == "zip":
            closure = "zip" if each.is_bag else "pocket"
        found = cs(closure) if closure else 0
        found += cs("lock") if each.locked else 0
        found += cs("seal") if each.sealed else 0
        return found + look_cs(len(self.layout.lines_in.get(each.code, ())))

    def _height_cs(self, each: Compartment) -> int:
        height = each.height
        if not height and each.rect:
            # The rows of a face, a third each: from the floor up.
            height = "low" if each.rect.centre[1] >= 8 else ""
        if height in ("floor", "low"):
            return cs("low")
        return cs("overhead") if height == "overhead" else 0
