"""Recipes that a board makes for somebody, of exactly the questions it names."""

from collections.abc import Collection, Mapping
from typing import Any

from drills.engine.lately import digest
from drills.engine.recipes import only
from drills.people.models import Person
from drills.scenarios.models import Drill, Named, Recipe

_HELD = "It is on hold until a report of it is answered, or this rig carries it no longer."


def named_recipe(
    name: str,
    questions: Mapping[str, str],
    settings: Mapping[str, Any],
    *,
    whom: Collection[Person],
    by: Person,
    together: str = "",
) -> Recipe:
    """The recipe that asks some questions of some people; the same again for the same ones, and for
    those who are asked `together` by one name, whoever is among them since.

    `questions` are in words by the name of a focus; the rest is set as `settings` say.
    """
    asked = sorted(questions)
    people = sorted(each.pk for each in whom)
    of_whom = [together] if together else map(str, people)
    recipe, is_new = Recipe.objects.get_or_create(
        slug=Recipe.UNLISTED + digest((name, *of_whom, *asked)),
        defaults={"name": name, "focus": asked, "owner": by, "is_shared": False, **settings},
    )
    if is_new:
        Named.objects.create(recipe=recipe, questions=dict(questions)).people.set(people)
    elif together and (named := Named.objects.filter(recipe=recipe).first()):
        named.people.add(*people)
    return recipe


def left_out(drill: Drill) -> str:
    """Which questions of a recipe of exactly some its drill does not ask, and why; else nothing."""
    named = Named.objects.filter(recipe=drill.recipe_id).first()
    if named is None:
        return ""
    rows = drill.prompts.filter(is_spare=False).values_list("kind", "subject", "category")
    asked = {only(*row) for row in rows}
    missing = [words for name, words in named.asks.items() if name not in asked]
    return f"Not asked now: {' '.join(missing)} {_HELD}" if missing else ""
