"""Starting a run."""

import secrets
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone

from drills.competency.asking import next_for
from drills.engine.recipes import CannotApplyError
from drills.people.models import Person
from drills.rigs.actions import held_pairs
from drills.rigs.models import Revision, Rig
from drills.rigs.own import own_of
from drills.rigs.reports import known_before
from drills.runs.actions.serving import withdraw_run
from drills.runs.assigned import Standing, to_do_with
from drills.runs.lately import lately_of
from drills.runs.models import Assigned, PresentationState, Run
from drills.scenarios.actions import make_drill
from drills.scenarios.models import Drill, Mode, Recipe, RecipeVersion
from drills.scenarios.needed import needed_on

_SEED_BITS = 62
# Whoever means to start anew within so long has answered something of the first. Ours, no source.
PRESSED_TWICE = timedelta(seconds=30)


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
    a rig, on a layout that was named, it does not, nor on another layout than it was given for.
    What was assigned is made from the version that was given, and one run of it is under way at a
    time: that is gone on with. `as_practice` asks for practice without limits, whatever the recipe
    is for, and counts for nothing that was assigned.
    Raises `CannotApplyError` when the recipe makes no drill on this revision, and where the person
    was not given a recipe that is retired, or not shared.
    """
    today, layout = timezone.localdate(now), revision.layout
    found = _to_do(recipe, person, today=today, layout=layout, is_ridden=rig is not None)
    if found is None:
        _refuse_closed(recipe, person, today)
    elif found.open_run and not as_practice:
        return found.open_run
    made_from = found.assigned.assignment.made_from if found else recipe
    drill = _drill_for(person, made_from, revision=revision, rig=rig, seed=seed, now=now)
    return Run.objects.create(
        person=person,
        drill=drill,
        rig=rig,
        assigned=found.assigned if found and not as_practice else None,
        mode=Mode.PRACTICE if as_practice else made_from.mode,
        started_at=now,
        is_timed=not as_practice,
        allowance=float(person.time_allowance),
        is_simulated=is_simulated,
    )


@transaction.atomic
def press_start(
    person: Person,
    *,
    recipe: Recipe,
    revision: Revision,
    rig: Rig | None,
    now: datetime,
    as_practice: bool = False,
) -> Run:
    """Start a run by a button: pressed twice, as on a slow line, it is one run.

    Of one drill a single run waits without an answer: another press takes the one before back, as
    where it is timed otherwise; what was assigned is gone on with. Raises what `start_run` raises.
    """
    Person.objects.select_for_update(of=("self",)).get(pk=person.pk)
    mode = Mode.PRACTICE if as_practice else recipe.mode
    there = Run.objects.under_way(now).filter(person=person, drill__recipe=recipe, rig=rig)
    waiting = there.filter(drill__revision=revision)
    for run in waiting.exclude(presentations__state=PresentationState.ANSWERED):
        is_same = run.mode == mode and run.is_timed is not as_practice
        if is_same and (run.assigned_id or run.started_at > now - PRESSED_TWICE):
            return run
        withdraw_run(run, now=now)
    return start_run(
        person, recipe=recipe, revision=revision, rig=rig, now=now, as_practice=as_practice
    )


def _drill_for(
    person: Person,
    made_from: Recipe | RecipeVersion,
    *,
    revision: Revision,
    rig: Rig | None,
    seed: int | None,
    now: datetime,
) -> Drill:
    """A drill made for a person, of what they miss."""
    asked = next_for(person, revision=revision, now=now, needed=needed_on(revision))
    lately = lately_of(person, layout=revision.layout, now=now)
    return make_drill(
        made_from,
        revision=revision,
        seed=secrets.randbits(_SEED_BITS) if seed is None else seed,
        weights=asked.weights,
        held=held_pairs(rig),
        differences=own_of(rig),
        now=now,
        since=known_before(person, revision) if made_from.spec.asks_what_moved else None,
        lately=replace(lately, again=asked.again),
    )


def _to_do(recipe: Recipe, person: Person, **where: Any) -> Standing | None:
    """What a run would count for, nobody else's to begin meanwhile: two presses of one button are
    one run of it."""
    found = to_do_with(recipe, person, **where)
    if found is None:
        return None
    Assigned.objects.select_for_update(of=("self",)).get(pk=found.assigned.pk)
    return to_do_with(recipe, person, **where)


def _refuse_closed(recipe: Recipe, person: Person, today: date) -> None:
    is_open = recipe.retired_on is None and recipe.is_for(person)
    if not is_open and not to_do_with(recipe, person, today=today):
        why = "is retired" if recipe.retired_on else "is not shared"
        raise CannotApplyError(f"{recipe.name} {why}, and you have none of it to do. Take another.")
