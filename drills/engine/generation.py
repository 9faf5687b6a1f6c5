"""Drills from a recipe, a layout, a seed and weights: the same in, the same out.

Only `Random.random` is drawn from, whose sequence for a seed is the one part of the standard
generator promised to stay the same; seeds are text, so that a sign or a size makes a difference.
"""

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from random import Random

from drills.engine.chance import drawn_index, seeded
from drills.engine.fieldplan import field_prompts
from drills.engine.lately import NOTHING, Lately
from drills.engine.layout import Layout
from drills.engine.moving import moves_between
from drills.engine.pools import NONE_TOLD, LookedTo, Pool, Ready, hardness, pools_of, weight_of
from drills.engine.prompts import Prompt
from drills.engine.recipes import (
    CONTROLLED,
    CRITICAL,
    FIELD,
    MOVED,
    ONE_CABINET,
    PAEDIATRIC,
    CannotApplyError,
    RecipeSpec,
    refuse_unbuilt,
)
from drills.engine.study import place_of, study_place

_FOCUS_WORDS = {CRITICAL: "critical", PAEDIATRIC: "for children", CONTROLLED: "controlled"}
PROBE, FOCUS, IN_ORDER = "probe", "focus", "in order"
SPARES_PER_KIND = 6
# As many as have moved, but no more than one sits down to; ours, no source.
MOST_MOVED = 30


@dataclass(frozen=True, slots=True)
class DrillPlan:
    """The prompts in order, spares for voided ones, and whether another seed may differ."""

    prompts: tuple[Prompt, ...]
    spares: tuple[Prompt, ...]
    varies: bool


def plan_drill(
    layout: Layout,
    spec: RecipeSpec,
    *,
    seed: int,
    weights: Mapping[str, float] | None = None,
    held: Collection[tuple[str, str]] = (),
    before: Layout | None = None,
    lately: Lately = NOTHING,
    looked_to: LookedTo = NONE_TOLD,
) -> DrillPlan:
    """Make a drill.

    `weights` are by fact, as text: how much each is to be asked, 1 where not named. `held` are
    (thing key, place key) pairs reported as not in their place: they are not asked about. `before`
    is the revision that is known, for recipes that ask what moved. What is known of `lately` is
    asked where nothing else is left; a probe alone is drawn from everything. `looked_to` are keys
    of things by focus, for recipes that look to what is for children or controlled. Raises
    `CannotApplyError` when the recipe makes no prompt on this layout.
    """
    refuse_unbuilt(spec)
    if spec.comes_from_calls:
        raise CannotApplyError(f"{spec.slug}: its prompts come from calls; none are here.")
    random = seeded(f"readiness/1:{spec.slug}:{seed}")
    moves = moves_between(before, layout, spec) if spec.asks_what_moved else None
    of_rig, patients = spec.of_places, patients_of(spec, seed)
    pools = pools_of(layout, of_rig, held, moves, weigher(spec, weights or {}, lately), looked_to)
    prompts, spares = _drawn(layout, of_rig, pools, random)
    if not (*prompts, *patients.prompts):
        raise CannotApplyError(
            f"{spec.slug}: layout {layout.slug} has nothing to ask about{_limits_of(spec)}."
        )
    is_free = spec.is_mixed and _is_free(of_rig, pools)
    ordered = _ordered(layout, spec, prompts, random)
    return DrillPlan(
        (*ordered, *patients.prompts),
        (*spares, *patients.spares),
        varies=is_free | patients.varies,
    )


def _is_free(spec: RecipeSpec, pools: Mapping[str, Pool]) -> bool:
    """Whether there is anything to choose between."""
    return sum(len(pools[kind]) for kind, count in spec.kinds if count or kind == MOVED) > 1


def patients_of(spec: RecipeSpec, seed: int) -> DrillPlan:
    """What a recipe asks of patients by the field criteria; they come after the rig."""
    count = dict(spec.kinds).get(FIELD, 0)
    made = field_prompts(spec, seed, count, spares=SPARES_PER_KIND, chosen=FOCUS) if count else []
    return DrillPlan(tuple(made[:count]), tuple(made[count:]), varies=bool(made))


def _ordered(
    layout: Layout, spec: RecipeSpec, prompts: list[Prompt], random: Random
) -> tuple[Prompt, ...]:
    """Mixed, or in study order with what moved first."""
    if not spec.is_mixed:
        return tuple(
            sorted(prompts, key=lambda each: (each.kind != MOVED, *study_place(layout, spec, each)))
        )
    left = list(prompts)
    return tuple(left.pop(drawn_index(random, [1.0] * len(left))) for _ in prompts)


def _limits_of(spec: RecipeSpec) -> str:
    """Where the recipe looks, for the sentence that says there is nothing."""
    where = f" on {', '.join(spec.faces)}" if spec.faces else ""
    focuses = [_FOCUS_WORDS[each] for each in spec.focus if each in _FOCUS_WORDS]
    sifts = spec.told_focuses or spec.focus == (CRITICAL,)
    what = f" that is {' or '.join(focuses)}" if sifts else ""
    what += " of what it names" if spec.asks_only else ""
    return what + where + (" in a bag" if spec.bags_only else "")


def weigher(
    spec: RecipeSpec, weights: Mapping[str, float], lately: Lately
) -> Callable[[Ready], float]:
    """How much a prompt is to be asked: by what may not be known, and by how hard it is.

    Nothing where it was known lately and does not come again: what has no weight is drawn when all
    else is gone.
    """

    harder = hardness(spec.difficulty) if spec.draws_at_random else None

    def weigh(ready: Ready) -> float:
        if ready.mark in lately.known and not ready.asks_for(lately.again):
            return 0.0
        weight = weight_of(ready, weights, was_had=ready.mark in lately.had)
        return weight * harder(ready) if harder else weight

    return weigh


def _drawn(
    layout: Layout,
    spec: RecipeSpec,
    pools: Mapping[str, Pool],
    random: Random,
) -> tuple[list[Prompt], list[Prompt]]:
    """The prompts that the recipe counts, in the order drawn, and the spares of each kind; of one
    that names its prompts all of them, and none to spare."""
    prompts: list[Prompt] = []
    spares: list[Prompt] = []
    for kind, named in spec.kinds:
        if spec.asks_only:
            prompts += [replace(each.prompt, chosen=FOCUS) for each in pools[kind]]
            continue
        count = named or (min(len(pools[kind]), MOST_MOVED) if kind == MOVED else 0)
        wanted = count + SPARES_PER_KIND
        if spec.is_mixed:
            drawn = _at_random(pools[kind], spec, wanted, random)
        else:
            drawn = _no_subject_twice(_in_turn(layout, pools[kind], spec, prompts), wanted)
        prompts += drawn[:count]
        spares += drawn[count:]
    return prompts, spares


def _no_subject_twice(source: Iterable[Prompt], count: int) -> list[Prompt]:
    found: dict[str, Prompt] = {}
    for prompt in source:
        found.setdefault(prompt.subject, prompt)
        if len(found) >= count:
            break
    return list(found.values())


def _at_random(weighed: Pool, spec: RecipeSpec, count: int, random: Random) -> list[Prompt]:
    """Prompts at random, no subject twice; each is with the recipe's chance a probe.

    Which are probes is settled first, and probes are drawn evenly from the whole pool before
    anything is drawn by weight: what is left after that would no longer be an even sample.
    """
    count = min(count, len({each.subject for each in weighed}))
    is_probe = [random.random() < spec.probes_share for _ in range(count)]
    even = dict.fromkeys(weighed, 1.0)
    probes = drawn_apart(even, sum(is_probe), set(), random)
    rest = count - len(probes)
    by_weight = drawn_apart(weighed, rest, {each.subject for each in probes}, random)
    return [
        replace(probes.pop(0), chosen=PROBE) if probe else replace(by_weight.pop(0), chosen=FOCUS)
        for probe in is_probe
    ]


def drawn_apart(weighed: Pool, count: int, taken: Collection[str], random: Random) -> list[Prompt]:
    """So many prompts drawn by weight, one for each subject, none about what is taken."""
    left = [each for each in weighed if each.subject not in taken]
    shares = [weighed[each] for each in left]
    subjects = [each.subject for each in left]
    found: list[Prompt] = []
    while len(found) < count:
        chosen = left[drawn_index(random, shares)]
        found.append(chosen.prompt)
        while chosen.subject in subjects:
            at = subjects.index(chosen.subject)
            del left[at], shares[at], subjects[at]
    return found


def _in_turn(
    layout: Layout, weighed: Pool, spec: RecipeSpec, asked: Iterable[Prompt]
) -> Iterator[Prompt]:
    """One prompt from each stop of the walk in turn, what is least known first.

    Stops that `asked` has been to already come later, and last what has no weight.
    """
    left = _stops(layout, weighed, spec)
    means = {stop: sum(weighed[each] for each in same) / len(same) for stop, same in left.items()}
    visits = Counter(_stop(layout, spec, prompt) for prompt in asked)
    while left:
        stop = min(left, key=lambda each: (not weighed[left[each][0]], visits[each], -means[each]))
        visits[stop] += 1
        yield replace(left[stop].pop(0).prompt, chosen=IN_ORDER)
        if not left[stop]:
            del left[stop]


def _stops(layout: Layout, weighed: Pool, spec: RecipeSpec) -> dict[str, list[Ready]]:
    """Prompts by stop, in study order; at each stop what is least known first, no subject twice."""
    found: dict[str, dict[str, Ready]] = {_stop(layout, spec, each.prompt): {} for each in weighed}
    for each in sorted(weighed, key=lambda each: -weighed[each]):
        found[_stop(layout, spec, each.prompt)].setdefault(each.subject, each)
    return {stop: list(same.values()) for stop, same in found.items()}


def _stop(layout: Layout, spec: RecipeSpec, prompt: Prompt) -> str:
    """Where a walk stops: at each door, at each bag, or in one cabinet at each place in it."""
    code = place_of(layout, spec, prompt)
    chain = layout.chain(code)
    if spec.bags_only:
        return next(each.code for each in chain if each.is_bag)
    return code if ONE_CABINET in spec.focus else chain[0].code


@dataclass(frozen=True, slots=True)
class Wish:
    """What a drill is asked for, of whatever it is made."""

    layout: Layout
    spec: RecipeSpec
    weights: Mapping[str, float]
    held: Collection[tuple[str, str]]
    before: Layout | None
    lately: Lately
    looked_to: LookedTo

    def of_the_rig(self, spec: RecipeSpec, seed: int) -> DrillPlan:
        """A drill of the rig alone."""
        return plan_drill(
            self.layout,
            spec,
            seed=seed,
            weights=self.weights,
            held=self.held,
            before=self.before,
            lately=self.lately,
            looked_to=self.looked_to,
        )
