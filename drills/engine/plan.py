"""The rig from above: where the compartments of its faces are, and the numbers put on them."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from drills.engine.drawing import Cell, FaceDrawing
from drills.engine.layout import GRID_WIDTH, Rect

_BALL = 24  # from one number to the next on the same place
_BODY_X, _BODY_W, _UNIT = 72, 280, 280 / 24
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
    """A compartment seen from above, in pixels of a drawing 360 wide; `kind` is its line."""

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
            if cell.rect is None:
                continue
            x, y, w, h = _FROM_ABOVE[face.key](cell.rect)
            shapes.append(PlanShape(_plan_line(face, cell), round(x), round(y), round(w), round(h)))
            numbers = [mark.number for mark in cell.inner_marks if mark.kind == "found"]
            for aside, number in enumerate(numbers):
                spot = round(x + w / 2) + aside * _BALL, round(y + h / 2)
                balls.setdefault(number, PlanBall(number, *spot))
    said = ", ".join(str(number) for number in sorted(balls))
    says = "The rig from above" + (f", with numbers {said}" if said else "")
    return PlanDrawing(tuple(shapes), tuple(balls.values()), says)


def _plan_line(face: FaceDrawing, cell: Cell) -> str:
    if any(mark.kind == "found" for mark in cell.inner_marks):
        return "hotp"
    if cell.is_reached:
        return "beltp"
    return "dash" if face.key in {"floor", "cab"} else "c"
