"""How compartments lie in one another: parents, faces, keys, and rectangles that must not meet."""

from collections import defaultdict, deque
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from drills.engine.layout import Compartment, Rect
from drills.engine.workbook.cells import Row
from drills.engine.workbook.columns import DEPTH
from drills.engine.workbook.compartments import RECT, Found, code_in
from drills.engine.workbook.problems import quote

OUTSIDE_FACES = ("street", "curb", "rear")
SHOWN = 3  # neighbours named in one message


@dataclass(frozen=True, slots=True)
class Spot:
    """Where the chain of parents puts a compartment: its face, and how deep it lies."""

    face: str
    depth: int


def codes_of(found: list[Found]) -> Mapping[str, str]:
    """The codes as written, by their form without case; the second of two alike is a problem."""
    first: dict[str, Found] = {}
    for each in found:
        code = each.compartment.code
        other = first.setdefault(code.casefold(), each)
        if code and other is not each:
            got = f"{quote(code)}, which row {other.row.number} has too,"
            each.row.refuse("code", got, "a code of its own, whatever the case of its letters")
    return {key: each.compartment.code for key, each in first.items() if key}


def settle(
    found: list[Found], codes: Mapping[str, str] | None, seats: Mapping[str, str] | None
) -> tuple[Compartment, ...]:
    """The compartments with their references looked up and their tree checked.

    `seats` are the codes of the seats by their form without case, None where no points are given.
    """
    linked = [_linked(each, codes, seats) for each in found]
    spots = _spots(linked)
    _refuse_cycles(linked, spots)
    _refuse_same_keys(linked)
    for each in linked:
        _refuse_unplaced(each, spots)
    _refuse_overlaps(linked, spots)
    return tuple(_opened(each, spots) for each in linked)


def _linked(
    found: Found, codes: Mapping[str, str] | None, seats: Mapping[str, str] | None
) -> Found:
    row, compartment = found.row, found.compartment
    inside = code_in(codes, compartment.inside)
    if compartment.inside and not inside:
        got = quote(compartment.inside)
        row.refuse("inside", got, "the code of a compartment of this sheet, or nothing")
    reach = compartment.reach_from
    if seats is not None:
        for seat in reach:
            if seat.casefold() not in seats:
                row.refuse("reach_from", quote(seat), "codes of seats of the points sheet")
        reach = tuple(seats.get(seat.casefold(), seat) for seat in reach)
    return Found(row, replace(compartment, inside=inside, reach_from=reach))


def _spots(found: list[Found]) -> dict[str, Spot]:
    """Face and depth by code, from the top down; what hangs in a cycle has none."""
    children: dict[str, list[Compartment]] = defaultdict(list)
    for each in found:
        children[each.compartment.inside].append(each.compartment)
    spots: dict[str, Spot] = {}
    open_ends = deque((each, Spot("", 0)) for each in children[""])
    while open_ends:
        compartment, parent_spot = open_ends.popleft()
        if compartment.code and compartment.code not in spots:
            spot = Spot(compartment.face or parent_spot.face, parent_spot.depth + 1)
            spots[compartment.code] = spot
            open_ends.extend((each, spot) for each in children[compartment.code])
    return spots


def _refuse_cycles(found: list[Found], spots: Mapping[str, Spot]) -> None:
    parents = {each.compartment.code: each.compartment.inside for each in found}
    rows = {each.compartment.code: each.row for each in found}
    done = set(spots)
    for code in parents:
        path: list[str] = []
        while code and code not in done:
            done.add(code)
            path.append(code)
            code = parents[code]
        if code in path:
            cycle = path[path.index(code) :]
            got = f"a circle ({' in '.join([*cycle[:DEPTH], cycle[0]])})"
            rows[code].refuse("inside", got, "a parent that does not lie in the compartment itself")


def _refuse_same_keys(found: list[Found]) -> None:
    first: dict[str, Found] = {}
    for each in found:
        key = each.compartment.key
        other = first.setdefault(key.casefold(), each)
        alike = key and other is not each
        if alike and (each.compartment.place or other.compartment.place):  # else two alike codes
            got = f"{quote(key)}, which row {other.row.number} stands for too,"
            each.row.refuse("place", got, "a place of its own, unlike every other place and code")


def _refuse_unplaced(found: Found, spots: Mapping[str, Spot]) -> None:
    row, compartment = found.row, found.compartment
    spot = spots.get(compartment.code)
    if spot and spot.depth == DEPTH + 1:
        got = f"a compartment inside {DEPTH} others"
        row.refuse("inside", got, f"at most {DEPTH} in one another")
    top = not row.given("inside")
    if top and not row.given("face"):
        row.refuse("face", "no value", "a face for each compartment that lies in no other")
    if top and not any(row.given(each) for each in RECT):
        row.refuse("x", "no value", "x, y, w and h for each compartment that lies in no other")
    _refuse_half_opening(row, compartment, top=top)


def _refuse_half_opening(row: Row, compartment: Compartment, *, top: bool) -> None:
    sized = any(row.given(f"also_{each}") for each in RECT)
    if sized and not row.given("also_face"):
        row.refuse("also_face", "no value", "the face of the second opening")
    elif top and compartment.also_face and not sized:
        row.refuse("also_x", "no value", "also_x, also_y, also_w and also_h beside also_face")


def _refuse_overlaps(found: list[Found], spots: Mapping[str, Spot]) -> None:
    """Refuse siblings that share area, by painting each face of each parent square by square."""
    painted: dict[tuple[str, str, int, int], Row] = {}
    for each in found:
        compartment, row = each.compartment, each.row
        for column, face, rect in _openings(compartment, spots):
            met: dict[int, str] = {}
            for x, y in _squares(rect):
                other = painted.setdefault((compartment.inside, face, x, y), row)
                if other is not row:
                    met.setdefault(other.number, str(other.cells.get("code", "")).strip())
            if met:
                names = [f"{code} (row {number})" for number, code in met.items()][:SHOWN]
                got = f"a rectangle on {face} that shares area with {', '.join(names)}"
                row.refuse(column, got, "compartments side by side where they have one parent")


def _openings(
    compartment: Compartment, spots: Mapping[str, Spot]
) -> Iterator[tuple[str, str, Rect]]:
    spot = spots.get(compartment.code)
    if spot and spot.face and compartment.rect:
        yield "x", spot.face, compartment.rect
    if compartment.also_face and compartment.also_rect:
        yield "also_x", compartment.also_face, compartment.also_rect


def _squares(rect: Rect) -> Iterator[tuple[int, int]]:
    for x in range(rect.x, rect.x + rect.w):
        for y in range(rect.y, rect.y + rect.h):
            yield x, y


def _opened(found: Found, spots: Mapping[str, Spot]) -> Compartment:
    """The compartment with `opens` filled in: the outside faces open outside."""
    compartment = found.compartment
    spot = spots.get(compartment.code)
    outside = spot is not None and spot.face in OUTSIDE_FACES
    return replace(compartment, opens=compartment.opens or ("outside" if outside else "inside"))
