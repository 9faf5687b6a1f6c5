"""Where a compartment is on the rig, seen from above.

The plan has its origin at the front street-side corner of the body: `x` grows to the rear over
24 units, `y` to the curb side over 12. Faces are drawn as a person sees them who stands in front
of them, so some run against the plan.
"""

import math
from collections.abc import Callable
from typing import TypeAlias

from drills.engine.layout import GRID_HEIGHT, GRID_WIDTH, Layout
from drills.engine.points import points_of

Spot: TypeAlias = tuple[float, float]

_BODY_M = (4.3, 2.4)
_CAB_DEPTH = 6.0

_TO_PLAN: dict[str, Callable[[float, float], Spot]] = {
    "street": lambda x, y: (x, 0.0),
    "curb": lambda x, y: (GRID_WIDTH - x, GRID_HEIGHT),
    "interior-street": lambda x, y: (GRID_WIDTH - x, 1.5),
    "interior-curb": lambda x, y: (x, GRID_HEIGHT - 1.5),
    "bulkhead": lambda x, y: (0.0, x / 2),
    "rear": lambda x, y: (float(GRID_WIDTH), x / 2),
    "floor": lambda x, y: (GRID_WIDTH - x, y),
    "cab": lambda x, y: (_CAB_DEPTH * (y / GRID_HEIGHT - 1), x / 2),
}
MIDDLE: Spot = (GRID_WIDTH / 2, GRID_HEIGHT / 2)


def on_plan(face: str, x: float, y: float) -> Spot:
    """Where a spot of a face is on the plan, in its units."""
    return _TO_PLAN[face](x, y)


def spot_of(layout: Layout, code: str) -> Spot:
    """The middle of a compartment on the plan, in its units; a pocket stands where its bag does."""
    placed = next((each for each in reversed(layout.chain(code)) if each.rect), None)
    if placed is None or placed.rect is None:
        return MIDDLE
    return on_plan(layout.face_of(placed.code), *placed.rect.centre)


def cot_spot(layout: Layout) -> Spot:
    """Where the cot stands; without a cot point the middle of the body is assumed."""
    cot = next((point for point in points_of(layout) if point.kind == "cot"), None)
    return on_plan(cot.face, cot.x, cot.y) if cot else MIDDLE


def metres_from_cot(layout: Layout, code: str) -> float:
    """Straight distance from the cot on the plan, in metres; 4.3 by 2.4 where no size is given."""
    length = float(layout.length_m or _BODY_M[0])
    width = float(layout.width_m or _BODY_M[1])
    (x, y), (cot_x, cot_y) = spot_of(layout, code), cot_spot(layout)
    return math.hypot((x - cot_x) * length / GRID_WIDTH, (y - cot_y) * width / GRID_HEIGHT)
