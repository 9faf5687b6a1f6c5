"""A kit that was brought, beside the quickest way to bring it: told after the answer alone."""

from collections.abc import Sequence
from dataclasses import dataclass

from drills.engine.drawing import faces, mark_cells
from drills.engine.layout import Layout
from drills.engine.optimum import Rig, StatementError
from drills.engine.optimum.kit import Quickest, own_way, quickest_kit
from drills.engine.optimum.own import Leg
from drills.engine.plan import PlanDrawing, plan_of
from drills.engine.recipes import STAGE
from drills.engine.staging import read_kit
from drills.engine.ways import StopRow, WayDrawing, draw_ways, rows_of
from drills.runs.models import Presentation
from drills.scenarios.tasks import wanted_in


@dataclass(frozen=True, slots=True)
class Bringing:
    """The quickest way to bring a kit, and the person's own where its order is known."""

    presentation: Presentation
    quickest: Quickest
    rows: tuple[StopRow, ...]
    plan: PlanDrawing
    quick_way: WayDrawing
    own_way: WayDrawing | None

    @property
    def is_short(self) -> bool:
        """Whether the kit that was brought lacks a must-have."""
        return bool(self.presentation.missed)

    @property
    def total(self) -> StopRow:
        """Both ways as a whole."""
        return StopRow(
            "Together",
            (),
            own_cs=sum(row.own_cs for row in self.rows),
            quick_cs=sum(row.quick_cs for row in self.rows),
        )


def bringings(presentations: Sequence[Presentation], layout: Layout) -> list[Bringing]:
    """The kits among some answers, each with the quickest way to bring it."""
    kits = [each for each in presentations if each.prompt and each.prompt.kind == STAGE]
    if not kits:
        return []
    rig = Rig(layout)
    found = (_bringing(each, rig) for each in kits)
    return [each for each in found if each is not None]


def _bringing(presentation: Presentation, rig: Rig) -> Bringing | None:
    """None where nothing of the kit is aboard, so that there is no way to bring it."""
    prompt = presentation.prompt
    if prompt is None:
        return None
    held = [(thing, place) for thing, place in presentation.run.drill.held]
    try:
        quickest = quickest_kit(rig, wanted_in(prompt.answer), held=held)
    except StatementError:
        return None
    if quickest is None:
        return None
    own = _own(presentation, rig)
    end = quickest.statement.end
    own_way, quick_way = draw_ways(rig, own, quickest.legs, end)
    return Bringing(
        presentation=presentation,
        quickest=quickest,
        rows=rows_of(rig, own, quickest.legs, end),
        plan=_plan(rig.layout, quickest),
        quick_way=quick_way,
        own_way=own_way,
    )


def _own(presentation: Presentation, rig: Rig) -> tuple[Leg, ...]:
    kit = read_kit(presentation.answer)
    found = own_way(rig, kit, presentation.taken_order) if presentation.taken_order else None
    return found.legs if found else ()


def _plan(layout: Layout, quickest: Quickest) -> PlanDrawing:
    """The rig from above; what the quickest way opens is drawn as found."""
    codes = [leg.place.partition(" ")[0] for leg in quickest.legs if leg.place]
    found = {layout.chain(code)[0].code: 1 for code in codes}
    return plan_of(mark_cells(face, found=found) for face in faces(layout, value_of=str))
