"""What the steps of a run should take, before its start and beside one's own."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from drills.engine.layout import Layout
from drills.engine.optimum import Rig, StatementError
from drills.engine.optimum.kit import Quickest, quickest_kit
from drills.engine.optimum.motions import OPENING, TAKING, WALKING, Multipliers
from drills.engine.prompts import asked_as
from drills.engine.recipes import STAGE
from drills.engine.targets import Step, steps_of, whole
from drills.runs.bringing import Bringing
from drills.runs.models import Presentation, Run
from drills.scenarios.models import Drill, DrillPrompt
from drills.scenarios.reading import motions_asked
from drills.scenarios.tasks import stands_in, wanted_in


@dataclass(frozen=True, slots=True)
class Targets:
    """The steps of a run by kind, and all of them together."""

    steps: tuple[Step, ...]
    whole: Step


def targets_before(run: Run, layout: Layout) -> Targets:
    """What the prompts that are planned should take by kind; nothing is said of one alone."""
    prompts = list(run.drill.prompts.filter(is_spare=False))
    ways = _ways([each for each in prompts if each.kind == STAGE], run, layout)
    kinds = [asked_as(each.kind, each.subject) for each in prompts]
    steps = steps_of(kinds, quickest_s=ways)
    return Targets(steps, whole(steps))


def targets_beside(answered: Sequence[Presentation], kits: Iterable[Bringing]) -> Targets:
    """What first answers should have taken by kind, and what they took."""
    own: dict[str, float] = defaultdict(float)
    kinds = []
    for each in answered:
        if each.prompt:
            kind = asked_as(each.prompt.kind, each.prompt.subject)
            kinds.append(kind)
            own[kind] += each.seconds or 0.0
    steps = steps_of(kinds, quickest_s=[kit.quickest.cs / 100 for kit in kits], own_s=own)
    return Targets(steps, whole(steps))


def parts_s(drill: Drill, kit: DrillPrompt, layout: Layout) -> dict[str, float]:
    """The seconds of each part of the quickest way to bring a kit, by our own motion table; empty
    where no way is known."""
    found = _quickest(Rig(layout), kit, _held(drill))
    if found is None:
        return {}
    return {
        WALKING: sum(leg.walk_cs for leg in found.legs) / 100,
        OPENING: sum(leg.open_cs for leg in found.legs) / 100,
        TAKING: sum(leg.take_cs for leg in found.legs) / 100,
    }


def quickest_s(
    drill: Drill, kit: DrillPrompt, layout: Layout, *, motions: Multipliers | None = None
) -> float | None:
    """The seconds of the quickest way to bring one kit of a drill, by the motion table it was made
    with or by another."""
    return _way(Rig(layout, motions or motions_asked(drill)), kit, _held(drill))


def _ways(kits: Sequence[DrillPrompt], run: Run, layout: Layout) -> list[float | None]:
    """The seconds of the quickest way to bring each kit."""
    if not kits:
        return []
    rig = Rig(layout, motions_asked(run.drill))
    return [_way(rig, each, _held(run.drill)) for each in kits]


def _way(rig: Rig, kit: DrillPrompt, held: Sequence[tuple[str, str]]) -> float | None:
    found = _quickest(rig, kit, held)
    return found.cs / 100 if found else None


def _quickest(rig: Rig, kit: DrillPrompt, held: Sequence[tuple[str, str]]) -> Quickest | None:
    try:
        return quickest_kit(rig.at(stands_in(kit.answer)), wanted_in(kit.answer), held=held)
    except StatementError:
        return None


def _held(drill: Drill) -> list[tuple[str, str]]:
    return [(thing, place) for thing, place in drill.held]
