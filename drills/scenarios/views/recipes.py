"""What a recipe asks, how hard it is, and what it should take: for everybody who may take it."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from drills.engine.knobs.page import rows_for
from drills.engine.recipes import AS_A_CALL_RUNS, NUMBER_KINDS, CannotApplyError, RecipeSpec
from drills.engine.targets import TARGETS
from drills.people.access import Request, closed_while_assessed
from drills.scenarios.models import CallType, Recipe


@require_GET
def recipe(request: Request, slug: str) -> HttpResponse:
    """One recipe; nothing on its page says what the answer of any prompt is."""
    closed_while_assessed(request.user)
    found = get_object_or_404(Recipe, slug=slug)
    context: dict[str, Any] = {"recipe": found}
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
        }
    return render(request, "scenarios/recipe.html", context)


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
