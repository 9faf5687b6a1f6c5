"""Drills that come from calls: find it, bring it, work out the dose and the supply.

As a call runs, one call is drawn and what it cannot do without is asked for; else each prompt of
a call has a call of its own, among the other prompts of the recipe.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from itertools import islice
from random import Random

from drills.engine.allocplan import AT_MOST, allocations, drawn_of, met_in, rig_has, scarce_of
from drills.engine.calls import MUST, Asked, Call, CallType, CallWorld
from drills.engine.callsource import (
    calls_as_hard,
    calls_to_sort,
    fresh_first,
    is_sorted,
    lures_in,
    types_of,
)
from drills.engine.carried import Aboard
from drills.engine.chance import drawn_evenly, drawn_index, seeded
from drills.engine.dosing.treatment import USUAL, Settings
from drills.engine.exercises.stores import NOTHING_ABOARD, Stores
from drills.engine.exercises.writers import OPEN_TOPICS, TOPICS
from drills.engine.generation import (
    FOCUS,
    SPARES_PER_KIND,
    DrillPlan,
    Wish,
    drawn_apart,
    weigher,
)
from drills.engine.incidents import Sorting
from drills.engine.incidents.tables import Resource
from drills.engine.lately import NOTHING, Lately, call_mark, mark_of_set
from drills.engine.layout import Layout
from drills.engine.medicines import MedicineRule
from drills.engine.pools import ready_to_locate
from drills.engine.prompts import Prompt
from drills.engine.recipes import (
    ALLOCATE,
    AS_A_CALL_RUNS,
    CALL_KINDS,
    DOSE,
    LOCATE,
    RISING,
    STAGE,
    SUPPLY,
    TRIAGE,
    CannotApplyError,
    RecipeSpec,
    refuse_unbuilt,
)
from drills.engine.sortplan import asked_of, sorts_of
from drills.engine.stageplan import Area, Kits, is_staged_by_area, treatment_areas
from drills.engine.staging import Wanted, want
from drills.engine.workplan import Works

SPARE_CALLS = 2
CALLS_FOR_A_SPARE = 30
# So often a set of prompts is drawn anew, each time by a seed so much further on than any is.
DRAWN_ANEW, FURTHER = 5, 1 << 64
_LACKING = {
    STAGE: "a kit of whose must-haves anything is aboard",
    DOSE: "a patient that a rule fits, with the medicine aboard",
    SUPPLY: "a figure of the supply, with what it takes aboard",
    ALLOCATE: "more patients who need a thing than the rig has of it",
}
# One dose in so many is a drip, a dilution or a weight where no call is run: ours, no source.
OF_OTHER_TOPICS = 3


@dataclass(frozen=True, slots=True)
class Material:
    """What calls are made from, and how the things of the layout are tied: need by thing key.

    `unconfirmed` are things whose tie is a mere suggestion. `holds` is how many of its need one of
    a thing is, where that is not one. `refusal` says why no dose may be drilled; then there are no
    rules. `aboard` is what the layout carries of medicines and of what they are given with; what
    is tied to a need of another strength serves kits there and never a dose. `settings` are how the
    service works doses out, `sorting` is the scheme that it sorts patients by.
    """

    call_types: tuple[CallType, ...]
    world: CallWorld
    ties: Mapping[str, str]
    unconfirmed: frozenset[str] = frozenset()
    rules: tuple[MedicineRule, ...] = ()
    refusal: str = ""
    holds: Mapping[str, int] = field(default_factory=dict)
    aboard: Aboard = NOTHING_ABOARD
    settings: Settings = USUAL
    sorting: Sorting = field(default_factory=Sorting)


@dataclass(frozen=True, slots=True)
class _Making:
    """All that one drill is made from; `random` is the one thing that changes."""

    asked: Wish
    seed: int
    material: Material
    random: Random
    works: Works

    @property
    def layout(self) -> Layout:
        return self.asked.layout

    @property
    def spec(self) -> RecipeSpec:
        return self.asked.spec

    @property
    def counts(self) -> dict[str, int]:
        return dict(self.spec.kinds)

    def wanted(self, asked: Iterable[Asked]) -> tuple[Wanted, ...]:
        """Needs as things of the layout."""
        material = self.material
        return want(self.layout, material.ties, asked, self.asked.held, material.holds)

    def lures(self, call: Call) -> int:
        """How many things aboard are brought to a call by mistake."""
        return lures_in(self.wanted(call.needs))


def plan(
    layout: Layout,
    spec: RecipeSpec,
    *,
    seed: int,
    material: Material | None = None,
    weights: Mapping[str, float] | None = None,
    held: Collection[tuple[str, str]] = (),
    before: Layout | None = None,
    lately: Lately = NOTHING,
) -> DrillPlan:
    """Make a drill of any kind that is built, as `generation.plan_drill` makes those of a rig.

    A set of prompts that somebody of the cohort had `lately` is drawn anew, some times over. Raises
    `CannotApplyError` when the recipe makes no drill on this layout.
    """
    refuse_unbuilt(spec)
    asked = Wish(layout, spec, weights or {}, held, before, lately)
    made = _planned(asked, seed, material)
    for anew in range(1, DRAWN_ANEW + 1):
        if not made.varies or mark_of_set(made.prompts) not in lately.sets:
            break
        made = _planned(asked, seed + anew * FURTHER, material)
    return made


def _planned(asked: Wish, seed: int, material: Material | None) -> DrillPlan:
    spec = asked.spec
    if material is None or not spec.comes_from_calls:
        return asked.of_the_rig(spec, seed)
    random = seeded(f"readiness/1:{spec.slug}:{seed}")
    stores = Stores(
        rules=material.rules,
        aboard=material.aboard,
        is_rule_shown=spec.rule_shown,
        settings=material.settings,
    )
    works = Works(stores, spec.grade, random, known=asked.lately.known)
    making = _Making(asked, seed, material, random, works)
    if DOSE in making.counts and material.refusal:
        raise CannotApplyError(f"{spec.slug}: {material.refusal}")
    calls = _calls(making)
    return (
        _as_a_call_runs(making, calls)
        if spec.order == AS_A_CALL_RUNS
        else _among_others(making, calls)
    )


def _calls(making: _Making) -> Iterator[Call]:
    """Calls, of the types that the recipe names; what the cohort had lately comes last."""
    spec, material = making.spec, making.material
    types, world = types_of(spec, material.call_types), material.world
    if is_sorted(spec):
        calls = calls_to_sort(spec, types, world, material.sorting, seed=making.seed)
    else:
        calls = calls_as_hard(spec, types, world, making.random, making.lures)
    return fresh_first(calls, making.asked.lately.calls)


def _as_a_call_runs(making: _Making, calls: Iterator[Call]) -> DrillPlan:
    """One call: its things to find, its kits to bring, its figures, in the order of the recipe."""
    counts = making.counts
    call, worked = _next(making, calls, counts)
    finds = _finds(making, call, counts[LOCATE]) if counts.get(LOCATE) else []
    found = worked | {
        LOCATE: finds[: counts.get(LOCATE, 0)],
        STAGE: list(islice(_stages(making, call), counts.get(STAGE, 0))),
        TRIAGE: _sorts(making, call),
        ALLOCATE: list(_allocates(making, call)),
    }
    prompts = tuple(prompt for kind, _ in making.spec.kinds for prompt in found[kind])
    others = _spares(making, calls, prompts)
    return DrillPlan(prompts, (*finds[len(found[LOCATE]) :], *others), varies=True)


def _among_others(making: _Making, calls: Iterator[Call]) -> DrillPlan:
    """Each prompt of a call with a call of its own, among the prompts of the rig.

    Patients to be sorted are of one call and stay together in their order: who is looked at next
    rests on who was.
    """
    counts, spec = making.counts, making.spec
    of_rig = replace(spec, kinds=tuple(each for each in spec.kinds if each[0] not in CALL_KINDS))
    rig = DrillPlan((), (), varies=True)
    if of_rig.kinds:
        rig = making.asked.of_the_rig(of_rig, making.seed)
    own = [_whole_kit(making, calls) for _ in range(counts.get(STAGE, 0))]
    own += _doses_of_many(making, calls, counts.get(DOSE, 0))
    supplies = OPEN_TOPICS if making.material.refusal else TOPICS[SUPPLY]
    own += making.works.alone(supplies, counts.get(SUPPLY, 0))
    left = [*rig.prompts, *own]
    mixed = [left.pop(drawn_index(making.random, [1.0] * len(left))) for _ in list(left)]
    if spec.order == RISING:
        mixed.sort(key=_difficulty)
    if is_sorted(spec):
        at = drawn_index(making.random, [1.0] * (len(mixed) + 1))
        call = _next(making, calls, {ALLOCATE: counts.get(ALLOCATE, 0)})[0]
        mixed[at:at] = [*_sorts(making, call), *_allocates(making, call)]
    return DrillPlan(tuple(mixed), (*rig.spares, *_spares(making, calls, mixed)), varies=True)


def _next(
    making: _Making, calls: Iterator[Call], counts: Mapping[str, int]
) -> tuple[Call, dict[str, list[Prompt]]]:
    """The next call with so many kits to bring and figures to work out, and those figures."""
    kits = counts.get(STAGE, 0)
    for call in calls:
        is_scarce = not counts.get(ALLOCATE) or _scarce(making, call)
        if is_scarce and len(list(islice(_stages(making, call), kits))) == kits:
            found = _figures(making, call, counts)
            if all(len(prompts) == counts[kind] for kind, prompts in found.items()):
                return call, found
    lacking = [words for kind, words in _LACKING.items() if counts.get(kind)]
    raise CannotApplyError(
        f"{making.spec.slug}: no call on {making.layout.slug} has {' and '.join(lacking)}. "
        "Things are aboard for a call when they are tied to its needs, a medicine in the "
        "presentation of the rule."
    )


def _figures(making: _Making, call: Call, counts: Mapping[str, int]) -> dict[str, list[Prompt]]:
    """What is worked out in a call, up to so many of each kind.

    As a call runs its patients say what there is; else another call is drawn for the grade.
    """
    works, is_strict = making.works, making.spec.order != AS_A_CALL_RUNS
    of_call = {DOSE: works.doses_of(call, is_strict=is_strict), SUPPLY: works.supplies_of(call)}
    return {
        kind: list(islice(prompts, counts[kind]))
        for kind, prompts in of_call.items()
        if counts.get(kind)
    }


def _spares(making: _Making, calls: Iterator[Call], planned: Iterable[Prompt]) -> Iterator[Prompt]:
    """Prompts of other calls, for those planned that fall out; none where all was asked already.

    One call gives a spare of each kind, and another is drawn for what it lacks.
    """
    kinds = _kinds_to_spare(making, planned)
    for _ in range(SPARE_CALLS):
        call = next(calls)
        own = {kind: _one_of(making, call, kind) for kind in kinds}
        yield from filter(None, own.values())
        if TRIAGE in making.counts and (sorts := sorts_of(call)):
            yield drawn_evenly(sorts, making.random)
        for kind in (kind for kind, made in own.items() if made is None):
            with suppress(CannotApplyError):
                yield from _one_of_others(making, calls, kind)


def _kinds_to_spare(making: _Making, planned: Iterable[Prompt]) -> list[str]:
    """Kinds with spares, triage apart; of what is scarce, where the drill asks any of it."""
    is_given = any(each.kind == ALLOCATE for each in planned)
    kinds = [kind for kind in (STAGE, DOSE, SUPPLY) if making.counts.get(kind)]
    return [*kinds, ALLOCATE] if is_given else kinds


def _one_of(making: _Making, call: Call, kind: str) -> Prompt | None:
    """A prompt of a kind of a call, where it makes one."""
    if kind == STAGE:
        return next(_stages(making, call, is_spare=True), None)
    if kind == ALLOCATE:
        return next(_allocates(making, call), None)
    return next(iter(_figures(making, call, {kind: 1})[kind]), None)


def _one_of_others(making: _Making, calls: Iterator[Call], kind: str) -> Iterator[Prompt]:
    """A prompt of a kind of the next call that makes one, if any of the next few does."""
    other, found = _next(making, islice(calls, CALLS_FOR_A_SPARE), {kind: 1})
    made = found[kind][0] if kind in found else _one_of(making, other, kind)
    yield from [made] if made else []


def _sorts(making: _Making, call: Call) -> list[Prompt]:
    """What is asked of everybody of a call who is to be sorted, or of as many as are wanted."""
    most = making.counts.get(TRIAGE)
    return [] if most is None else asked_of(call, most or None)


def _allocates(making: _Making, call: Call) -> Iterator[Prompt]:
    """Who gets what of the rig is scarce in a call, and how long its oxygen lasts."""
    people = met_in(call, making.counts.get(TRIAGE) or None)
    return allocations(call, people, _scarce(making, call), making.works.lasting)


def _scarce(making: _Making, call: Call) -> list[tuple[Resource, int]]:
    """What there is too little of for those who are met, as much as is asked for."""
    most = making.counts.get(ALLOCATE)
    if most is None:
        return []
    has = rig_has(making.asked.layout, making.material.ties, making.asked.held)
    people = met_in(call, making.counts.get(TRIAGE) or None)
    seed = f"{making.spec.slug}:{making.seed}:{call_mark(call)}"
    return drawn_of(scarce_of(people, has), most or AT_MOST, seed)


def _stages(making: _Making, call: Call, *, is_spare: bool = False) -> Iterator[Prompt]:
    """The kits of a call; a spare tells nobody's category, as that may be asked of it later."""
    areas: tuple[Area, ...] = ()
    if is_staged_by_area(making.spec) and not is_spare:
        kind = next(each for each in making.material.call_types if each.slug == call.call_type)
        areas = treatment_areas(call, kind, making.counts.get(TRIAGE) or None)
    kits = Kits(making.wanted, making.material.ties, making.material.unconfirmed)
    return kits.of_call(call, areas)


def _whole_kit(making: _Making, calls: Iterator[Call]) -> Prompt:
    return next(_stages(making, _next(making, calls, {STAGE: 1})[0]))


def _doses_of_many(making: _Making, calls: Iterator[Call], count: int) -> list[Prompt]:
    """Doses, most of them each of a call of its own, one in three of another topic."""
    others = count // OF_OTHER_TOPICS
    found = making.works.alone([each for each in TOPICS[DOSE] if each != DOSE], others)
    while len(found) < count:
        found += _next(making, calls, {DOSE: 1})[1][DOSE]
    return found


def _difficulty(prompt: Prompt) -> tuple[int, int]:
    """The grade, and how many steps the working has."""
    asked = prompt.exercise
    return (asked.grade, len(asked.problem.solve().steps)) if asked else (0, 0)


def _finds(making: _Making, call: Call, count: int) -> list[Prompt]:
    """Things that the call cannot do without, drawn by what may not be known, then useful ones."""
    wanted = making.wanted(call.needs)
    needed = _things(each for each in wanted if each.grade == MUST)
    useful = _things(each for each in wanted if each.grade != MUST) - needed
    weigh = weigher(making.spec, making.asked.weights, making.asked.lately)
    ready = ready_to_locate(making.layout, making.spec, making.asked.held)
    found: list[Prompt] = []
    for things in (needed, useful):
        here = {each: weigh(each) for each in ready if each.subject in things}
        open_count = min(count + SPARES_PER_KIND - len(found), len(here))
        found += drawn_apart(here, open_count, set(), making.random)
    return [replace(prompt, chosen=FOCUS) for prompt in found]


def _things(wanted: Iterable[Wanted]) -> set[str]:
    return {thing for each in wanted for thing in each.things}
