"""Drills from a recipe, a layout, a seed and weights: the same in, the same out.

Only `Random.random` is drawn from, whose sequence for a seed is the one part of the standard
generator promised to stay the same; seeds are text, so that a sign or a size makes a difference.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from heapq import nlargest
from random import Random

from drills.engine.asking import contents_prompts, locate_prompts, looks_at
from drills.engine.chance import drawn_index, seeded
from drills.engine.layout import Compartment, Layout
from drills.engine.moving import Moves, moved_prompts, moves_between
from drills.engine.prompts import Prompt, ways
from drills.engine.recipes import (
    CONTENTS,
    CRITICAL,
    LOCATE,
    MOVED,
    ONE_CABINET,
    WHAT_MOVED,
    CannotApplyError,
    RecipeSpec,
    refuse_unbuilt,
)

PROBE, FOCUS, IN_ORDER = "probe", "focus", "in order"
SPARES_PER_KIND = 6
# As many as have moved, but no more than one sits down to; ours, no source.
MOST_MOVED = 30

# A walk round the rig: outside by street side, rear and curb side, then the cab, then inside.
STUDY_ORDER = (
    "street",
    "rear",
    "curb",
    "cab",
    "bulkhead",
    "interior-street",
    "interior-curb",
    "floor",
)


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
) -> DrillPlan:
    """Make a drill.

    `weights` are by fact, as text: how much each is to be asked, 1 where not named. `held` are
    (thing key, place key) pairs reported as not in their place: they are not asked about. `before`
    is the revision that is known, for recipes that ask what moved. Raises `CannotApplyError` when
    the recipe makes no prompt on this layout.
    """
    refuse_unbuilt(spec)
    if spec.comes_from_calls:
        raise CannotApplyError(f"{spec.slug}: its prompts come from calls; none are here.")
    random = seeded(f"readiness/1:{spec.slug}:{seed}")
    moves = moves_between(before, layout, spec) if spec.asks_what_moved else None
    pools = _pools(layout, spec, held, weights or {}, moves)
    prompts, spares = _drawn(layout, spec, pools, random)
    if not prompts:
        raise CannotApplyError(
            f"{spec.slug}: layout {layout.slug} has nothing to ask about{_limits_of(spec)}."
        )
    is_free = sum(len(pools[kind]) for kind, count in spec.kinds if count or kind == MOVED) > 1
    ordered = _ordered(layout, spec, prompts, random)
    return DrillPlan(ordered, tuple(spares), varies=spec.is_mixed and is_free)


def _ordered(
    layout: Layout, spec: RecipeSpec, prompts: list[Prompt], random: Random
) -> tuple[Prompt, ...]:
    """Mixed, or in study order with what moved first."""
    if not spec.is_mixed:
        return tuple(
            sorted(
                prompts, key=lambda each: (each.kind != MOVED, *_study_place(layout, spec, each))
            )
        )
    left = list(prompts)
    return tuple(left.pop(drawn_index(random, [1.0] * len(left))) for _ in prompts)


def _limits_of(spec: RecipeSpec) -> str:
    """Where the recipe looks, for the sentence that says there is nothing."""
    where = f" on {', '.join(spec.faces)}" if spec.faces else ""
    what = " that is critical" if spec.focus == (CRITICAL,) else ""
    return what + where + (" in a bag" if spec.bags_only else "")


def study_walk(layout: Layout) -> tuple[Compartment, ...]:
    """The doors of a rig in the order in which one is walked round it."""
    tops = layout.children.get("", ())
    return tuple(sorted(tops, key=lambda each: STUDY_ORDER.index(layout.face_of(each.code))))


def _pools(
    layout: Layout,
    spec: RecipeSpec,
    held: Collection[tuple[str, str]],
    weights: Mapping[str, float],
    moves: Moves | None,
) -> dict[str, dict[Prompt, float]]:
    """Every prompt that the recipe may ask, by kind, in study order, with its weight."""
    pools = {
        kind: {
            prompt: weight_of(layout, prompt, weights)
            for prompt in _pool(layout, spec, kind, held, moves)
        }
        for kind, _ in spec.kinds
    }
    return _of_one_cabinet(layout, spec, pools) if ONE_CABINET in spec.focus else pools


def _pool(
    layout: Layout,
    spec: RecipeSpec,
    kind: str,
    held: Collection[tuple[str, str]],
    moves: Moves | None,
) -> list[Prompt]:
    made = _made(layout, spec, kind, held, moves)
    critical_only = spec.focus == (CRITICAL,)
    found = [prompt for prompt in made if prompt.critical or not critical_only]
    if kind == CONTENTS:
        # To tick one thing in a list says little; it is asked only where no place holds two.
        found = [prompt for prompt in found if len(prompt.answer) > 1] or found
    return sorted(found, key=lambda prompt: _study_place(layout, spec, prompt))


def _made(
    layout: Layout,
    spec: RecipeSpec,
    kind: str,
    held: Collection[tuple[str, str]],
    moves: Moves | None,
) -> list[Prompt]:
    """What moved; and where a recipe looks at that alone, what stayed beside where it was."""
    if kind == MOVED:
        return list(moved_prompts(layout, spec, held, moves)) if moves else []
    make = locate_prompts if kind == LOCATE else contents_prompts
    made = make(layout, spec, held)
    if moves is None or WHAT_MOVED not in spec.focus:
        return list(made)
    return [prompt for prompt in made if moves.is_beside(layout, prompt)]


def _of_one_cabinet(
    layout: Layout, spec: RecipeSpec, pools: Mapping[str, Mapping[Prompt, float]]
) -> dict[str, dict[Prompt, float]]:
    """Keep to the cabinet where the recipe finds the most to ask that may not be known."""
    heaviest: dict[str, float] = {}
    for kind, count in spec.kinds:
        found: dict[str, dict[str, float]] = {}
        for prompt, weight in pools[kind].items():
            subjects = found.setdefault(_cabinet(layout, spec, prompt), {})
            subjects[prompt.subject] = max(weight, subjects.get(prompt.subject, 0.0))
        for code, subjects in found.items():
            asked = sum(nlargest(count, subjects.values()))
            heaviest[code] = heaviest.get(code, 0.0) + asked
    walk = [each.code for each in study_walk(layout) if each.code in heaviest]
    kept = max(walk, key=lambda code: heaviest[code], default="")
    return {
        kind: {
            prompt: weight
            for prompt, weight in pool.items()
            if _cabinet(layout, spec, prompt) == kept
        }
        for kind, pool in pools.items()
    }


def _drawn(
    layout: Layout,
    spec: RecipeSpec,
    pools: Mapping[str, Mapping[Prompt, float]],
    random: Random,
) -> tuple[list[Prompt], list[Prompt]]:
    """The prompts that the recipe counts, in the order drawn, and the spares of each kind."""
    prompts: list[Prompt] = []
    spares: list[Prompt] = []
    for kind, named in spec.kinds:
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


def _at_random(
    weighed: Mapping[Prompt, float], spec: RecipeSpec, count: int, random: Random
) -> list[Prompt]:
    """Prompts at random, no subject twice; each is with the recipe's chance a probe.

    Which are probes is settled first, and probes are drawn evenly from the whole pool before
    anything is drawn by weight: what is left after that would no longer be an even sample.
    """
    count = min(count, len({prompt.subject for prompt in weighed}))
    is_probe = [random.random() < spec.probes_share for _ in range(count)]
    even = dict.fromkeys(weighed, 1.0)
    probes = drawn_apart(even, sum(is_probe), set(), random)
    rest = count - len(probes)
    by_weight = drawn_apart(weighed, rest, {each.subject for each in probes}, random)
    return [
        replace(probes.pop(0), chosen=PROBE) if probe else replace(by_weight.pop(0), chosen=FOCUS)
        for probe in is_probe
    ]


def drawn_apart(
    weighed: Mapping[Prompt, float], count: int, taken: Collection[str], random: Random
) -> list[Prompt]:
    """So many prompts drawn by weight, one for each subject, none about what is taken."""
    left = [prompt for prompt in weighed if prompt.subject not in taken]
    found: list[Prompt] = []
    while len(found) < count:
        chosen = left[drawn_index(random, [weighed[prompt] for prompt in left])]
        found.append(chosen)
        left = [prompt for prompt in left if prompt.subject != chosen.subject]
    return found


def _in_turn(
    layout: Layout, weighed: Mapping[Prompt, float], spec: RecipeSpec, asked: Iterable[Prompt]
) -> Iterator[Prompt]:
    """One prompt from each stop of the walk in turn, what is least known first.

    Stops that `asked` has been to already come later.
    """
    left = _stops(layout, weighed, spec)
    means = {
        stop: sum(weighed[prompt] for prompt in same) / len(same) for stop, same in left.items()
    }
    visits = Counter(_stop(layout, spec, prompt) for prompt in asked)
    while left:
        stop = min(left, key=lambda each: (visits[each], -means[each]))
        visits[stop] += 1
        yield replace(left[stop].pop(0), chosen=IN_ORDER)
        if not left[stop]:
            del left[stop]


def _stops(
    layout: Layout, weighed: Mapping[Prompt, float], spec: RecipeSpec
) -> dict[str, list[Prompt]]:
    """Prompts by stop, in study order; at each stop what is least known first, no subject twice."""
    found: dict[str, dict[str, Prompt]] = {_stop(layout, spec, prompt): {} for prompt in weighed}
    for prompt in sorted(weighed, key=lambda prompt: -weighed[prompt]):
        found[_stop(layout, spec, prompt)].setdefault(prompt.subject, prompt)
    return {stop: list(same.values()) for stop, same in found.items()}


def weight_of(layout: Layout, prompt: Prompt, weights: Mapping[str, float]) -> float:
    """The weight of the least known fact that the prompt asks about.

    A thing with doubles may be known by one of its places alone: places that no answer was ever
    about count only while there is no other.
    """
    asked = ways(layout, prompt.kind, prompt.subject, prompt.answer)
    met = [facts for facts in asked if all(str(fact) in weights for fact in facts)]
    return max(weights.get(str(fact), 1.0) for facts in met or asked for fact in facts)


def _place_of(layout: Layout, spec: RecipeSpec, prompt: Prompt) -> str:
    """The place the prompt is asked for: of doubles the first that the recipe looks at."""
    if prompt.kind == CONTENTS:
        return prompt.subject
    return next(code for code in prompt.answer if looks_at(layout, spec, code))


def _cabinet(layout: Layout, spec: RecipeSpec, prompt: Prompt) -> str:
    return layout.chain(_place_of(layout, spec, prompt))[0].code


def _stop(layout: Layout, spec: RecipeSpec, prompt: Prompt) -> str:
    """Where a walk stops: at each door, at each bag, or in one cabinet at each place in it."""
    code = _place_of(layout, spec, prompt)
    chain = layout.chain(code)
    if spec.bags_only:
        return next(each.code for each in chain if each.is_bag)
    return code if ONE_CABINET in spec.focus else chain[0].code


def _study_place(layout: Layout, spec: RecipeSpec, prompt: Prompt) -> tuple[int, ...]:
    """Face by face, each door with all that lies in it; what is where comes before what is in."""
    chain = layout.chain(_place_of(layout, spec, prompt))
    face = STUDY_ORDER.index(layout.face_of(chain[0].code))
    walk = [layout.order_of[each.code] for each in chain]
    return (face, *walk, len(layout.compartments) if prompt.kind == CONTENTS else -1)
