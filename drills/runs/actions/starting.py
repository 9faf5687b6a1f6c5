"""Starting a run."""

import secrets
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from drills.competency.reports import knowledge_of
from drills.people.models import Person
from drills.rigs.actions import held_pairs
from drills.rigs.models import Revision, Rig
from drills.rigs.own import own_of
from drills.rigs.reports import known_before
from drills.runs.assigned import to_do_with
from drills.runs.lately import lately_of
from drills.runs.models import Run
from drills.scenarios.actions import make_drill
from drills.scenarios.models import Mode, Recipe

_SEED_BITS = 62


@transaction.atomic
def start_run(
    person: Person,
    *,
    recipe: Recipe,
    revision: Revision,
    rig: Rig | None,
    now: datetime,
    seed: int | None = None,
    is_simulated: bool = False,
    as_practice: bool = False,
) -> Run:
    """Make a drill for a person and open a run of it.

    The seed is made here, so that nobody chooses their questions. Where the recipe was assigned to
    the person and is not met yet, a run on a rig counts for that, whichever way it began; without
    a rig, on a layout that was named, it does not, nor on another layout than it was given for;
    nor does practice of what is assessed, which `as_practice` asks for.
    Raises `CannotApplyError` when the recipe makes no drill on this revision.
    """
    today, layout = timezone.localdate(now), revision.layout
    weights = knowledge_of(person, layout=layout, now=now).weights()
    drill = make_drill(
        recipe,
        revision=revision,
        seed=secrets.randbits(_SEED_BITS) if seed is None else seed,
        weights=weights,
        held=held_pairs(rig),
        differences=own_of(rig),
        now=now,
        since=known_before(person, revision) if recipe.spec.asks_what_moved else None,
        lately=lately_of(person, layout=layout, now=now),
    )
    mode = Mode.PRACTICE if as_practice else recipe.mode
    counts = rig is not None and mode == recipe.mode
    return Run.objects.create(
        person=person,
        drill=drill,
        rig=rig,
        assigned=to_do_with(recipe, person, today=today, layout=layout) if counts else None,
        mode=mode,
        started_at=now,
        allowance=float(person.time_allowance),
        is_simulated=is_simulated,
    )
