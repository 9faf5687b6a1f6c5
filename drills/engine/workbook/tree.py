"""How compartments lie in one another: parents, faces, keys, and rectangles that must not meet."""

from collections import defaultdict, deque
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from drills.engine.layout import Compartment, Rect
from drills.engine.workbook.cells import Row
from drills.engine.workbook.codes import Codes
from drills.engine.workbook.columns import DEPTH
from drills.engine.workbook.compartments import RECT, Found
from drills.engine.workbook.points import Seats
from drills.engine.workbook.problems import quote

OUTSIDE_FACES = ("street", "curb", "rear")
SHOWN = 3  # neighbours named in one message


@dataclass(frozen=True, slots=True)
class Spot:
    """Where the chain of parents puts a compartment: its face, and how deep it lies."""

    face: str
    depth: int


def settle(found: list[Found], codes: Codes, seats: Seats) -> tuple[Compartment, ...]:
    """The compartments with their references looked up and their tree checked."""
    linked = [_linked(each, codes, seats) for each in found]
    firsts = [each for each in linked if codes.is_first(each.row, each.compartment.code)]
    spots = _spots(firsts)
    _refuse_cycles(firsts, spots, codes)
    _refuse_same_keys(linked)
    for each in linked:
        _refuse_unplaced(each, _spot_of(each, spots))
    _refuse_overlaps(linked, spots, codes)
    return tuple(_opened(each, spots) for each in linked)


def _linked(found: Found, codes: Codes, seats: Seats) -> Found:
    """The compartment with its parent and seats as their rows write them.

    A parent that no row has stays as written: what lies there lies together, wherever it is.
    """
    row, compartment = found.row, found.compartment
    inside = codes.find(compartment.inside)
    if compartment.inside and not inside:
        inside = compartment.inside.casefold()
        accepted = "the code of a compartment of this sheet, or nothing"
        codes.miss(row, "inside", compartment.inside, accepted)
    reach = tuple(_seat(row, each, seats) for each in compartment.reach_from)
    return Found(row, replace(compartment, inside=inside, reach_from=reach))


def _seat(row: Row, text: str, seats: Seats) -> str:
    code, accepted = seats.codes.find(text), "codes of seats of the points sheet"
    if not code:
        seats.codes.miss(row, "reach_from", text, accepted)
    elif not seats.codes.is_empty and code.casefold() not in seats.sitting:
        row.refuse("reach_from", quote(text), accepted)
    return code or text


def _spots(firsts: list[Found]) -> dict[str, Spot]:
    """Face and depth by code, from the top down; what hangs in a cycle has none."""
    children: dict[str, list[Found]] = defaultdict(list)
    for each in firsts:
        children[each.compartment.inside].append(each)
    spots: dict[str, Spot] = {}
    open_ends = deque(children[""])
    while open_ends:
        each = open_ends.popleft()
        if spot := _spot_of(each, spots):
            spots[each.compartment.code] = spot
            open_ends.extend(children[each.compartment.code])
    return spots


def _spot_of(found: Found, spots: Mapping[str, Spot]) -> Spot | None:
    """Where a row puts its compartment; none where its parent is none. Refused faces are empty."""
    inside = found.compartment.inside
    parent = spots.get(inside) if inside else Spot("", 0)
    if parent is None:
        return None
    face = found.compartment.face
    return Spot(face if found.row.given("face") else parent.face, parent.depth + 1)


def _refuse_cycles(firsts: list[Found], spots: Mapping[str, Spot], codes: Codes) -> None:
    parents = {each.compartment.code: each.compartment.inside for each in firsts}
    rows = {each.compartment.code: each.row for each in firsts}
    done = set(spots)
    for code in parents:
        cycle = _cycle_from(code, parents, done)
        if cycle and not any(map(codes.is_twin, cycle)):
            got = f"a circle ({' in '.join([*cycle[:DEPTH], cycle[0]])})"
            accepted = "a parent that does not lie in the compartment itself"
            rows[cycle[0]].refuse("inside", got, accepted)


def _cycle_from(code: str, parents: Mapping[str, str], done: set[str]) -> list[str]:
    """The codes of a circle that a code leads into, none where it leads to the top."""
    path: list[str] = []
    while code and code not in done:
        done.add(code)
        path.append(code)
        code = parents.get(code, "")
    return path[path.index(code) :] if code in path else []


def _refuse_same_keys(found: list[Found]) -> None:
    first: dict[str, Found] = {}
    for each in found:
        key = each.compartment.key
        other = first.setdefault(key.casefold(), each)
        alike = key and other is not each
        codes = {one.compartment.code.casefold() for one in (each, other)}
        if alike and codes != {key.casefold()}:  # else two alike codes, refused already
            got = f"{quote(key)}, which row {other.row.number} stands for too,"
            each.row.refuse("place", got, "a place of its own, unlike every other place and code")


def _refuse_unplaced(found: Found, spot: Spot | None) -> None:
    row, compartment = found.row, found.compartment
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


def _refuse_overlaps(found: list[Found], spots: Mapping[str, Spot], codes: Codes) -> None:
    """Refuse siblings that share area, by painting each face of each parent square by square.

    Where two rows have one code, nobody can say what lies in which of them.
    """
    painted: dict[tuple[str, str, int, int], Found] = {}
    for each in found:
        inside = each.compartment.inside
        for column, face, rect in () if codes.is_twin(inside) else _openings(each, spots):
            squares = (painted.setdefault((inside, face, *at), each) for at in _squares(rect))
            met = {other.row.number: other for other in squares if not _are_twins(each, other)}
            if met:
                got = f"a rectangle{_on(face)} that shares area with {_names(met)}"
                accepted = "compartments side by side where they have one parent"
                each.row.refuse(column, got, accepted)


def _on(face: str) -> str:
    return f" on {face}" if face else ""


def _names(met: Mapping[int, Found]) -> str:
    names = [f"{one.compartment.code} (row {row})".strip() for row, one in met.items()]
    return ", ".join(names[:SHOWN])


def _are_twins(one: Found, other: Found) -> bool:
    """Whether they are one, or two rows of one code."""
    code = one.compartment.code.casefold()
    return one is other or (bool(code) and code == other.compartment.code.casefold())


def _openings(found: Found, spots: Mapping[str, Spot]) -> Iterator[tuple[str, str, Rect]]:
    """Column, face and rectangle of each opening; a face not known is empty for all in one parent.

    What stands on a face that was refused, or at the top without one, is left out.
    """
    compartment, spot = found.compartment, _spot_of(found, spots)
    face = compartment.face or (spot.face if spot else "")
    if compartment.rect and (face or _inherits(found)):
        yield "x", face, compartment.rect
    if compartment.also_face and compartment.also_rect:
        yield "also_x", compartment.also_face, compartment.also_rect


def _inherits(found: Found) -> bool:
    return bool(found.compartment.inside) and not found.row.given("face")


def _squares(rect: Rect) -> Iterator[tuple[int, int]]:
    for x in range(rect.x, rect.x + rect.w):
        for y in range(rect.y, rect.y + rect.h):
            yield x, y


def _opened(found: Found, spots: Mapping[str, Spot]) -> Compartment:
    """The compartment with `opens` filled in: the outside faces open outside."""
    compartment, spot = found.compartment, _spot_of(found, spots)
    outside = spot is not None and spot.face in OUTSIDE_FACES
    return replace(compartment, opens=compartment.opens or ("outside" if outside else "inside"))
