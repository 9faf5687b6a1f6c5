"""Making drills."""

from collections.abc import Collection, Mapping
from datetime import datetime

from django.db import transaction

from drills.engine.generation import plan_drill
from drills.rigs.models import Revision
from drills.rigs.reading import layout_of
from drills.scenarios.models import Drill, DrillPrompt, Recipe


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
    plan = plan_drill(layout_of(revision), recipe.spec, seed=seed, weights=weights, held=held)
    drill = Drill.objects.create(
        recipe=recipe,
        recipe_version=recipe.version,
        revision=revision,
        seed=seed,
        weights=dict(weights),
        held=sorted(held),
        varies=plan.varies,
        made_at=now,
        **recipe.terms(),
    )
    DrillPrompt.objects.bulk_create(
        DrillPrompt.from_engine(
            prompt, drill=drill, position=position, is_spare=position >= len(plan.prompts)
        )
        for position, prompt in enumerate((*plan.prompts, *plan.spares))
    )
    return drill
