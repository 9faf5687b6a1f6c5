"""What this room keeps about one person: given out in words, and taken away."""

from typing import Any

from django.db.models import F, QuerySet

from drills.people.models import Person
from drills.scenarios.models import Recipe, RecipeVersion


def record_of(person: Person) -> dict[str, Any]:
    """The recipes they own, those that a board made for them, and every version of one that they
    made."""
    return {
        "recipes made for them by a board": [
            {"recipe": str(each.recipe), "asks": list(each.asks.values())}
            for each in person.recipes_named.select_related("recipe").order_by("recipe__slug")
        ],
        "recipes": [
            {"recipe": str(each), "shared": each.is_shared, "retired": each.retired_on}
            for each in person.recipes.order_by("slug")
        ],
        "versions of recipes made": [
            {"recipe": each.name, "version": each.version, "at": each.changed_at}
            for each in (*_now(person), *_before(person))
        ],
    }


def erase(person: Person) -> tuple[dict[str, int], dict[str, int]]:
    """What goes and what stays without them, in rows of each kind.

    Recipes are of the service, and drills were made from them: their keys to the person empty
    themselves when the row of the person goes. For whom a board made one goes with them.
    """
    versions = _now(person).count() + _before(person).count()
    named = person.recipes_named.count()
    person.recipes_named.clear()
    return {"recipes made for them by a board": named}, {
        "recipes": person.recipes.count(),
        "versions of recipes made": versions,
    }


def _now(person: Person) -> QuerySet[Recipe]:
    return Recipe.objects.filter(changed_by=person).order_by("slug")


def _before(person: Person) -> QuerySet[RecipeVersion]:
    """Versions that another came after: of those that did not, the recipe itself tells."""
    kept = RecipeVersion.objects.filter(changed_by=person).exclude(version=F("recipe__version"))
    return kept.order_by("recipe__slug", "version")
