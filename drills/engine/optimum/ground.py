"""Where people stand and walk round and through a rig, in metres, and the least time between."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise, product

import numpy as np
from numpy.typing import NDArray

from drills.engine.geometry import MIDDLE, on_plan
from drills.engine.layout import GRID_HEIGHT, GRID_WIDTH, Layout, Point, Rect
from drills.engine.optimum.motions import OURS, Multipliers
from drills.engine.points import points_of

OUTSIDE = ("street", "curb", "rear")
# One stands half a metre off the body, and two doors nearer than this are reached from one spot.
_OFF_M, _MERGED_M, _AISLE_STEP_M = 0.5, 0.6, 0.8
_BODY_M = (4.3, 2.4)
# As the plan of the rig draws it, a cab is a quarter as long as the body behind it.
_CAB_SHARE = 1 / 5
_ROOM = {"interior-street", "interior-curb", "bulkhead", "floor"}
_NO_WAY = 10_000_000
SIDES = ("curb", "street", "rear", "front")


@dataclass(frozen=True, slots=True)
class StandingPlace:
    """Where one stands: outside, in the aisle, or at a door of the cab."""

    name: str
    x: float
    y: float
    is_inside: bool = False


@dataclass(frozen=True, slots=True)
class PatientPlace:
    """Where the patient is: so many metres off a side of the rig."""

    side: str = "curb"
    metres: float = 6.0

    @property
    def words(self) -> str:
        """How far off which side, in words."""
        side = f"{self.side} side" if self.side in OUTSIDE[:2] else self.side
        return f"{self.metres:g} m off the {side}"


class Ground:
    """The standing places of a layout; the body runs from x = 0 to its length, y from the street
    side to the curb side, the cab lies before it."""

    def __init__(self, layout: Layout, motions: Multipliers = OURS) -> None:
        self._layout = layout
        self._cs, self._walk_cs = motions.cs, motions.walk_cs
        whole = float(layout.length_m or _BODY_M[0])
        self.width = float(layout.width_m or _BODY_M[1])
        self.cab = whole * _CAB_SHARE if self._has("cab") else 0.0
        self.length = whole - self.cab
        self.standing: list[StandingPlace] = []
        self._points = points_of(layout)
        self.aisle = tuple(self._aisle()) if self._has_room else ()

    def _has(self, face: str) -> bool:
        return any(each.face == face for each in self._layout.compartments)

    @property
    def _has_room(self) -> bool:
        told = self._layout.compartments
        return bool(_ROOM & {face for each in told for face in (each.face, each.also_face)})

    def _aisle(self) -> Iterator[int]:
        for number in range(max(int(self.length / _AISLE_STEP_M), 1)):
            x = (number + 0.5) * _AISLE_STEP_M
            yield self._add(StandingPlace(f"aisle {number + 1}", x, self.width / 2, is_inside=True))

    def _add(self, standing: StandingPlace) -> int:
        self.standing.append(standing)
        return len(self.standing) - 1

    def _metres(self, spot: tuple[float, float]) -> tuple[float, float]:
        return spot[0] * self.length / GRID_WIDTH, spot[1] * self.width / GRID_HEIGHT

    def stop_at(self, face: str, rect: Rect | None) -> int:
        """Where one stands before what is at a face of the rig."""
        x, y = self._metres(on_plan(face, *rect.centre) if rect else MIDDLE)
        if face == "cab":
            return self._cab_stop(y)
        if face in OUTSIDE:
            return self._outside(face, x, y)
        return min(self.aisle, key=lambda stop: abs(self.standing[stop].x - x))

    def _cab_stop(self, y: float) -> int:
        """At the door of the cab on the side that is nearer."""
        is_street = y < self.width / 2
        side = -_OFF_M if is_street else self.width + _OFF_M
        name = f"cab, {'street' if is_street else 'curb'} side"
        return self._merged(StandingPlace(name, -self.cab / 2, side))

    def _outside(self, face: str, x: float, y: float) -> int:
        if face == "rear":
            return self._merged(StandingPlace(face, self.length + _OFF_M, y))
        return self._merged(
            StandingPlace(face, x, -_OFF_M if face == "street" else self.width + _OFF_M)
        )

    def _merged(self, standing: StandingPlace) -> int:
        """The standing place that is there already where one is near on the same side."""
        for number, other in enumerate(self.standing):
            is_near = math.dist((other.x, other.y), (standing.x, standing.y)) < _MERGED_M
            if is_near and other.name.split(" at ")[0] == standing.name:
                return number
        told = standing.name if standing.name.startswith("cab") else None
        name = told or f"{standing.name} at {max(standing.x, 0):.1f} m"
        return self._add(StandingPlace(name, standing.x, standing.y))

    def doors(self) -> Iterator[tuple[int, int]]:
        """Where one stands before and behind each door to the inside.

        Where a workbook names none, a rear door is assumed: one gets in somehow.
        """
        if not self.aisle:
            return
        doors = [each for each in self._points if _leads_inside(each)]
        for point in doors:
            x, y = self._metres(on_plan(point.face, point.x, point.y))
            behind = min(self.aisle, key=lambda stop: abs(self.standing[stop].x - x))
            yield self._outside(point.face, x, y), behind
        if not doors:
            yield self._outside("rear", self.length, self.width / 2), self.aisle[-1]

    def behind(self) -> int | None:
        """Where one stands behind the rear door; None where none leads inside."""
        before = (stop for stop, _ in self.doors())
        return next((stop for stop in before if self.standing[stop].name.startswith("rear")), None)

    def patient_at(self, patient: PatientPlace) -> tuple[float, float]:
        """Where the patient is, in metres."""
        far, middle = patient.metres, self.width / 2
        return {
            "curb": (self.length / 2, self.width + far),
            "street": (self.length / 2, -far),
            "rear": (self.length + far, middle),
            "front": (-self.cab - far, middle),
        }[patient.side]

    def cab_seat(self) -> tuple[float, float]:
        """Where one begins who gets out of the cab, on the curb side."""
        return -self.cab / 2, self.width + _OFF_M

    def walks(
        self, begin: tuple[float, float], patient: tuple[float, float]
    ) -> tuple[tuple[int, ...], ...]:
        """The least time between all standing places, the begin and the patient, in cs."""
        _, _, least = self._net(begin, patient)
        kept = len(self.standing) + 2
        return tuple(map(tuple, least[:kept, :kept].tolist()))

    def way(
        self,
        begin: tuple[float, float],
        patient: tuple[float, float],
        stops: Sequence[int],
    ) -> list[tuple[float, float]]:
        """The corners of the walk through some stops, in metres; numbered as in `walks`."""
        nodes, edges, least = self._net(begin, patient)
        found = [(nodes[stops[0]].x, nodes[stops[0]].y)]
        for at, end in pairwise(stops):
            while at != end:
                # Straight to a corner from which the rest is least; never to where one stands.
                away = np.where(edges[at] > 0, edges[at] + least[:, end], _NO_WAY)
                at = end if edges[at, end] == least[at, end] else int(np.argmin(away))
                found.append((nodes[at].x, nodes[at].y))
        return found

    def _net(
        self, begin: tuple[float, float], patient: tuple[float, float]
    ) -> tuple[list[StandingPlace], NDArray[np.int64], NDArray[np.int64]]:
        """All that can be walked to, straight walks between, and the least walks."""
        doors = list(self.doors())
        kept = len(self.standing) + 2
        ends = product((-self.cab - _OFF_M, self.length + _OFF_M), (-_OFF_M, self.width + _OFF_M))
        nodes = [*self.standing, *(StandingPlace("", *each) for each in (begin, patient, *ends))]
        cost = np.full((len(nodes), len(nodes)), _NO_WAY, dtype=np.int64)
        np.fill_diagonal(cost, 0)
        for a, b in combinations(range(len(nodes)), 2):
            if (seconds := self._edge(nodes[a], nodes[b])) is not None:
                turns = (a >= kept) + (b >= kept)
                cost[a, b] = cost[b, a] = seconds + turns * self._cs("corner") // 2
        for before, behind in doors:
            cost[before, behind] = cost[behind, before] = (
                2 * self._cs("step") + self._cs("pass") // 2
            )
        edges = cost.copy()
        # Times are whole before they are added: so no way by way of others is ever shorter.
        for middle in range(len(nodes)):
            np.minimum(cost, cost[:, middle][:, None] + cost[middle], out=cost)
        return nodes, edges, cost

    def _edge(self, a: StandingPlace, b: StandingPlace) -> int | None:
        """Straight from one to the other; None through a wall."""
        if a.is_inside != b.is_inside or (not a.is_inside and self._crosses(a, b)):
            return None
        return self._walk_cs(math.dist((a.x, a.y), (b.x, b.y)), inside=a.is_inside)

    def _crosses(self, a: StandingPlace, b: StandingPlace) -> bool:
        """Whether a straight line goes through the rig."""
        enter, leave = 0.0, 1.0
        for start, way, low, high in (
            (a.x, b.x - a.x, -self.cab, self.length),
            (a.y, b.y - a.y, 0.0, self.width),
        ):
            if not way:
                if not low < start < high:
                    return False
                continue
            ends = sorted(((low - start) / way, (high - start) / way))
            enter, leave = max(enter, ends[0]), min(leave, ends[1])
        return enter < leave


def _leads_inside(point: Point) -> bool:
    return point.kind == "door" and point.face in OUTSIDE and bool(_ROOM & set(point.serves))
