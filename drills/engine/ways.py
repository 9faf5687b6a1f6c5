"""The quickest way to bring a kit beside one's own: on the plan of the rig, and stop by stop."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, groupby, pairwise

from drills.engine.optimum import NEAR_PATIENT, Rig
from drills.engine.optimum.own import Leg
from drills.engine.plan import BODY_BOTTOM, BODY_LEFT, BODY_RIGHT, BODY_TOP, CAB_LEFT
from drills.engine.waymark import mark_of

# How far off the body the ways are drawn; not to scale.
QUICK_OFF, OWN_OFF = 16, 31
_BALL, _INSIDE = 25, 8
_LONG = 44

Spot = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Ball:
    """The number of a visit, in the order of the way."""

    number: int
    x: int
    y: int

    @property
    def left(self) -> int:
        """Where its square begins."""
        return self.x - 11

    @property
    def top(self) -> int:
        """Where its square begins from above."""
        return self.y - 11

    @property
    def text_y(self) -> int:
        """The line its figure is written on."""
        return self.y + 5


@dataclass(frozen=True, slots=True)
class WayDrawing:
    """A way as a line on the plan, its visits numbered, and arrow heads along it."""

    line: str
    balls: tuple[Ball, ...]
    heads: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StopRow:
    """One stop of both ways: what was done there, its numbers on either, and the time in cs."""

    name: str
    places: tuple[str, ...]
    own_numbers: tuple[int, ...] = ()
    quick_numbers: tuple[int, ...] = ()
    own_cs: int = 0
    quick_cs: int = 0

    @property
    def own_s(self) -> str:
        """The time of one's own in seconds."""
        return in_seconds(self.own_cs)

    @property
    def quick_s(self) -> str:
        """The time of the quickest in seconds."""
        return in_seconds(self.quick_cs)

    @property
    def lost_s(self) -> str:
        """By how much one's own takes longer here, with its sign."""
        return in_seconds(self.own_cs - self.quick_cs, is_signed=True)


def in_seconds(cs: int, *, is_signed: bool = False) -> str:
    """Hundredths of a second as seconds, to a tenth."""
    told = f"{abs(cs) / 100:.1f}"
    sign = "+" if cs > 0 else "\N{MINUS SIGN}"
    return f"{sign}{told}" if is_signed and cs else told


def visits_of(legs: Sequence[Leg]) -> list[tuple[int, list[Leg]]]:
    """Legs at one stop after the other, each visit with what was done on it."""
    return [(stop, list(each)) for stop, each in groupby(legs, key=lambda leg: leg.stop)]


def rows_of(rig: Rig, own: Sequence[Leg], quick: Sequence[Leg], end: int) -> tuple[StopRow, ...]:
    """Both ways stop by stop, in the order of one's own; the patient comes last.

    The times of either way are in whole tenths of a second that add up to the whole of it.
    """
    ways = visits_of(own), visits_of(quick)
    stops = dict.fromkeys(stop for way in ways for stop, _ in way if stop != end)
    rows = [_row(rig, ways, stop, end) for stop in (*stops, end)]
    own_tenths = _in_tenths([row.own_cs for row in rows])
    quick_tenths = _in_tenths([row.quick_cs for row in rows])
    told = zip(rows, own_tenths, quick_tenths, strict=True)
    return tuple(replace(row, own_cs=mine, quick_cs=best) for row, mine, best in told)


def _in_tenths(times: Sequence[int]) -> list[int]:
    """Times rounded so that they still add up to their rounded sum."""
    ends = [0, *(round(total / 10) * 10 for total in accumulate(times))]
    return [end - begin for begin, end in pairwise(ends)]


def _row(rig: Rig, ways: Sequence[Sequence[tuple[int, list[Leg]]]], stop: int, end: int) -> StopRow:
    numbers: list[tuple[int, ...]] = []
    times: list[int] = []
    codes: dict[str, None] = {}
    for way in ways:
        outside = [at for at, _ in way if at != end]
        legs = [leg for at, each in way if at == stop for leg in each]
        numbers.append(tuple(n for n, at in enumerate(outside, 1) if at == stop))
        times.append(sum(leg.cs for leg in legs))
        codes |= dict.fromkeys(_tops(rig, legs))
    name = "To the patient" if stop == end else _said(rig.ground.standing[stop].name)
    (own, quick), (own_cs, quick_cs) = numbers, times
    return StopRow(name, tuple(codes), own, quick, own_cs, quick_cs)


def _said(name: str) -> str:
    return name[0].upper() + name[1:]


def _tops(rig: Rig, legs: Sequence[Leg]) -> Iterator[str]:
    """What was opened, by its code and name, and the bags that came whole."""
    for leg in legs:
        if leg.place:
            *_, last = chain = rig.layout.chain(leg.code)
            yield f"{chain[0].code} {chain[0].name}"
            if leg.is_whole and len(chain) > 1:
                yield f"{last.code} {last.name}, whole"


def draw_ways(
    rig: Rig, own: Sequence[Leg], quick: Sequence[Leg], end: int
) -> tuple[WayDrawing | None, WayDrawing]:
    """Both ways on the plan, one's own farther out; no number hides another."""
    used: list[Spot] = []
    second = _drawn(rig, quick, end, QUICK_OFF, used)
    return (_drawn(rig, own, end, OWN_OFF, used) if own else None), second


def _drawn(rig: Rig, legs: Sequence[Leg], end: int, off: int, used: list[Spot]) -> WayDrawing:
    begin, patient = rig.ends(NEAR_PATIENT)
    stops = [stop for stop, _ in visits_of(legs)]
    nodes = [end, *stops]
    spot = _placer(rig, patient, off)
    way = [spot(*each) for each in rig.ground.way(begin, patient, nodes)]
    points = _round_corners(way, _aside(rig, off), off)
    balls = []
    for number, stop in enumerate((each for each in stops if each != end), 1):
        at = rig.ground.standing[stop]
        is_along = (
            at.is_inside or 0 <= (at.x + rig.ground.cab) <= rig.ground.cab + rig.ground.length
        )
        x, y = _free(spot(at.x, at.y), used, is_along=is_along)
        used.append((x, y))
        balls.append(Ball(number, x, y))
    line = "M" + "L".join(f"{x} {y}" for x, y in points)
    heads = tuple(_head(a, b) for a, b in pairwise(points) if _length(a, b) >= _LONG)
    return WayDrawing(line, tuple(balls), heads)


def _aside(rig: Rig, off: int) -> Spot:
    """The patient; one's own way ends farther off the body there too, and does not cross."""
    mark, farther = mark_of(rig.patient), _INSIDE if off == OWN_OFF else -_INSIDE
    across = {"rear": farther, "front": -farther}.get(rig.patient.side, 0)
    down = {"curb": farther, "street": -farther}.get(rig.patient.side, 0)
    return mark.x + across, mark.y + down


def _round_corners(points: Sequence[Spot], patient: Spot, off: int) -> list[Spot]:
    """The patient is drawn nearer than they are: a straight walk there goes round the corner."""
    found = [points[0]]
    for at, to in pairwise(points):
        if patient in (at, to):
            found += _corner(patient, to if at == patient else at, off)
        found.append(to)
    return found


def _corner(patient: Spot, other: Spot, off: int) -> list[Spot]:
    """The corner between the patient and a spot that another side of the body faces."""
    (px, py), (x, y) = patient, other
    if CAB_LEFT <= px <= BODY_RIGHT:
        is_hidden = not CAB_LEFT <= x <= BODY_RIGHT
        is_hidden &= y < BODY_BOTTOM if py > BODY_BOTTOM else y > BODY_TOP
        return [(x, BODY_BOTTOM + off if py > BODY_BOTTOM else BODY_TOP - off)] * is_hidden
    is_hidden = x <= BODY_RIGHT if px > BODY_RIGHT else x >= CAB_LEFT
    return [(BODY_RIGHT + off if px > BODY_RIGHT else CAB_LEFT - off, y)] if is_hidden else []


def _placer(rig: Rig, patient: tuple[float, float], off: int) -> Callable[[float, float], Spot]:
    """Metres to pixels of the plan; what is outside stands so far off the body."""
    ground, aside = rig.ground, _INSIDE if off == OWN_OFF else -_INSIDE
    mark = _aside(rig, off)

    def spot(x: float, y: float) -> Spot:
        if (x, y) == patient:
            return mark
        left, right = CAB_LEFT - off, BODY_RIGHT + off
        across = left if x < -ground.cab else right if x > ground.length else None
        if across is None:
            across = round(_across(ground.length, ground.cab, x))
        if y < 0:
            return across, BODY_TOP - off
        if y > ground.width:
            return across, BODY_BOTTOM + off
        down = BODY_TOP + (BODY_BOTTOM - BODY_TOP) * y / ground.width
        return across, round(down) + (aside if 0 <= x <= ground.length else 0)

    return spot


def _across(length: float, cab: float, x: float) -> float:
    if x < 0:
        return BODY_LEFT + (BODY_LEFT - CAB_LEFT) * x / cab
    return BODY_LEFT + (BODY_RIGHT - BODY_LEFT) * x / length


def _free(spot: Spot, used: Sequence[Spot], *, is_along: bool) -> Spot:
    """The spot itself, or beside it along the way, where no other number is."""
    x, y = spot
    for step in range(12):
        far = (step + 1) // 2 * _BALL * (1 if step % 2 else -1)
        at = (x + far, y) if is_along else (x, y + far)
        if all(abs(at[0] - a) >= _BALL - 1 or abs(at[1] - b) >= _BALL - 1 for a, b in used):
            return at
    return spot


def _length(a: Spot, b: Spot) -> float:
    return float(((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5)


def _head(a: Spot, b: Spot) -> str:
    """An arrow head two thirds along a straight part of a way."""
    far = _length(a, b)
    ux, uy = (b[0] - a[0]) / far, (b[1] - a[1]) / far
    x, y = a[0] + (b[0] - a[0]) * 0.66, a[1] + (b[1] - a[1]) * 0.66
    corners = [(x + 6 * ux, y + 6 * uy)]
    corners += [(x - 5 * ux + 5 * side * uy, y - 5 * uy - 5 * side * ux) for side in (1, -1)]
    return "M" + "L".join(f"{px:.1f} {py:.1f}" for px, py in corners) + "z"
