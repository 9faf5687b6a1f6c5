"""A kit that was brought, beside the quickest way to bring it: told after the answer alone."""

from collections.abc import Sequence
from dataclasses import dataclass

from drills.engine.drawing import faces, mark_cells
from drills.engine.layout import Layout
from drills.engine.losing import LostLine, lost_lines
from drills.engine.optimum import PatientPlace, Rig, StatementError
from drills.engine.optimum.kit import OwnWay, Quickest, own_way, quickest_kit
from drills.engine.optimum.losses import losses_of
from drills.engine.optimum.own import Leg
from drills.engine.plan import PlanDrawing, plan_of
from drills.engine.recipes import STAGE
from drills.engine.staging import read_kit
from drills.engine.wanted import Wanted
from drills.engine.waymark import PatientMark, mark_of
from drills.engine.ways import StopRow, WayDrawing, draw_ways, in_seconds, rows_of
from drills.runs.models import Presentation
from drills.scenarios.reading import motions_asked
from drills.scenarios.tasks import stands_in, wanted_in

# Within so much a way is as good as the quickest: modelled times are no surer than that. Ours.
AS_GOOD_CS, AS_GOOD_SHARE = 300, 20


@dataclass(frozen=True, slots=True)
class Share:
    """What one of two people does of a kit: the places in their order, and the seconds."""

    places: tuple[str, ...]
    seconds: str


@dataclass(frozen=True, slots=True)
class Bringing:
    """The quickest way to bring a kit, and the person's own where its order is known.

    `patient` is where it goes, `mark` that on the plan. `lost` is where the own way lost its time.
    `shares` are of the person and a partner, when two bring it in the least time, `with_partner_s`
    seconds; the partner has none where one is enough.
    """

    presentation: Presentation
    patient: PatientPlace
    mark: PatientMark
    quickest: Quickest
    rows: tuple[StopRow, ...]
    plan: PlanDrawing
    quick_way: WayDrawing
    own_way: WayDrawing | None
    lost: tuple[LostLine, ...]
    shares: tuple[Share, ...]
    with_partner: Quickest

    @property
    def with_partner_s(self) -> str:
        """The time of two people in seconds."""
        return in_seconds(self.with_partner.cs)

    @property
    def is_short(self) -> bool:
        """Whether the kit that was brought lacks a must-have."""
        return bool(self.presentation.missed)

    @property
    def is_as_good(self) -> bool:
        """Whether the own way is as good as the quickest, for all that is known."""
        return not self.is_short and as_good(self.total.own_cs, self.total.quick_cs)

    @property
    def total(self) -> StopRow:
        """Both ways as a whole."""
        return total_of(self.rows)


def as_good(own_cs: int, quick_cs: int) -> bool:
    """Whether a way is as good as the quickest: within 3 s of it, or 5 in 100."""
    return own_cs - quick_cs <= max(AS_GOOD_CS, quick_cs // AS_GOOD_SHARE)


def total_of(rows: Sequence[StopRow]) -> StopRow:
    """All rows of both ways together."""
    own, quick = sum(row.own_cs for row in rows), sum(row.quick_cs for row in rows)
    return StopRow("Together", (), own_cs=own, quick_cs=quick)


def bringings(presentations: Sequence[Presentation], layout: Layout) -> list[Bringing]:
    """The kits among some answers, each with the quickest way to bring it."""
    kits = [each for each in presentations if each.prompt and each.prompt.kind == STAGE]
    if not kits:
        return []
    rig = Rig(layout, motions_asked(kits[0].run.drill))
    found = (_bringing(each, rig) for each in kits)
    return [each for each in found if each is not None]


def _bringing(presentation: Presentation, rig: Rig) -> Bringing | None:
    """None where nothing of the kit is aboard, so that there is no way to bring it."""
    prompt = presentation.prompt
    if prompt is None:
        return None
    held = [(thing, place) for thing, place in presentation.run.drill.held]
    wanted = wanted_in(prompt.answer)
    rig = rig.at(stands_in(prompt.answer))
    try:
        quickest = quickest_kit(rig, wanted, held=held)
        with_partner = quickest_kit(rig, wanted, held=held, people=2)
    except StatementError:
        return None
    if quickest is None or with_partner is None:
        return None
    own = _own(presentation, rig, wanted)
    legs = own.legs if own else ()
    end = quickest.statement.end
    drawn, quick_way = draw_ways(rig, legs, quickest.legs, end)
    rows = rows_of(rig, legs, quickest.legs, end)
    return Bringing(
        presentation=presentation,
        quickest=quickest,
        rows=rows,
        patient=rig.patient,
        mark=mark_of(rig.patient),
        plan=_plan(rig.layout, quickest),
        quick_way=quick_way,
        own_way=drawn,
        lost=_lost(presentation, rig, own, quickest, wanted) if own else (),
        shares=tuple(_shares(rig.layout, with_partner, legs)),
        with_partner=with_partner,
    )


def _own(presentation: Presentation, rig: Rig, wanted: Sequence[Wanted]) -> OwnWay | None:
    if not presentation.taken_order:
        return None
    return own_way(rig, read_kit(presentation.answer), presentation.taken_order, wanted)


def _lost(
    presentation: Presentation, rig: Rig, own: OwnWay, quickest: Quickest, wanted: Sequence[Wanted]
) -> tuple[LostLine, ...]:
    held = [(thing, place) for thing, place in presentation.run.drill.held]
    kit = read_kit(presentation.answer)
    losses = losses_of(rig, own, quickest, kit=kit, wanted=wanted, held=held)
    end = quickest.statement.end
    total = total_of(rows_of(rig, own.legs, quickest.legs, end))
    lost_cs = total.own_cs - total.quick_cs
    return lost_lines(rig.layout, losses, own.legs, end=end, total_cs=lost_cs, wanted=wanted)


def _shares(layout: Layout, two: Quickest, own: Sequence[Leg]) -> list[Share]:
    """The person's first: the one of both ways that has more of what they opened themselves."""
    came = {leg.place for leg in own if leg.place}
    ways = sorted(two.ways, key=lambda way: -sum(leg.place in came for leg in way))
    return [_share(layout, way) for way in ways]


def _share(layout: Layout, way: Sequence[Leg]) -> Share:
    codes = {leg.code: leg.is_whole for leg in way if leg.place}
    places = (
        f"{code} {layout.by_code[code].name}{', whole' if is_whole else ''}"
        for code, is_whole in codes.items()
    )
    return Share(tuple(places), in_seconds(sum(leg.cs for leg in way)))


def _plan(layout: Layout, quickest: Quickest) -> PlanDrawing:
    """The rig from above; what the quickest way opens is drawn as found."""
    codes = [leg.code for leg in quickest.legs if leg.place]
    found = {layout.chain(code)[0].code: 1 for code in codes}
    return plan_of(mark_cells(face, found=found) for face in faces(layout, value_of=str))
