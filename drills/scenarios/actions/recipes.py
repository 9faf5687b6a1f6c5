"""Recipes are made, changed version by version, shared, retired, and deleted while unused."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Max, ProtectedError, Q
from django.utils import timezone
from django.utils.text import slugify

from drills.engine.recipecheck import Typed, layout_named, read_settings, written
from drills.engine.recipes import CannotApplyError, read_kinds
from drills.people.access import require_role
from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.models import Layout
from drills.rigs.reports import layouts_in_force
from drills.scenarios.access import BUILDERS, may_change
from drills.scenarios.models import CallType, Recipe, RecipeVersion
from drills.scenarios.sampling import unserved

# Addresses beside those of recipes.
RESERVED = frozenset({"add"})
SLUG_LENGTH = 50
_NOT_TOLD = frozenset({"version", "changed_at", "changed_by_id"})


class RecipeRefusedError(ValueError):
    """A recipe that stays as it is; `faults` say by field what came in and what is accepted."""

    def __init__(self, words: str, faults: Mapping[str, str] | None = None) -> None:
        super().__init__(words)
        self.faults = dict(faults or {})


@transaction.atomic
def make_recipe(typed: Typed, *, like: Recipe | None, by: Person, now: datetime) -> Recipe:
    """Make a recipe of one's own, which nobody else may choose until it is shared.

    `typed` is as `read_settings` takes it; `like` is the one it starts as, whose order of kinds it
    keeps. Raises `RecipeRefusedError`.
    """
    require_role(by, *BUILDERS)
    given = _read(typed, like, now)
    recipe = Recipe.objects.create(
        **given,
        slug=_free_slug(given["name"]),
        limit_at_rig_s=like.limit_at_rig_s if like else None,
        owner=by,
        is_shared=False,
        changed_at=now,
        changed_by=by,
    )
    record("make recipe", recipe.slug, by=by, now=now, after=_told(recipe))
    return recipe


@transaction.atomic
def change_recipe(recipe: Recipe, typed: Typed, *, seen: str, by: Person, now: datetime) -> Recipe:
    """Make the next version of a recipe; the one before stays readable.

    `seen` is the version that the form showed. Where nothing is other than it was, none is made.
    Raises `RecipeRefusedError`, also where somebody made another version meanwhile.
    """
    recipe = _taken(recipe, by)
    _refuse_retired(recipe)
    if seen != str(recipe.version):
        raise RecipeRefusedError(
            f"Version {seen or 'none'} was shown, and version {recipe.version} is there by now. "
            "Look at that beside what you wrote, then send it again."
        )
    shown = _as_written(recipe)
    given = {
        name: value for name, value in _read(typed, recipe, now).items() if value != shown[name]
    }
    if not given:
        return recipe
    before = {name: getattr(recipe, name) for name in given}
    recipe.keep_version()
    for name, value in given.items():
        setattr(recipe, name, value)
    last = recipe.versions.aggregate(last=Max("version"))["last"]
    recipe.version, recipe.changed_at, recipe.changed_by = last + 1, now, by
    recipe.save()
    after = given | {"version": recipe.version}
    record("change recipe", recipe.slug, by=by, now=now, before=before, after=after)
    return recipe


@transaction.atomic
def share_recipe(recipe: Recipe, *, by: Person, now: datetime) -> Recipe:
    """Let everybody choose it; it stays its owner's, and educators may change it too."""
    recipe = _taken(recipe, by)
    _refuse_retired(recipe)
    if recipe.is_shared:
        raise RecipeRefusedError(f"{recipe.name} is shared already.")
    recipe.is_shared = True
    recipe.save(update_fields=["is_shared"])
    record("share recipe", recipe.slug, by=by, now=now)
    return recipe


@transaction.atomic
def retire_recipe(recipe: Recipe, *, by: Person, now: datetime) -> Recipe:
    """Make and give nothing new of it; what was made and given stays."""
    recipe = _taken(recipe, by)
    _refuse_retired(recipe)
    recipe.retired_on = timezone.localdate(now)
    recipe.save(update_fields=["retired_on"])
    record("retire recipe", recipe.slug, by=by, now=now)
    return recipe


@transaction.atomic
def restore_recipe(recipe: Recipe, *, by: Person, now: datetime) -> Recipe:
    """Bring a retired recipe back as it was."""
    recipe = _taken(recipe, by)
    if recipe.retired_on is None:
        raise RecipeRefusedError(f"{recipe.name} is not retired.")
    recipe.retired_on = None
    recipe.save(update_fields=["retired_on"])
    record("bring back recipe", recipe.slug, by=by, now=now)
    return recipe


@transaction.atomic
def delete_recipe(recipe: Recipe, *, by: Person, now: datetime) -> None:
    """Take a recipe out for good that nothing was ever made from or given of."""
    recipe = _taken(recipe, by)
    if recipe.owner_id is None:
        # The next release of the reference data would bring it again.
        raise RecipeRefusedError(f"Nobody owns {recipe.name}: it is the service's. Retire it.")
    slug, before = recipe.slug, _told(recipe)
    try:
        with transaction.atomic():
            recipe.delete()
    except ProtectedError as error:
        raise RecipeRefusedError(
            f"Drills or assignments were made from {recipe.name}, and they keep it. Retire it."
        ) from error
    record("delete recipe", slug, by=by, now=now, before=before)


def _taken(recipe: Recipe, by: Person) -> Recipe:
    """The row as it is now, for this act alone, where the person may change it."""
    found = Recipe.objects.select_for_update(of=("self",)).filter(pk=recipe.pk).first()
    if found is None:
        raise RecipeRefusedError(f"{recipe.name} was deleted meanwhile.")
    if not may_change(by, found):
        raise RecipeRefusedError(f"{recipe.name} is not yours to change. Start a new one from it.")
    return found


def _as_written(recipe: Recipe) -> dict[str, Any]:
    """Its settings as a form that nobody touched would send them: lists in the form's order."""
    given, _ = read_settings(
        written(recipe.settings()),
        call_types=_call_keys(),
        layouts=dict(layouts_named(recipe)),
        order_of_kinds=kinds_of(recipe),
    )
    return given


def _call_keys() -> list[str]:
    """Call types by name; one that is retired may go on being named."""
    return list(CallType.objects.order_by("name").values_list("slug", flat=True))


def _refuse_retired(recipe: Recipe) -> None:
    if recipe.retired_on:
        raise RecipeRefusedError(
            f"{recipe.name} is retired since {recipe.retired_on:%F}. Bring it back first."
        )


def layouts_named(recipe: Recipe | None) -> list[tuple[str, str]]:
    """Keys and names of the layouts that a recipe may be tied to, and of the one that it is."""
    own = Q(slug=recipe.layout_key if recipe else "")
    rows = Layout.objects.filter(Q(pk__in=layouts_in_force()) | own).order_by("name")
    return list(rows.values_list("slug", "name"))


def _read(typed: Typed, like: Recipe | None, now: datetime) -> dict[str, Any]:
    """The settings that were written; raises `RecipeRefusedError` with what is wrong of them."""
    given, faults = read_settings(
        typed,
        call_types=_call_keys(),
        layouts=dict(layouts_named(like)),
        order_of_kinds=kinds_of(like),
    )
    if not faults and (key := layout_named(given["layout_rule"])):
        row = RecipeVersion(**given)
        words = unserved(row, key, slug=like.slug if like else "sample", now=now)
        faults |= {"layout_rule": words} if words else {}
    if faults:
        count = len(faults)
        one = "One setting is not accepted."
        raise RecipeRefusedError(
            one if count == 1 else f"{count} settings are not accepted.", faults
        )
    return given


def kinds_of(recipe: Recipe | None) -> list[str]:
    """The kinds of a recipe in its order; none where there is none, or none that can be read."""
    try:
        return [kind for kind, _ in read_kinds(recipe.kinds)] if recipe else []
    except CannotApplyError:
        return []


def _told(recipe: Recipe) -> dict[str, Any]:
    return {name: value for name, value in recipe.settings().items() if name not in _NOT_TOLD}


def _free_slug(name: str) -> str:
    """A key for addresses from a name, with a number where it is taken."""
    first = slugify(name)[:SLUG_LENGTH].strip("-") or "recipe"
    taken = set(Recipe.objects.filter(slug__startswith=first).values_list("slug", flat=True))
    taken |= RESERVED
    slug, number = first, 1
    while slug in taken:
        number += 1
        slug = f"{first}-{number}"
    return slug
