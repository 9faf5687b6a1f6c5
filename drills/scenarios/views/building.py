"""Recipes built on a page, with a sample drill beside them; versions, sharing and retiring."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from drills.engine.recipecheck import AUTO, Typed, layout_named, read_settings, written
from drills.people.access import Request
from drills.people.rendering import go_to, post_alone, wants_part
from drills.scenarios import actions
from drills.scenarios.access import (
    may_change,
    recipe_for_builder,
    recipe_to_start_from,
    recipes_for_builder,
    require_builder,
)
from drills.scenarios.actions.recipes import kinds_of, layouts_named
from drills.scenarios.forms import RecipeStateForm, SampleOnForm
from drills.scenarios.models import CallType, Mode, Recipe, RecipeVersion
from drills.scenarios.sampling import places_to_sample, sample
from drills.scenarios.setting_up import BLANK, Group, groups
from drills.scenarios.views.recipes import page_of

MOST_TYPED = 1000
# A form of these names asks for a sample alone.
_SAMPLES = ("tries", "another")
# What has no name yet can be sampled all the same.
UNSEEN, MOST_OF_A_NUMBER = {"name"}, 10


@require_GET
def recipes(request: Request) -> HttpResponse:
    """The recipes that somebody may give or change: their own, shared ones, and retired ones."""
    found = recipes_for_builder(request.user)
    rows = [(each, _kinds_told(each), may_change(request.user, each)) for each in found]
    context = {
        "own": [row for row in rows if not row[0].is_shared and not row[0].retired_on],
        "shared": [row for row in rows if row[0].is_shared and not row[0].retired_on],
        "retired": [row for row in rows if row[0].retired_on],
    }
    return render(request, "scenarios/recipes.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def add_recipe(request: Request) -> HttpResponse:
    """A recipe of one's own, which starts as another or as ten things to find."""
    require_builder(request.user)
    slug = request.GET.get("like", "") or request.POST.get("like", "")
    like = recipe_to_start_from(request.user, slug) if slug else None
    if request.method != "POST":
        typed = written(like.settings()) | {"name": [""]} if like else BLANK
        return _page(request, typed, like=like)
    if any(name in request.POST for name in _SAMPLES):
        return _page(request, _typed(request), like=like)
    by, now = request.user, timezone.now()
    try:
        made = actions.make_recipe(_typed(request), like=like, by=by, now=now)
    except actions.RecipeRefusedError as refused:
        return _page(request, _typed(request), like=like, refused=refused)
    messages.success(request, f"{made.name} is there, for you alone until you share it.")
    return go_to(request, reverse("scenarios:recipe", args=[made.slug]))


@require_http_methods(["GET", "HEAD", "POST"])
def change_recipe(request: Request, slug: str) -> HttpResponse:
    """The next version of a recipe; nothing that was typed is lost."""
    recipe = recipe_for_builder(request.user, slug)
    if request.method != "POST":
        return _page(request, written(recipe.settings()), recipe=recipe)
    if any(name in request.POST for name in _SAMPLES):
        return _page(request, _typed(request), recipe=recipe)
    before, seen = recipe.version, request.POST.get("seen", "")[:MOST_OF_A_NUMBER]
    by, now = request.user, timezone.now()
    try:
        changed = actions.change_recipe(recipe, _typed(request), seen=seen, by=by, now=now)
    except actions.RecipeRefusedError as refused:
        return _page(request, _typed(request), recipe=recipe, refused=refused)
    if changed.version == before:
        messages.info(request, f"{changed.name} is as it was, version {before}.")
    else:
        messages.success(request, f"{changed.name} is version {changed.version} now.")
    return go_to(request, reverse("scenarios:recipe", args=[slug]))


@post_alone
def recipe_state(request: Request, slug: str) -> HttpResponse:
    """Share a recipe, retire it, bring it back, or delete one that was never used."""
    recipe = recipe_for_builder(request.user, slug)
    form = RecipeStateForm(request.POST)
    if not form.is_valid():
        return page_of(request, recipe, fault="Say whether to share, retire, bring back or delete.")
    becomes, by, now = form.cleaned_data["becomes"], request.user, timezone.now()
    try:
        if becomes == RecipeStateForm.DELETED:
            actions.delete_recipe(recipe, by=by, now=now)
            messages.success(request, f"{recipe.name} is deleted.")
            return go_to(request, reverse("scenarios:recipes"))
        _DEEDS[becomes](recipe, by=by, now=now)
    except actions.RecipeRefusedError as refused:
        return page_of(request, recipe, fault=str(refused))
    messages.success(request, f"{recipe.name} is {becomes}.")
    return go_to(request, reverse("scenarios:recipe", args=[slug]))


_DEEDS: Mapping[str, Callable[..., Recipe]] = {
    RecipeStateForm.SHARED: actions.share_recipe,
    RecipeStateForm.RETIRED: actions.retire_recipe,
    RecipeStateForm.BACK: actions.restore_recipe,
}


def _kinds_told(recipe: Recipe) -> str:
    """What it asks, in a line."""
    counts = (part.partition(":") for part in recipe.kinds.split(";"))
    return ", ".join(
        f"{kind} {'all' if count == AUTO else count}" for kind, _, count in counts if kind
    )


def _worded(faults: Mapping[str, str], shown: Iterable[Group]) -> list[tuple[str, str]]:
    """What keeps a sample from being drawn, each with what its field is called."""
    labels = {each.setting.name: each.setting.label for of in shown for each in of.settings}
    return [(labels.get(name, "What it asks"), said) for name, said in faults.items()]


def _typed(request: Request) -> dict[str, list[str]]:
    return {
        name: [value[:MOST_TYPED] for value in request.POST.getlist(name)] for name in request.POST
    }


def _page(
    request: Request,
    typed: Typed,
    *,
    recipe: Recipe | None = None,
    like: Recipe | None = None,
    refused: actions.RecipeRefusedError | None = None,
) -> HttpResponse:
    """The form as it was written, what is wrong with it, and the sample that it gives."""
    layouts = layouts_named(recipe or like)
    calls = list(CallType.objects.order_by("name").values_list("slug", "name"))
    given, faults = read_settings(
        typed,
        call_types=dict(calls),
        layouts=dict(layouts),
        order_of_kinds=kinds_of(recipe or like),
    )
    is_read = not set(faults) - UNSEEN
    shown = groups(typed, getattr(refused, "faults", {}), calls, layouts)
    context = {
        "recipe": recipe,
        "like": like,
        "groups": shown,
        "fault": str(refused or ""),
        "seen": _seen(request, recipe, is_refused=refused is not None),
        "given": given,
        "unread": [] if is_read else _worded(faults, shown),
        **_sampled(request, recipe, given, is_read=is_read),
    }
    if wants_part(request) and not refused:
        return render(request, "scenarios/change_recipe.html#sample", context)
    status = 422 if refused else 200
    return render(request, "scenarios/change_recipe.html", context, status=status)


def _seen(request: Request, recipe: Recipe | None, *, is_refused: bool) -> str:
    """The version that the form is of: of one that was refused, the one that is there by now."""
    if recipe is None:
        return ""
    if is_refused:
        recipe.refresh_from_db()
        return str(recipe.version)
    return request.POST.get("seen", str(recipe.version))[:MOST_OF_A_NUMBER]


def _sampled(
    request: Request, recipe: Recipe | None, given: Mapping[str, Any], *, is_read: bool
) -> dict[str, Any]:
    """The sample that is asked for, where the settings could be read and there is a layout."""
    asked, places = SampleOnForm(request.POST), places_to_sample()
    tied = given.get("layout_rule", "")
    wanted = tied if layout_named(tied) else asked.wanted("on")
    named = (each for each in places if each.key == wanted)
    here = next(named, next(iter(places), None))
    context: dict[str, Any] = {
        "seed": asked.seed_wanted,
        "shows_answers": bool(asked.wanted("answers")),
        "places": places,
        "here": here,
    }
    if here and is_read:
        spec = RecipeVersion(**given).spec_as(recipe.slug if recipe else "sample")
        context["sample"] = sample(
            spec,
            here,
            seed=asked.seed_wanted,
            is_assessed=given["mode"] == Mode.ASSESSED,
            now=timezone.now(),
        )
    return context
