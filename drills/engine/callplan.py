"""Drills that come from calls: find it, then bring it.

As a call runs, one call is drawn and its must-haves are what is asked for; else each staging
prompt has a call of its own, among the other prompts of the recipe.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from random import Random

from drills.engine.calls import MUST, Call, CallType, CallWorld, needs_for
from drills.engine.chance import drawn_evenly, drawn_index, seeded
from drills.engine.dispatch import make_call
from drills.engine.generation import (
    FOCUS,
    SPARES_PER_KIND,
    DrillPlan,
    drawn_apart,
    locate_prompts,
    plan_drill,
    weight_of,
)
from drills.engine.layout import Layout
from drills.engine.prompts import Prompt
from drills.engine.recipes import (
    AS_A_CALL_RUNS,
    CALL_KINDS,
    LOCATE,
    STAGE,
    CannotApplyError,
    RecipeSpec,
    refuse_unbuilt,
)
from drills.engine.staging import StageTask, Wanted, want

SPARE_CALLS = 2
_STAGE_TEXT = "From where, and how many."


@dataclass(frozen=True, slots=True)
class Material:
    """What calls are made from, and how the things of the layout are tied: need by thing key."""

    call_types: tuple[CallType, ...]
    world: CallWorld
    ties: Mapping[str, str]


def plan(
    layout: Layout,
    spec: RecipeSpec,
    *,
    seed: int,
    material: Material | None = None,
    weights: Mapping[str, float] | None = None,
    held: Collection[tuple[str, str]] = (),
) -> DrillPlan:
    """Make a drill of any kind that is built, as `generation.plan_drill` makes those of a rig.

    Raises `CannotApplyError` when the recipe makes no drill on this layout.
    """
    refuse_unbuilt(spec)
    if material is None or not spec.comes_from_calls:
        return plan_drill(layout, spec, seed=seed, weights=weights, held=held)
    random = seeded(f"readiness/1:{spec.slug}:{seed}")
    calls = _calls(layout, spec, material, random)
    if spec.order == AS_A_CALL_RUNS:
        return _as_a_call_runs(layout, spec, calls, material, random, weights or {}, held)
    return _among_others(layout, spec, calls, material, random, seed, weights, held)


def _calls(layout: Layout, spec: RecipeSpec, material: Material, random: Random) -> Iterator[Call]:
    """Calls without end, of the types that the recipe names."""
    named = [each for each in material.call_types if each.slug in spec.call_types]
    types = named or ([] if spec.call_types else list(material.call_types))
    if not types:
        asked = ", ".join(spec.call_types) or "any"
        raise CannotApplyError(f"{spec.slug}: there is no call type of {asked}.")
    while True:
        yield make_call(
            drawn_evenly(types, random),
            material.world,
            random,
            least=spec.patients_least,
            most=spec.patients_most,
        )


def _as_a_call_runs(
    layout: Layout,
    spec: RecipeSpec,
    calls: Iterator[Call],
    material: Material,
    random: Random,
    weights: Mapping[str, float],
    held: Collection[tuple[str, str]],
) -> DrillPlan:
    counts = dict(spec.kinds)
    call = next(calls)
    stages = list(_stages(layout, call, material, counts[STAGE]))
    finds = _finds(layout, spec, stages[0], counts.get(LOCATE, 0), random, weights, held)
    spares = [_stage(layout, next(calls), material) for _ in range(SPARE_CALLS)]
    found = {LOCATE: finds[: counts.get(LOCATE, 0)], STAGE: stages}
    prompts = tuple(prompt for kind, _ in spec.kinds for prompt in found[kind])
    return DrillPlan(prompts, (*finds[len(found[LOCATE]) :], *spares), varies=True)


def _among_others(
    layout: Layout,
    spec: RecipeSpec,
    calls: Iterator[Call],
    material: Material,
    random: Random,
    seed: int,
    weights: Mapping[str, float] | None,
    held: Collection[tuple[str, str]],
) -> DrillPlan:
    """Each staging prompt with a call of its own, shuffled among the prompts of the rig."""
    counts = dict(spec.kinds)
    kinds = tuple((kind, count) for kind, count in spec.kinds if kind not in CALL_KINDS)
    rig = DrillPlan((), (), varies=True)
    if kinds:
        of_rig = replace(spec, kinds=kinds)
        rig = plan_drill(layout, of_rig, seed=seed, weights=weights, held=held)
    stages = [_stage(layout, next(calls), material) for _ in range(counts[STAGE] + SPARE_CALLS)]
    left = [*rig.prompts, *stages[: counts[STAGE]]]
    mixed = [left.pop(drawn_index(random, [1.0] * len(left))) for _ in list(left)]
    return DrillPlan(tuple(mixed), (*rig.spares, *stages[counts[STAGE] :]), varies=True)


def _stages(layout: Layout, call: Call, material: Material, count: int) -> Iterator[Prompt]:
    """First the whole call, then what each patient takes, the worst off first."""
    yield _stage(layout, call, material)
    worst = sorted(call.patients, key=lambda each: -each.severity)
    for patient in worst[: count - 1]:
        yield _stage(layout, call, material, patient.number)


def _stage(layout: Layout, call: Call, material: Material, patient: int = 0) -> Prompt:
    asked = needs_for(call.needs, patient) if patient else call.needs
    wanted = want(layout, material.ties, asked)
    return Prompt(
        kind=STAGE,
        subject=call.call_type,
        name=f"What do you bring to patient {patient}?" if patient else "What do you bring?",
        text=_STAGE_TEXT,
        depth="",
        category="",
        critical=True,
        answer=(),
        choices=(),
        chosen=FOCUS,
        stage=StageTask(call, wanted, frozenset(material.ties), patient),
    )


def _finds(
    layout: Layout,
    spec: RecipeSpec,
    stage: Prompt,
    count: int,
    random: Random,
    weights: Mapping[str, float],
    held: Collection[tuple[str, str]],
) -> list[Prompt]:
    """Things that the call cannot do without, drawn by what may not be known, then useful ones."""
    wanted = stage.stage.wanted if stage.stage else ()
    musts = _things(each for each in wanted if each.grade == MUST)
    useful = _things(each for each in wanted if each.grade != MUST) - musts
    pool = {
        prompt: weight_of(layout, prompt, weights) for prompt in locate_prompts(layout, spec, held)
    }
    drawn: list[Prompt] = []
    for things in (musts, useful):
        here = {prompt: weight for prompt, weight in pool.items() if prompt.subject in things}
        open_count = min(count + SPARES_PER_KIND - len(drawn), len(here))
        drawn += drawn_apart(here, open_count, set(), random)
    return [replace(prompt, chosen=FOCUS) for prompt in drawn]


def _things(wanted: Iterable[Wanted]) -> set[str]:
    return {thing for each in wanted for thing in each.things}
