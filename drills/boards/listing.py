"""The drills that can be taken, folded by what they ask; those for any shift stand first."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from drills.engine.recipes import ALLOCATE, ARRIVE, FIELD, NUMBER_KINDS, STAGE, TRIAGE
from drills.engine.series import BY_DAY
from drills.scenarios.models import Recipe

# Short, and of whatever one rides today. Ours, no source.
USUAL = ("start-of-shift", "find-ten", "one-cabinet", "call-of-the-day")
FOR_ANY_SHIFT, BUILT_HERE = "For any shift", "Built in your service"
WHERE, CALLS = "Where things are", "Calls and their kits"
NUMBERS, SORTING = "Doses and supplies", "Who first, and where to"
FOLDS = (FOR_ANY_SHIFT, BUILT_HERE, WHERE, CALLS, NUMBERS, SORTING, *BY_DAY.values())

Ready = tuple[Recipe, str]


@dataclass(frozen=True, slots=True)
class Fold:
    """Drills of one sort, each with what stands before it in words; the first fold is open, and
    the one with the drill that somebody was sent to."""

    title: str
    drills: tuple[Ready, ...]
    is_open: bool


def folds_of(ready: Iterable[Ready], *, sent_to: str = "") -> list[Fold]:
    """The drills by their sort; `sent_to` is the slug of one."""
    sorts: dict[str, list[Ready]] = {title: [] for title in FOLDS}
    for each in ready:
        sorts[_sort_of(each[0])].append(each)
    sorts[FOR_ANY_SHIFT].sort(key=lambda each: USUAL.index(each[0].slug))
    there = [(title, drills) for title, drills in sorts.items() if drills]
    return [
        Fold(title, tuple(drills), is_open=not number or _has(drills, sent_to))
        for number, (title, drills) in enumerate(there)
    ]


def _has(drills: Sequence[Ready], slug: str) -> bool:
    return any(recipe.slug == slug for recipe, _ in drills)


def _sort_of(recipe: Recipe) -> str:
    """By its series, by who built it, else by the kinds of what it asks."""
    if recipe.slug in USUAL:
        return FOR_ANY_SHIFT
    if recipe.owner_id is not None:
        return BUILT_HERE
    if recipe.series in BY_DAY:
        return BY_DAY[recipe.series]
    kinds = {kind for kind, _ in recipe.spec.kinds}
    if kinds & {STAGE, ARRIVE}:
        return CALLS
    if kinds & {TRIAGE, ALLOCATE, FIELD}:
        return SORTING
    return NUMBERS if kinds <= set(NUMBER_KINDS) else WHERE
