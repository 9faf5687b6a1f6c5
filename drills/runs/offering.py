"""The recipes that somebody may give, in groups that are looked through folded."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from drills.engine.recipes import CALL_KINDS, NUMBER_KINDS, TRIAGE
from drills.engine.series import BY_DAY, name_of
from drills.engine.standards import in_words
from drills.people.models import Person
from drills.runs.models import Assignment
from drills.runs.series import is_built
from drills.scenarios.models import Recipe

# So many are looked through at a glance, and need no folding.
LATELY, FEW = 3, 8
OWN, PLACES, CALLS, SORTING, FIGURES = (
    "Your own",
    "Where things are",
    "Whole calls and kits",
    "Patients to sort",
    "Doses and figures",
)
_ORDER = (OWN, PLACES, CALLS, FIGURES, SORTING)


@dataclass(frozen=True, slots=True)
class Kind:
    """Recipes of one kind, each with the words of its standard."""

    name: str
    recipes: tuple[tuple[Recipe, tuple[str, ...]], ...]
    is_open: bool = False


def recipes_offered(giver: Person) -> list[Recipe]:
    """The recipes that somebody may give and that can be drilled."""
    return [each for each in Recipe.objects.open_to(giver) if is_built(each)]


def grouped(recipes: Sequence[Recipe], *, giver: Person, chosen: str) -> list[Kind]:
    """What the giver gave lately first, open; then by kind, folded unless it has the chosen one.

    Few recipes are not folded at all.
    """
    lately, few = _lately(recipes, giver), len(recipes) <= FEW
    found: dict[str, list[Recipe]] = defaultdict(list)
    for recipe in recipes:
        if recipe not in lately:
            found[_kind_of(recipe, giver)].append(recipe)
    days = [each for each in found if each not in _ORDER]
    first = [Kind("You gave lately", _told(lately), is_open=True)] if lately else []
    return first + [
        Kind(name, _told(found[name]), few or any(each.slug == chosen for each in found[name]))
        for name in (*_ORDER, *days)
        if found[name]
    ]


def _told(recipes: Iterable[Recipe]) -> tuple[tuple[Recipe, tuple[str, ...]], ...]:
    return tuple((each, tuple(in_words(each.standard))) for each in recipes)


def _lately(recipes: Sequence[Recipe], giver: Person) -> list[Recipe]:
    """The last few that the giver gave, days of a series left out."""
    by_key = {each.pk: each for each in recipes}
    given = Assignment.objects.filter(given_by=giver, series=None, recipe__in=by_key)
    keys = dict.fromkeys(given.order_by("-given_at").values_list("recipe", flat=True)[:50])
    return [by_key[key] for key in keys][:LATELY]


def _kind_of(recipe: Recipe, giver: Person) -> str:
    kinds = {kind for kind, _ in recipe.spec.kinds}
    if recipe.owner_id == giver.pk:
        return OWN
    if recipe.series in BY_DAY:
        return f"Single days of {name_of(recipe.series)}"
    if not kinds & set(CALL_KINDS):
        return PLACES
    if kinds <= set(NUMBER_KINDS):
        return FIGURES
    return SORTING if kinds == {TRIAGE} else CALLS
