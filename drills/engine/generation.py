"""Drills from a recipe, a layout, a seed and weights: the same in, the same out.

Only `Random.random` is drawn from, whose sequence for a seed is the one part of the standard
generator promised to stay the same; seeds are text, so that a sign or a size makes a difference.
"""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from random import Random
from typing import TypeAlias

from drills.engine.facts import facts_of
from drills.engine.layout import Compartment, Layout, Thing
from drills.engine.recipes import (
    CONTENTS,
    CRITICAL,
    LOCATE,
    ONE_CABINET,
    CannotApplyError,
    RecipeSpec,
    refuse_unbuilt,
)
from drills.engine.scoring import DOOR, POCKET, SHELF

PROBE, FOCUS, IN_ORDER = "probe", "focus", "in order"
SPARES_PER_KIND = 6

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
_LOCATE_TEXT = {
    DOOR: "Where is it? To the door.",
    SHELF: "Where is it? To the shelf.",
    POCKET: "Where is it? To the pocket.",
}
_CONTENTS_TEXT = "Which of these are in here?"

_Weigher: TypeAlias = "Callable[[Prompt], float]"


@dataclass(frozen=True, slots=True)
class Prompt:
    """One question, frozen with its answer.

    `subject` is a thing key (locate) or a compartment code (contents). `answer` are compartment
    codes (locate) or thing keys (contents); `choices` are thing keys, empty where the whole rig
    is the choice. `chosen` says how the prompt was drawn: probe, focus or in order.
    """

    kind: str
    subject: str
    name: str
    text: str
    depth: str
    category: str
    critical: bool
    answer: tuple[str, ...]
    choices: tuple[str, ...]
    chosen: str = ""


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
) -> DrillPlan:
    """Make a drill.

    `weights` are by fact, as text: how much each is to be asked, 1 where not named. `held` are
    (thing key, place key) pairs reported as not in their place: they are not asked about.
    Raises `CannotApplyError` when the recipe makes no prompt on this layout.
    """
    refuse_unbuilt(spec)
    random = Random(f"readiness/1:{spec.slug}:{seed}")  # noqa: S311  # repeatable, not secret
    prompts: list[Prompt] = []
    spares: list[Prompt] = []
    is_free = False
    for kind, count in spec.kinds:
        pool = _pool(layout, spec, kind, held)
        drawn = _drawn(layout, pool, spec, count, random, weights or {})
        prompts += drawn[:count]
        spares += drawn[count:]
        is_free = is_free or len(pool) > 1
    if not prompts:
        raise CannotApplyError(f"{spec.slug}: nothing on layout {layout.slug} can be asked.")
    if spec.is_mixed:
        ordered = [prompts.pop(_index(random, [1.0] * len(prompts))) for _ in list(prompts)]
    else:
        ordered = sorted(prompts, key=lambda prompt: _study_place(layout, prompt))
    return DrillPlan(tuple(ordered), tuple(spares), varies=spec.is_mixed and is_free)


def study_walk(layout: Layout) -> tuple[Compartment, ...]:
    """The doors of a rig in the order in which one is walked round it."""
    tops = layout.children.get("", ())
    return tuple(sorted(tops, key=lambda each: STUDY_ORDER.index(layout.face_of(each.code))))


def _pool(
    layout: Layout, spec: RecipeSpec, kind: str, held: Collection[tuple[str, str]]
) -> list[Prompt]:
    """Every prompt of a kind that the recipe may ask, in study order."""
    made = _locates(layout, spec, held) if kind == LOCATE else _contents(layout, spec, held)
    critical_only = spec.focus == (CRITICAL,)
    found = [prompt for prompt in made if prompt.critical or not critical_only]
    return sorted(found, key=lambda prompt: _study_place(layout, prompt))


def _locates(
    layout: Layout, spec: RecipeSpec, held: Collection[tuple[str, str]]
) -> Iterator[Prompt]:
    held_things = {thing for thing, _ in held}
    for thing in layout.things.values():
        if thing.key not in held_things and _in_reach_of(layout, spec, thing):
            yield Prompt(
                kind=LOCATE,
                subject=thing.key,
                name=thing.name,
                text=_LOCATE_TEXT[spec.depth],
                depth=spec.depth,
                category=thing.category,
                critical=thing.critical,
                answer=thing.places,
                choices=(),
            )


def _contents(
    layout: Layout, spec: RecipeSpec, held: Collection[tuple[str, str]]
) -> Iterator[Prompt]:
    held_places = {place for _, place in held}
    for code, lines in layout.lines_in.items():
        holder = layout.by_code[code]
        if code in layout.children or holder.key in held_places or not _on(layout, spec, code):
            continue
        for category in dict.fromkeys(layout.things[line.key].category for line in lines):
            here = [line for line in lines if layout.things[line.key].category == category]
            yield Prompt(
                kind=CONTENTS,
                subject=code,
                name=layout.path(code),
                text=_CONTENTS_TEXT,
                depth=POCKET,
                category=category,
                critical=any(line.critical for line in here),
                answer=tuple(sorted(line.key for line in here)),
                choices=_choices(layout, category),
            )


def _choices(layout: Layout, category: str) -> tuple[str, ...]:
    """All that the rig stocks in a category, by name: never a shorter list."""
    stocked = {line.key for line in layout.stock}
    same = [
        each for each in layout.things.values() if each.category == category and each.key in stocked
    ]
    return tuple(each.key for each in sorted(same, key=lambda each: each.key))


def _on(layout: Layout, spec: RecipeSpec, code: str) -> bool:
    if spec.bags_only and not any(each.is_bag for each in layout.chain(code)):
        return False
    return not spec.faces or layout.face_of(layout.chain(code)[0].code) in spec.faces


def _in_reach_of(layout: Layout, spec: RecipeSpec, thing: Thing) -> bool:
    return any(_on(layout, spec, code) for code in thing.places)


def _drawn(
    layout: Layout,
    pool: Sequence[Prompt],
    spec: RecipeSpec,
    count: int,
    random: Random,
    weights: Mapping[str, float],
) -> list[Prompt]:
    """The prompts to ask and then the spares, no subject twice."""
    weighed = {prompt: _weight(layout, prompt, weights) for prompt in pool}
    source = _at_random if spec.is_mixed else _heaviest_first
    found: dict[str, Prompt] = {}
    for prompt in source(layout, weighed, spec, random):
        found.setdefault(prompt.subject, prompt)
        if len(found) >= count + SPARES_PER_KIND:
            break
    return list(found.values())


def _at_random(
    layout: Layout, weighed: Mapping[Prompt, float], spec: RecipeSpec, random: Random
) -> Iterator[Prompt]:
    """Each prompt is with the recipe's chance a probe, drawn evenly; else drawn by weight."""
    left = list(weighed)
    while left:
        is_probe = random.random() < spec.probes_share
        shares = [1.0 if is_probe else weighed[prompt] for prompt in left]
        prompt = left.pop(_index(random, shares))
        yield replace(prompt, chosen=PROBE if is_probe else FOCUS)


def _heaviest_first(
    layout: Layout, weighed: Mapping[Prompt, float], spec: RecipeSpec, random: Random
) -> Iterator[Prompt]:
    """What is least known comes first, by whole cabinets where the recipe keeps to one."""
    cabinets: dict[str, list[float]] = {}
    for prompt, weight in weighed.items():
        cabinets.setdefault(_cabinet(layout, prompt), []).append(weight)
    means = {code: sum(found) / len(found) for code, found in cabinets.items()}

    def rank(prompt: Prompt) -> tuple[float, int, float]:
        cabinet = _cabinet(layout, prompt)
        if ONE_CABINET not in spec.focus:
            return (0.0, 0, -weighed[prompt])
        return (-means[cabinet], list(cabinets).index(cabinet), -weighed[prompt])

    for prompt in sorted(weighed, key=rank):
        yield replace(prompt, chosen=IN_ORDER)


def _weight(layout: Layout, prompt: Prompt, weights: Mapping[str, float]) -> float:
    """The weight of the least known fact that the prompt asks about."""
    things = (prompt.subject,) if prompt.kind == LOCATE else prompt.answer
    return max(weights.get(str(fact), 1.0) for fact in facts_of(layout, things))


def _place_of(layout: Layout, prompt: Prompt) -> str:
    return prompt.answer[0] if prompt.kind == LOCATE else prompt.subject


def _cabinet(layout: Layout, prompt: Prompt) -> str:
    return layout.chain(_place_of(layout, prompt))[0].code


def _study_place(layout: Layout, prompt: Prompt) -> tuple[int, int]:
    code = _place_of(layout, prompt)
    face = layout.face_of(layout.chain(code)[0].code)
    return STUDY_ORDER.index(face), layout.order_of[code]


def _index(random: Random, shares: Sequence[float]) -> int:
    """Draw an index with chances in proportion to the shares."""
    point = random.random() * sum(shares)
    for index, share in enumerate(shares):
        point -= share
        if point < 0:
            return index
    return len(shares) - 1
