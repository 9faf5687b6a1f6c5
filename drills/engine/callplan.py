"""Drills that come from calls: find it, bring it, work out the dose.

As a call runs, one call is drawn and what it cannot do without is asked for; else each prompt of
a call has a call of its own, among the other prompts of the recipe.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice
from random import Random

from drills.engine.asking import locate_prompts
from drills.engine.calls import MUST, Call, CallType, CallWorld, Patient, needs_for
from drills.engine.chance import drawn_evenly, drawn_index, seeded
from drills.engine.devices import SYRINGES
from drills.engine.dispatch import make_call
from drills.engine.exercises.dose import dose_exercise
from drills.engine.generation import (
    FOCUS,
    SPARES_PER_KIND,
    DrillPlan,
    drawn_apart,
    plan_drill,
    weight_of,
)
from drills.engine.layout import Layout
from drills.engine.medicines import MedicineRule, fits
from drills.engine.prompts import Prompt
from drills.engine.quantities import kilograms, read_quantity
from drills.engine.recipes import (
    AS_A_CALL_RUNS,
    CALL_KINDS,
    DOSE,
    LOCATE,
    RISING,
    STAGE,
    CannotApplyError,
    RecipeSpec,
    refuse_unbuilt,
)
from drills.engine.staging import StageTask, Wanted, musts, want

SPARE_CALLS = 2
MOST_CALLS_DRAWN = 300
SYRINGE_NEED = "syringe-"
_STAGE_TEXT = (
    "From where, and how many. A must-have that is not brought fails the kit; "
    "needless things cost marks."
)


@dataclass(frozen=True, slots=True)
class Material:
    """What calls are made from, and how the things of the layout are tied: need by thing key.

    `unconfirmed` are things whose tie is a mere suggestion, `kits_alone` those that are tied to a
    need of another strength, which no dose may rest on. `holds` is how many of its need one of a
    thing is, where that is not one, and `own` the needs that doses of a medicine in a strength of
    its own serve, by thing. `refusal` says why no dose may be drilled; then there are no
    rules.
    """

    call_types: tuple[CallType, ...]
    world: CallWorld
    ties: Mapping[str, str]
    unconfirmed: frozenset[str] = frozenset()
    rules: tuple[MedicineRule, ...] = ()
    refusal: str = ""
    kits_alone: frozenset[str] = frozenset()
    holds: Mapping[str, int] = field(default_factory=dict)
    own: Mapping[str, frozenset[str]] = field(default_factory=dict)

    @property
    def dose_needs(self) -> set[str]:
        """The needs that doses may be drawn from and given with."""
        tied = {need for thing, need in self.ties.items() if thing not in self.kits_alone}
        return tied.union(*self.own.values())


@dataclass(frozen=True, slots=True)
class _Making:
    """All that one drill is made from; `random` is the one thing that changes."""

    layout: Layout
    spec: RecipeSpec
    seed: int
    material: Material
    random: Random
    weights: Mapping[str, float] = field(default_factory=dict)
    held: Collection[tuple[str, str]] = ()
    before: Layout | None = None

    @property
    def counts(self) -> dict[str, int]:
        return dict(self.spec.kinds)


def plan(
    layout: Layout,
    spec: RecipeSpec,
    *,
    seed: int,
    material: Material | None = None,
    weights: Mapping[str, float] | None = None,
    held: Collection[tuple[str, str]] = (),
    before: Layout | None = None,
) -> DrillPlan:
    """Make a drill of any kind that is built, as `generation.plan_drill` makes those of a rig.

    Raises `CannotApplyError` when the recipe makes no drill on this layout.
    """
    refuse_unbuilt(spec)
    if material is None or not spec.comes_from_calls:
        return plan_drill(layout, spec, seed=seed, weights=weights, held=held, before=before)
    random = seeded(f"readiness/1:{spec.slug}:{seed}")
    making = _Making(layout, spec, seed, material, random, weights or {}, held, before)
    if DOSE in making.counts and material.refusal:
        raise CannotApplyError(f"{spec.slug}: {material.refusal}")
    calls = _calls(making)
    return (
        _as_a_call_runs(making, calls)
        if spec.order == AS_A_CALL_RUNS
        else _among_others(making, calls)
    )


def _calls(making: _Making) -> Iterator[Call]:
    """Calls, of the types that the recipe names; not without end, should none ever do."""
    spec, material = making.spec, making.material
    named = [each for each in material.call_types if each.slug in spec.call_types]
    types = named or ([] if spec.call_types else list(material.call_types))
    if not types:
        asked = ", ".join(spec.call_types) or "any kind"
        raise CannotApplyError(f"{spec.slug}: there is no call type of {asked}.")
    for _ in range(MOST_CALLS_DRAWN):
        yield make_call(
            drawn_evenly(types, making.random),
            material.world,
            making.random,
            least=spec.patients_least,
            most=spec.patients_most,
        )


def _as_a_call_runs(making: _Making, calls: Iterator[Call]) -> DrillPlan:
    """One call: its things to find, its kits to bring, its doses, in the order of the recipe."""
    counts = making.counts
    call = _next(making, calls, doses=counts.get(DOSE, 0), kits=counts.get(STAGE, 0))
    finds = _finds(making, call, counts.get(LOCATE, 0))
    found = {
        LOCATE: finds[: counts.get(LOCATE, 0)],
        STAGE: list(islice(_stages(making, call), counts.get(STAGE, 0))),
        DOSE: _doses(making, call)[: counts.get(DOSE, 0)],
    }
    prompts = tuple(prompt for kind, _ in making.spec.kinds for prompt in found[kind])
    return DrillPlan(prompts, (*finds[len(found[LOCATE]) :], *_spares(making, calls)), varies=True)


def _among_others(making: _Making, calls: Iterator[Call]) -> DrillPlan:
    """Each prompt of a call with a call of its own, among the prompts of the rig."""
    counts, spec = making.counts, making.spec
    of_rig = replace(spec, kinds=tuple(each for each in spec.kinds if each[0] not in CALL_KINDS))
    rig = DrillPlan((), (), varies=True)
    if of_rig.kinds:
        rig = plan_drill(
            making.layout,
            of_rig,
            seed=making.seed,
            weights=making.weights,
            held=making.held,
            before=making.before,
        )
    own = [_whole_kit(making, calls) for _ in range(counts.get(STAGE, 0))]
    own += _doses_of_many(making, calls, counts.get(DOSE, 0))
    left = [*rig.prompts, *own]
    mixed = [left.pop(drawn_index(making.random, [1.0] * len(left))) for _ in list(left)]
    if spec.order == RISING:
        mixed.sort(key=_difficulty)
    return DrillPlan(tuple(mixed), (*rig.spares, *_spares(making, calls)), varies=True)


def _next(making: _Making, calls: Iterator[Call], *, doses: int = 0, kits: int = 0) -> Call:
    """The next call with so many kits to bring, in which so many doses can be worked out."""
    for call in calls:
        has_kits = len(list(islice(_stages(making, call), kits))) == kits
        if has_kits and (not doses or len(_doses(making, call)) >= doses):
            return call
    lacking = [
        *(["a kit of whose must-haves anything is aboard"] if kits else []),
        *(["a patient that a rule fits, with the medicine aboard"] if doses else []),
    ]
    raise CannotApplyError(
        f"{making.spec.slug}: no call on {making.layout.slug} has {' and '.join(lacking)}. "
        "Things are aboard for a call when they are tied to its needs, a medicine in the "
        "presentation of the rule."
    )


def _spares(making: _Making, calls: Iterator[Call]) -> Iterator[Prompt]:
    """Prompts of other calls, for those that fall out."""
    for _ in range(SPARE_CALLS):
        if STAGE in making.counts:
            yield _whole_kit(making, calls)
        if DOSE in making.counts:
            yield _doses(making, _next(making, calls, doses=1))[0]


def _stages(making: _Making, call: Call) -> Iterator[Prompt]:
    """First the whole call, then what each patient cannot do without, the worst off first.

    A kit of whose must-haves nothing is aboard is not asked for.
    """
    worst_first = sorted(call.patients, key=lambda each: -each.severity)
    for patient in (0, *(each.number for each in worst_first)):
        kit = _stage(making, call, patient)
        if kit.stage and any(each.quantity for each in musts(kit.stage.wanted)):
            yield kit


def _whole_kit(making: _Making, calls: Iterator[Call]) -> Prompt:
    return next(_stages(making, _next(making, calls, kits=1)))


def _stage(making: _Making, call: Call, patient: int = 0) -> Prompt:
    ties = making.material.ties
    asked = needs_for(call.needs, patient) if patient else call.needs
    wanted = want(making.layout, ties, asked, making.held, making.material.holds)
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
        stage=StageTask(call, wanted, frozenset(ties), making.material.unconfirmed, patient),
    )


def _doses_of_many(making: _Making, calls: Iterator[Call], count: int) -> list[Prompt]:
    """Doses, each of a call of its own and no rule twice while others are left."""
    found: list[Prompt] = []
    seen: set[str] = set()
    while len(found) < count:
        here = _doses(making, _next(making, calls, doses=1))
        fresh = [each for each in here if _code(each) not in seen]
        chosen = drawn_evenly(fresh or here, making.random)
        seen.add(_code(chosen))
        found.append(chosen)
    return found


def _doses(making: _Making, call: Call) -> list[Prompt]:
    """Every dose that can be worked out for a patient of a call from what is aboard."""
    needs = making.material.dose_needs
    drawn = [each for each in making.material.rules if each.is_drawn_up]
    aboard = [each for each in drawn if each.need in needs]
    sizes = _syringes(needs)
    return [
        prompt
        for patient in call.patients
        for rule in aboard
        for prompt in _dose(making, call, patient, rule, sizes)
    ]


def _dose(
    making: _Making, call: Call, patient: Patient, rule: MedicineRule, sizes: Sequence[int]
) -> Iterator[Prompt]:
    """The prompt, unless the rule is for others or the dose too small for the marks."""
    kg = kilograms(read_quantity(patient.weight)).amount
    if not fits(rule, patient.problem, patient.severity, patient.age_y, kg):
        return
    asked = dose_exercise(
        rule, patient.weight, syringes=sizes, is_rule_shown=making.spec.rule_shown
    )
    if asked.problem.solve().refusal:
        return
    yield Prompt(
        kind=DOSE,
        subject=asked.subject,
        name=asked.question,
        text="",
        depth="",
        category="",
        critical=True,
        answer=(),
        choices=(),
        chosen=FOCUS,
        exercise=asked,
        call=call,
        patient=patient,
    )


def _code(prompt: Prompt) -> str:
    """The code of the rule that a prompt asks."""
    medicine = prompt.exercise.medicine if prompt.exercise else None
    return medicine.code if medicine else ""


def _syringes(needs: Collection[str]) -> list[int]:
    """The syringes aboard; every size that is known where none is tied."""
    sizes = [size for size in SYRINGES if f"{SYRINGE_NEED}{size}" in needs]
    return sizes or list(SYRINGES)


def _difficulty(prompt: Prompt) -> int:
    """How many steps the working has."""
    return len(prompt.exercise.problem.solve().steps) if prompt.exercise else 0


def _finds(making: _Making, call: Call, count: int) -> list[Prompt]:
    """Things that the call cannot do without, drawn by what may not be known, then useful ones."""
    material = making.material
    wanted = want(making.layout, material.ties, call.needs, making.held, material.holds)
    needed = _things(each for each in wanted if each.grade == MUST)
    useful = _things(each for each in wanted if each.grade != MUST) - needed
    pool = {
        prompt: weight_of(making.layout, prompt, making.weights)
        for prompt in locate_prompts(making.layout, making.spec, making.held)
    }
    found: list[Prompt] = []
    for things in (needed, useful):
        here = {prompt: weight for prompt, weight in pool.items() if prompt.subject in things}
        open_count = min(count + SPARES_PER_KIND - len(found), len(here))
        found += drawn_apart(here, open_count, set(), making.random)
    return [replace(prompt, chosen=FOCUS) for prompt in found]


def _things(wanted: Iterable[Wanted]) -> set[str]:
    return {thing for each in wanted for thing in each.things}
