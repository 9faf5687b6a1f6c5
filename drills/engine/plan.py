"""The rig from above: where the compartments of its faces are, and the numbers put on them."""

from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass

from drills.engine.drawing import Cell, FaceDrawing
from drills.engine.layout import GRID_WIDTH, Rect

_BALL = 24  # from one number to the next
_SEAT = 18
_WIDTH, _HEIGHT = 360, 176
_BODY_X, _BODY_W, _UNIT = 72, 280, 280 / 24
# The outline of the rig: what lies outside these is walked.
CAB_LEFT, BODY_LEFT, BODY_RIGHT, BODY_TOP, BODY_BOTTOM = 4, 72, 352, 8, 168
# Each face seen from above, as x, y, w and h in the pixels of the plan.
_FROM_ABOVE: dict[str, Callable[[Rect], tuple[float, float, float, float]]] = {
    "street": lambda r: (_BODY_X + r.x * _UNIT, 9, r.w * _UNIT, 14),
    "curb": lambda r: (_BODY_X + (GRID_WIDTH - r.x - r.w) * _UNIT, 153, r.w * _UNIT, 14),
    "interior-street": lambda r: (
        _BODY_X + (GRID_WIDTH - r.x - r.w) * _UNIT,
        26,
        r.w * _UNIT,
        20,
    ),
    "interior-curb": lambda r: (_BODY_X + r.x * _UNIT, 130, r.w * _UNIT, 20),
    "bulkhead": lambda r: (_BODY_X + 1, 9 + r.x * 6.6, 14, r.w * 6.6),
    "rear": lambda r: (_BODY_X + _BODY_W - 15, 9 + r.x * 6.6, 14, r.w * 6.6),
    "floor": lambda r: (
        _BODY_X + (GRID_WIDTH - r.x - r.w) * _UNIT,
        48 + r.y * 6.6,
        r.w * _UNIT,
        r.h * 6.6,
    ),
    "cab": lambda r: (10 + r.y * 5, 14 + r.x * 6.1, r.h * 5, r.w * 6.1),
}


@dataclass(frozen=True, slots=True)
class PlanShape:
    """What stands somewhere, from above, in pixels of a drawing 360 wide; `kind` is its line."""

    kind: str
    x: int
    y: int
    w: int
    h: int


@dataclass(frozen=True, slots=True)
class PlanBall:
    """A number on the plan."""

    number: int
    x: int
    y: int

    @property
    def text_y(self) -> int:
        """The line its figure is written on."""
        return self.y + 5


@dataclass(frozen=True, slots=True)
class PlanDrawing:
    """The rig from above, front at the left, with the numbers of places that were found."""

    shapes: tuple[PlanShape, ...]
    balls: tuple[PlanBall, ...]
    says: str


def plan_of(drawn: Iterable[FaceDrawing]) -> PlanDrawing:
    """The plan of the faces as they are marked; found and reached places keep their line."""
    shapes: list[PlanShape] = []
    balls: dict[int, PlanBall] = {}
    for face in drawn:
        for cell in face.cells:
            if cell.rect is not None:
                shape = _seen(face, cell.rect, _plan_line(face, cell))
                shapes.append(shape)
                _number(cell, shape, balls)
        shapes += _fixed_shapes(face)
    said = ", ".join(str(number) for number in sorted(balls))
    says = "The rig from above" + (f", with numbers {said}" if said else "")
    return PlanDrawing(tuple(shapes), tuple(balls.values()), says)


def _seen(face: FaceDrawing, rect: Rect, kind: str) -> PlanShape:
    return PlanShape(kind, *map(round, _FROM_ABOVE[face.key](rect)))


def _number(cell: Cell, shape: PlanShape, balls: dict[int, PlanBall]) -> None:
    """Put the numbers of a place on it; one that has two openings is numbered at the first."""
    middle = shape.x + shape.w // 2, shape.y + shape.h // 2
    for mark in cell.inner_marks:
        if mark.kind == "found" and mark.number not in balls:
            balls[mark.number] = PlanBall(mark.number, *_free_spot(middle, balls.values()))


def _free_spot(middle: tuple[int, int], balls: Collection[PlanBall]) -> tuple[int, int]:
    """The middle of a place, or beside and then below it, so that no number hides another."""
    x, y = middle
    while any(abs(x - ball.x) < _BALL and abs(y - ball.y) < _BALL for ball in balls):
        x += _BALL
        if x > _WIDTH - _BALL / 2:
            x, y = middle[0], y + _BALL
        if y > _HEIGHT - _BALL / 2:
            return middle
    return x, y


def _fixed_shapes(face: FaceDrawing) -> Iterator[PlanShape]:
    """The cot and the seats on the floor and in the cab, and the doors in the skin of the body."""
    is_outside = face.key in {"street", "curb", "rear"}
    for each in face.fixed:
        if (each.kind == "door") == is_outside:
            shape = _seen(face, each.rect, "gap" if is_outside else "n")
            yield _seat_on(shape) if each.kind == "seat" else shape


def _seat_on(room: PlanShape) -> PlanShape:
    x, y = room.x + (room.w - _SEAT) // 2, room.y + (room.h - _SEAT) // 2
    return PlanShape("seat", x, y, _SEAT, _SEAT)


def _plan_line(face: FaceDrawing, cell: Cell) -> str:
    if any(mark.kind == "found" for mark in cell.inner_marks):
        return "hotp"
    if cell.is_reached:
        return "beltp"
    return "dash" if face.key in {"floor", "cab"} else "c"
