"""Making drills."""

from collections.abc import Collection, Mapping
from datetime import datetime

from django.db import transaction

from drills.engine.callplan import Material, plan
from drills.rigs.models import Revision
from drills.rigs.reading import layout_of
from drills.scenarios.models import Drill, DrillPrompt, Mode, Recipe
from drills.scenarios.reading import material_of


def _material(recipe: Recipe, revision: Revision, now: datetime) -> Material | None:
    if not recipe.spec.comes_from_calls:
        return None
    return material_of(revision, now=now, is_assessed=recipe.mode == Mode.ASSESSED)


@transaction.atomic
def make_drill(
    recipe: Recipe,
    *,
    revision: Revision,
    seed: int,
    weights: Mapping[str, float],
    held: Collection[tuple[str, str]],
    now: datetime,
) -> Drill:
    """Freeze a drill with its spares; raises `CannotApplyError` when the recipe makes none."""
    spec = recipe.spec
    made = plan(
        layout_of(revision),
        spec,
        seed=seed,
        material=_material(recipe, revision, now),
        weights=weights,
        held=held,
    )
    drill = Drill.objects.create(
        recipe=recipe,
        recipe_version=recipe.version,
        revision=revision,
        seed=seed,
        weights=dict(weights),
        held=sorted(held),
        varies=made.varies,
        made_at=now,
        **recipe.terms(),
    )
    DrillPrompt.objects.bulk_create(
        DrillPrompt.from_engine(
            prompt, drill=drill, position=position, is_spare=position >= len(made.prompts)
        )
        for position, prompt in enumerate((*made.prompts, *made.spares))
    )
    return drill
