"""Drills that come from calls: find it, bring it, work out the dose and the supply.

As a call runs, one call is drawn and what it cannot do without is asked for; else each prompt of
a call has a call of its own, among the other prompts of the recipe.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import replace
from itertools import islice

from drills.engine.allocplan import AT_MOST, allocations, drawn_of, met_in, rig_has, scarce_of
from drills.engine.arriving.crews import FIRST, SECOND, Crew, is_second_crew, told_to
from drills.engine.callmaking import Making, Material
from drills.engine.calls import MUST, Call
from drills.engine.callsource import (
    calls_as_hard,
    calls_to_sort,
    fresh_first,
    is_sorted,
    types_of,
)
from drills.engine.chance import drawn_evenly, drawn_index, mixed, seeded
from drills.engine.exercises.stores import Stores
from drills.engine.exercises.writers import OPEN_TOPICS, TOPICS
from drills.engine.generation import (
    FOCUS,
    SPARES_PER_KIND,
    DrillPlan,
    Wish,
    drawn_apart,
    patients_of,
    weigher,
)
from drills.engine.incidents.asking import treated_of
from drills.engine.incidents.tables import Scarce
from drills.engine.lately import NOTHING, Lately, call_mark, mark_of_set
from drills.engine.layout import Layout
from drills.engine.pools import NONE_TOLD, LookedTo, ready_to_locate
from drills.engine.prompts import Prompt
from drills.engine.recipes import (
    ALLOCATE,
    ARRIVE,
    AS_A_CALL_RUNS,
    CALL_KINDS,
    DOSE,
    FIELD,
    LOCATE,
    RISING,
    STAGE,
    SUPPLY,
    TRIAGE,
    CannotApplyError,
    RecipeSpec,
    refuse_unbuilt,
)
from drills.engine.sortplan import as_found_last, asked_of, sorts_of
from drills.engine.wanted import Wanted
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
    looked_to: LookedTo = NONE_TOLD,
) -> DrillPlan:
    """Make a drill of any kind that is built, as `generation.plan_drill` makes those of a rig.

    A set of prompts that somebody of the cohort had `lately` is drawn anew, some times over. Raises
    `CannotApplyError` when the recipe makes no drill on this layout.
    """
    refuse_unbuilt(spec)
    asked = Wish(layout, spec, weights or {}, held, before, lately, looked_to)
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
    arrival = material.arrival(asked.layout, asked.held, spec.difficulty)
    making = Making(asked, seed, material, random, works, arrival, is_second_crew(spec, seed))
    if DOSE in making.counts and material.refusal:
        raise CannotApplyError(f"{spec.slug}: {material.refusal}")
    calls = _calls(making)
    return (
        _as_a_call_runs(making, calls)
        if spec.order == AS_A_CALL_RUNS
        else _among_others(making, calls)
    )


def _calls(making: Making) -> Iterator[Call]:
    """Calls, of the types that the recipe names; what the cohort had lately comes last."""
    spec, material = making.spec, making.material
    types, world = types_of(spec, material.call_types), material.world
    if is_sorted(spec):
        calls = calls_to_sort(spec, types, world, material.sorting, seed=making.seed)
    else:
        calls = calls_as_hard(spec, types, world, making.random, making.lures)
    return fresh_first(calls, making.asked.lately.calls)


def _as_a_call_runs(making: Making, calls: Iterator[Call]) -> DrillPlan:
    """One call: its things to find, its kits to bring, its figures, in the order of the recipe.

    What is asked after everybody was sorted tells them as they were found last.
    """
    counts = making.counts
    call, kits, worked = _next(making, calls, counts, _undosed(making))
    sorts_here = making.crew(call).role != SECOND
    finds = _finds(making, call, counts[LOCATE]) if counts.get(LOCATE) else []
    patients = patients_of(making.spec, making.seed)
    found = worked | {
        ARRIVE: list(making.arrivals(call)),
        LOCATE: finds[: counts.get(LOCATE, 0)],
        STAGE: kits,
        TRIAGE: _sorts(making, call) if sorts_here else [],
        ALLOCATE: list(_allocates(making, call)) if sorts_here else [],
        FIELD: list(patients.prompts),
    }
    asked = [prompt for kind, _ in making.spec.kinds for prompt in found.get(kind, ())]
    sorted_at = max(
        (at for at, each in enumerate(asked) if each.kind == TRIAGE and each.call),
        default=len(asked),
    )
    prompts = (*asked[: sorted_at + 1], *map(as_found_last, asked[sorted_at + 1 :]))
    others = _spares(making, calls, prompts)
    spares = (*finds[len(found[LOCATE]) :], *others, *patients.spares)
    return DrillPlan(prompts, spares, varies=True)


def _among_others(making: Making, calls: Iterator[Call]) -> DrillPlan:
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
    asked = mixed([*rig.prompts, *own], making.random)
    if spec.order == RISING:
        asked.sort(key=_difficulty)
    _put_one_call_in(making, calls, asked)
    return DrillPlan(tuple(asked), (*rig.spares, *_spares(making, calls, asked)), varies=True)


def _put_one_call_in(making: Making, calls: Iterator[Call], asked: list[Prompt]) -> None:
    """Put among the others what belongs together: arriving, who is sorted, who gets what."""
    if not is_sorted(making.spec) and ARRIVE not in making.counts:
        return
    at = drawn_index(making.random, [1.0] * (len(asked) + 1))
    call = _next(making, calls, {ALLOCATE: making.counts.get(ALLOCATE, 0)})[0]
    asked[at:at] = [*making.arrivals(call), *_sorts(making, call), *_allocates(making, call)]


def _undosed(making: Making) -> frozenset[str]:
    """The call types of a recipe of which a dose is seldom asked, where of others one is.

    Such a call is a call all the same: a stroke is carried, and nothing is drawn up; and were a
    dose waited for, every birth would bleed.
    """
    types = types_of(making.spec, making.material.call_types)
    few = frozenset(each.slug for each in types if not making.works.are_most_dosed(each))
    return few if len(few) < len(types) else frozenset()


def _next(
    making: Making,
    calls: Iterator[Call],
    all_counts: Mapping[str, int],
    undosed: Collection[str] = frozenset(),
) -> tuple[Call, list[Prompt], dict[str, list[Prompt]]]:
    """The next call with so many kits to bring and figures to work out, and both of them.

    Where its type is `undosed`, no dose is waited for, and one that the call has is asked.
    """
    for drawn in calls:
        crew = making.crew(drawn)
        call, counts = told_to(drawn, crew), _of_crew(all_counts, crew)
        kits = list(islice(making.kits(call), counts.get(STAGE, 0)))
        is_scarce = not counts.get(ALLOCATE) or _scarce(making, call)
        if is_scarce and len(kits) == counts.get(STAGE, 0):
            found = _figures(making, call, counts)
            waived = _waived(counts, undosed, drawn)
            if all(len(found[kind]) == counts[kind] for kind in found.keys() - waived):
                return call, kits, found
    lacking = [words for kind, words in _LACKING.items() if all_counts.get(kind)]
    raise CannotApplyError(
        f"{making.spec.slug}: no call on {making.layout.slug} has {' and '.join(lacking)}. "
        "Things are aboard for a call when they are tied to its needs, a medicine in the "
        "presentation of the rule."
    )


def _waived(counts: Mapping[str, int], undosed: Collection[str], drawn: Call) -> set[str]:
    """What a call need not have: a dose where few rules are for its type and more is asked."""
    return {DOSE} if drawn.call_type in undosed and counts.keys() > {DOSE} else set()


def _of_crew(counts: Mapping[str, int], crew: Crew) -> Mapping[str, int]:
    """What a crew is asked of a call. Who treats nobody of its own works out no dose, and a second
    crew neither sorts nor gives out; where nothing else is asked, another call is waited for."""
    return _without(counts, {FIRST: (DOSE,), SECOND: (TRIAGE, ALLOCATE)}.get(crew.role, ()))


def _without(counts: Mapping[str, int], kinds: Collection[str]) -> Mapping[str, int]:
    """Without some kinds; all of them where no other is asked."""
    return {kind: count for kind, count in counts.items() if kind not in kinds} or counts


def _figures(making: Making, call: Call, counts: Mapping[str, int]) -> dict[str, list[Prompt]]:
    """What is worked out in a call, up to so many of each kind.

    As a call runs its patients say what there is; else another call is drawn for the grade.
    """
    works, is_strict = making.works, making.spec.order != AS_A_CALL_RUNS
    own = making.crew(call).own
    of_call = {
        DOSE: works.doses_of(call, own, is_strict=is_strict),
        SUPPLY: works.supplies_of(call, treated_of(call)),
    }
    return {
        kind: list(islice(prompts, counts[kind]))
        for kind, prompts in of_call.items()
        if counts.get(kind)
    }


def _spares(making: Making, calls: Iterator[Call], planned: Iterable[Prompt]) -> Iterator[Prompt]:
    """Prompts of other calls, for those planned that fall out; none where all was asked already.

    One call gives a spare of each kind, and another is drawn for what it lacks.
    """
    kinds = _kinds_to_spare(making, planned)
    for _ in range(SPARE_CALLS):
        drawn = next(calls)
        call = told_to(drawn, making.crew(drawn))
        yield from islice(making.arrivals(call), 1)
        own = {kind: _one_of(making, call, kind) for kind in kinds}
        yield from filter(None, own.values())
        yield from _one_to_sort(making, call)
        for kind in (kind for kind, made in own.items() if made is None):
            with suppress(CannotApplyError):
                yield from _one_of_others(making, calls, kind)


def _kinds_to_spare(making: Making, planned: Iterable[Prompt]) -> list[str]:
    """Kinds with spares, triage apart: of what is not asked none can fall out, and for a crew that
    doses nobody a dose would be looked for in vain through call after call."""
    asked = {each.kind for each in planned}
    kinds = (STAGE, DOSE, SUPPLY, ALLOCATE)
    return [kind for kind in kinds if kind in asked and kind in making.counts]


def _one_to_sort(making: Making, call: Call) -> Iterator[Prompt]:
    """Somebody of a call, where the drill sorts and the crew does."""
    is_asked = TRIAGE in making.counts and making.crew(call).role != SECOND
    if sorts := sorts_of(call) if is_asked else []:
        yield drawn_evenly(sorts, making.random)


def _one_of(making: Making, call: Call, kind: str) -> Prompt | None:
    """A prompt of a kind of a call, where it makes one."""
    if kind == STAGE:
        return next(making.kits(call, is_spare=True), None)
    if kind == ALLOCATE:
        return next(_allocates(making, call), None)
    return next(iter(_figures(making, call, {kind: 1})[kind]), None)


def _one_of_others(making: Making, calls: Iterator[Call], kind: str) -> Iterator[Prompt]:
    """A prompt of a kind of the next call that makes one, if any of the next few does."""
    other, _, found = _next(making, islice(calls, CALLS_FOR_A_SPARE), {kind: 1})
    made = found[kind][0] if kind in found else _one_of(making, other, kind)
    yield from [made] if made else []


def _sorts(making: Making, call: Call) -> list[Prompt]:
    """What is asked of everybody of a call who is to be sorted."""
    return asked_of(call) if TRIAGE in making.counts else []


def _allocates(making: Making, call: Call) -> Iterator[Prompt]:
    """Who gets what of the rig is scarce in a call, and how long its oxygen lasts."""
    people = met_in(call)
    return allocations(call, people, _scarce(making, call), making.works.lasting)


def _scarce(making: Making, call: Call) -> list[tuple[Scarce, int]]:
    """What there is too little of for those who are met, as much as is asked for."""
    most = making.counts.get(ALLOCATE)
    if most is None:
        return []
    has = rig_has(making.asked.layout, making.material.ties, making.asked.held)
    people = met_in(call)
    seed = f"{making.spec.slug}:{making.seed}:{call_mark(call)}"
    return drawn_of(scarce_of(people, has), most or AT_MOST, seed)


def _whole_kit(making: Making, calls: Iterator[Call]) -> Prompt:
    return _next(making, calls, {STAGE: 1})[1][0]


def _doses_of_many(making: Making, calls: Iterator[Call], count: int) -> list[Prompt]:
    """Doses, most of them each of a call of its own, one in three of another topic."""
    others = count // OF_OTHER_TOPICS
    found = making.works.alone([each for each in TOPICS[DOSE] if each != DOSE], others)
    while len(found) < count:
        found += _next(making, calls, {DOSE: 1})[2][DOSE]
    return found


def _difficulty(prompt: Prompt) -> tuple[int, int]:
    """The grade, and how many steps the working has."""
    asked = prompt.exercise
    return (asked.grade, len(asked.solution.steps)) if asked else (0, 0)


def _finds(making: Making, call: Call, count: int) -> list[Prompt]:
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
