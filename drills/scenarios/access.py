"""Who may read call types and change them, and who may build recipes."""

from django.core.exceptions import PermissionDenied
from django.db.models import Q, QuerySet
from django.http import Http404

from drills.people.access import closed_while_assessed, may_see, require_role
from drills.people.models import Person, Role
from drills.scenarios.models import CallType, Problem, Recipe, RecipeVersion

# What a call needs is the answer of its drill, so that no crew member reads it here.
READERS = (Role.EDUCATOR, Role.FTO, Role.KEEPER, Role.DIRECTOR, Role.ADMIN)
EDITORS = (Role.EDUCATOR, Role.ADMIN)
SETTERS = (Role.EDUCATOR, Role.DIRECTOR, Role.ADMIN)
BUILDERS = (Role.FTO, Role.EDUCATOR)


def require_reader(person: Person) -> None:
    """Let on who may read call types, while no assessed prompt of theirs is open."""
    require_role(person, *READERS)
    closed_while_assessed(person)


def require_editor(person: Person) -> None:
    """Let on who may change call types."""
    require_role(person, *EDITORS)
    closed_while_assessed(person)


def require_setter(person: Person) -> None:
    """Let on who may set how patients are sorted."""
    require_role(person, *SETTERS)
    closed_while_assessed(person)


def call_for_reader(person: Person, slug: str) -> CallType:
    """One call type, for who may read it."""
    require_reader(person)
    return _call(slug)


def call_for_editor(person: Person, slug: str) -> CallType:
    """One call type, for who may change it."""
    require_editor(person)
    return _call(slug)


def problem_for_reader(person: Person, slug: str) -> Problem:
    """One problem, for who may read it."""
    require_reader(person)
    return _problem(slug)


def problem_for_editor(person: Person, slug: str) -> Problem:
    """One problem, for who may change it."""
    require_editor(person)
    return _problem(slug)


def require_builder(person: Person) -> None:
    """Let on who may build recipes."""
    require_role(person, *BUILDERS)
    closed_while_assessed(person)


def may_change(person: Person, recipe: Recipe) -> bool:
    """Whether a person may change a recipe: their own, and an educator what is shared.

    An educator may as well change what belonged to somebody who is not in the service any more.
    """
    if not person.holds(*BUILDERS) or not recipe.is_listed:
        return False
    is_left = recipe.owner is None or not recipe.owner.is_active
    return recipe.owner == person or (person.holds(Role.EDUCATOR) and (recipe.is_shared or is_left))


def may_start_from(person: Person, recipe: Recipe) -> bool:
    """Whether a person may build another like it: none that a board made, which no form shows."""
    return recipe.is_listed and person.holds(*BUILDERS)


def recipes_for_builder(person: Person) -> QuerySet[Recipe]:
    """Every recipe somebody may start from: shared ones, their own, and what they may change."""
    require_builder(person)
    seen = Q(is_shared=True) | Q(owner=person)
    if person.holds(Role.EDUCATOR):
        seen |= Q(owner=None) | Q(owner__is_active=False)
    listed = Recipe.objects.exclude(slug__startswith=Recipe.UNLISTED)
    return listed.select_related("owner").filter(seen)


def recipe_for_reader(person: Person, slug: str) -> Recipe:
    """One recipe, for everybody whom it may be given to: one that a board made for somebody tells
    what they may not know, so it is for who made it, for them, and for who may see them."""
    closed_while_assessed(person)
    found = Recipe.objects.select_related("owner", "changed_by").filter(slug=slug).first()
    if found is None or not (found.is_listed or _may_read_named(person, found)):
        raise Http404("There is no such recipe.")
    return found


def _may_read_named(person: Person, recipe: Recipe) -> bool:
    whom = Person.objects.filter(recipes_named__recipe=recipe)
    return recipe.owner_id == person.pk or any(may_see(person, each) for each in whom)


def recipe_to_start_from(person: Person, slug: str) -> Recipe:
    """One recipe to build another like it."""
    found = recipe_for_reader(person, slug)
    if not may_start_from(person, found):
        raise Http404("A board made this recipe; no form shows it.")
    return found


def recipe_for_builder(person: Person, slug: str) -> Recipe:
    """One recipe, for who may change it."""
    require_builder(person)
    found = recipe_for_reader(person, slug)
    if not may_change(person, found):
        raise PermissionDenied("This recipe is not yours to change. Start a new one from it.")
    return found


def version_for_reader(person: Person, slug: str, version: int) -> RecipeVersion | Recipe:
    """A recipe as one version had it, where that was kept."""
    recipe = recipe_for_reader(person, slug)
    found = recipe.at(version)
    if found.version != version:
        raise Http404("This version of the recipe is not kept.")
    return found


def _problem(slug: str) -> Problem:
    found = Problem.objects.filter(slug=slug).first()
    if found is None:
        raise Http404("There is no such problem.")
    return found


def _call(slug: str) -> CallType:
    found = CallType.objects.filter(slug=slug).first()
    if found is None:
        raise Http404("There is no such call type.")
    return found
