"""What a recipe asks, how hard it is, and what it should take: for everybody who may take it."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from drills.engine.knobs.page import rows_for
from drills.engine.layout import FACE_NAMES
from drills.engine.recipes import (
    AS_A_CALL_RUNS,
    NUMBER_KINDS,
    CannotApplyError,
    RecipeSpec,
)
from drills.engine.standards import in_words
from drills.engine.targets import TARGETS
from drills.people.access import Request
from drills.rigs.models import Layout
from drills.scenarios.access import (
    may_change,
    may_start_from,
    recipe_for_reader,
    version_for_reader,
)
from drills.scenarios.models import CallType, Named, Recipe, RecipeVersion


@require_GET
def recipe(request: Request, slug: str) -> HttpResponse:
    """One recipe; nothing on its page says what the answer of any prompt is."""
    return page_of(request, recipe_for_reader(request.user, slug))


@require_GET
def version(request: Request, slug: str, number: int) -> HttpResponse:
    """One recipe as a version had it, for who wants to know what a drill was made from."""
    return page_of(request, version_for_reader(request.user, slug, number))


def _layout_of(found: Recipe | RecipeVersion) -> str:
    """What the one layout is called that it is drilled on; by its key, where that is gone."""
    named = Layout.objects.filter(slug=found.layout_key).values_list("name", flat=True)
    return named.first() or found.layout_key


def page_of(request: Request, found: Recipe | RecipeVersion, *, fault: str = "") -> HttpResponse:
    """The page of a recipe or a version of it; `fault` is why a change of its state was refused."""
    now = found if isinstance(found, Recipe) else found.recipe
    context: dict[str, Any] = {
        "recipe": found,
        "now": now,
        "asks_for": in_words(found.standard),
        "refused": fault,
        "versions": now.versions.exclude(version=now.version).select_related("changed_by"),
        "may_build": may_start_from(request.user, now),
        "named": Named.objects.filter(recipe=now).prefetch_related("people").first(),
        "layout": _layout_of(found),
        "may_change": may_change(request.user, now),
    }
    try:
        spec = found.spec
    except CannotApplyError as error:
        context["fault"] = str(error)
    else:
        context |= {
            "asks": [(kind, count, TARGETS.get(kind)) for kind, count in spec.kinds],
            "knobs": rows_for([kind for kind, _ in spec.kinds]),
            "goes": _goes(spec),
            "is_dosed": any(kind in NUMBER_KINDS for kind, _ in spec.kinds),
            "types": CallType.objects.filter(slug__in=spec.call_types),
            "faces": [FACE_NAMES.get(each, each) for each in spec.faces],
        }
    return render(request, "scenarios/recipe.html", context, status=422 if fault else 200)


def _goes(spec: RecipeSpec) -> str:
    """In which order its prompts come, in words."""
    if spec.order == AS_A_CALL_RUNS:
        return "as a call runs: all of one call"
    if spec.draws_at_random:
        share = (
            f", {round(spec.probes_share * 100)} in 100 a probe"
            if spec.is_mixed and spec.probes_share
            else ""
        )
        return f"{spec.order}, drawn by what may not be known{share}"
    return f"{spec.order}; the knobs of finding things move nothing here"
