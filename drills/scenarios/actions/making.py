"""Making drills."""

from collections.abc import Collection, Mapping
from dataclasses import asdict, astuple
from datetime import datetime

from django.db import transaction

from drills.engine.callmaking import Material
from drills.engine.callplan import plan
from drills.engine.elsewhere import Elsewhere
from drills.engine.generation import DrillPlan
from drills.engine.lately import NOTHING, Lately
from drills.engine.layout import Layout
from drills.rigs.actions import motions_in_force
from drills.rigs.models import Revision
from drills.rigs.reading import layout_of
from drills.scenarios.models import Drill, DrillPrompt, Mode, Recipe, RecipeVersion
from drills.scenarios.reading import looked_to, material_of


def _material(
    recipe: Recipe | RecipeVersion, revision: Revision, layout: Layout, now: datetime
) -> Material | None:
    """What calls are made from, where any are."""
    if not recipe.spec.comes_from_calls:
        return None
    is_assessed = recipe.mode == Mode.ASSESSED
    return material_of(revision, now=now, is_assessed=is_assessed, layout=layout)


@transaction.atomic
def make_drill(
    recipe: Recipe | RecipeVersion,
    *,
    revision: Revision,
    seed: int,
    weights: Mapping[str, float],
    held: Collection[tuple[str, str]],
    now: datetime,
    differences: Collection[Elsewhere] = (),
    since: Revision | None = None,
    lately: Lately = NOTHING,
) -> Drill:
    """Freeze a drill with its spares; raises `CannotApplyError` when the recipe makes none.

    `differences` are those of the rig: what is asked, and what is right, is as it is there. `since`
    is the revision that was known before, for a recipe that asks what moved. What was had `lately`
    is asked where there is nothing else. The version of the recipe is kept with it.
    """
    spec = recipe.spec
    layout = layout_of(revision, differences)
    made = plan(
        layout,
        spec,
        seed=seed,
        material=_material(recipe, revision, layout, now),
        weights=weights,
        held=held,
        # What one rig has elsewhere did not come with the revision.
        before=layout_of(since, differences) if since else None,
        lately=lately,
        looked_to=looked_to(revision, layout, spec),
    )
    drill = Drill.objects.create(
        recipe=_kept(recipe),
        recipe_version=recipe.version,
        revision=revision,
        since=since,
        seed=seed,
        weights=dict(weights),
        held=sorted(held),
        differences=sorted(map(astuple, differences)),
        lately={name: sorted(marks) for name, marks in asdict(lately).items() if marks},
        motions=asdict(motions_in_force()),
        varies=made.varies,
        made_at=now,
        **recipe.terms(),
    )
    _freeze(made, drill)
    return drill


def _kept(recipe: Recipe | RecipeVersion) -> Recipe:
    """The recipe that a drill is made of, its version kept."""
    made_of = recipe if isinstance(recipe, Recipe) else recipe.recipe
    made_of.keep_version()
    return made_of


def _freeze(made: DrillPlan, drill: Drill) -> None:
    """The prompts of a drill in their order, and its spares after them."""
    DrillPrompt.objects.bulk_create(
        DrillPrompt.from_engine(
            prompt, drill=drill, position=position, is_spare=position >= len(made.prompts)
        )
        for position, prompt in enumerate((*made.prompts, *made.spares))
    )
