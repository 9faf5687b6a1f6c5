"""Telling the keeper that something asked about was not where the layout says."""

from datetime import datetime

from django.db import transaction
from django.db.models import Q

from drills.engine.asking import is_held
from drills.engine.moves import OVER
from drills.engine.prompts import bag_asked
from drills.engine.recipes import PLACE_KINDS, PLACELESS_KINDS
from drills.people.models import Person
from drills.rigs.actions import report_absence
from drills.runs.models import PresentationState, Run
from drills.scenarios.models import DrillPrompt
from drills.scenarios.reading import layout_asked


class SettledSinceError(ValueError):
    """What was reported was answered, or told of the rig, after it was asked; the text says so."""


@transaction.atomic
def report_afterwards(run: Run, *, token: str, by: Person, now: datetime) -> str:
    """From the debrief of a practice run: tell the keeper of one thing that was asked about.

    Marks stand, since nothing is asked in its place; what the rig made wrong is contested. Gives
    the name of what was reported, empty when nothing was: the run is over on another revision
    than the rig rides now, or that was no place asked about. Raises `SettledSinceError`.
    """
    if not may_report_afterwards(run):
        return ""
    over = run.presentations.exclude(state=PresentationState.OPEN).exclude(prompt=None)
    presentation = over.select_related("prompt").filter(token=token).first()
    if presentation is None or presentation.prompt is None:
        return ""
    if presentation.prompt.kind in PLACELESS_KINDS:
        return ""
    prompt = presentation.prompt
    settled = _settled_since(run, presentation.served_at)
    if is_held(layout_asked(run.drill), prompt.kind, prompt.subject, settled):
        raise SettledSinceError(
            f"{prompt.name}: the keeper has looked since this run asked for it, so nothing was "
            "reported. If it is not where drills ask it now, report it from the next one."
        )
    tell_keeper(run, prompt, by=by, now=now)
    return prompt.name


def may_report_afterwards(run: Run) -> bool:
    """Whether what was asked in the run can still be told of its rig."""
    if run.rig is None or not run.is_practice or run.state not in OVER:
        return False
    return run.rig.revision_id == run.drill.revision_id


def _settled_since(run: Run, moment: datetime) -> frozenset[tuple[str, str]]:
    """What was answered of the rig of a run since, or told of it, as pairs for `is_held`."""
    if run.rig is None:
        return frozenset()
    answered = run.rig.absences.filter(answered_at__gte=moment)
    pairs = set(answered.values_list("item__key", "place__key"))
    told = run.rig.differences.filter(Q(since__gte=moment) | Q(ended_at__gte=moment))
    for thing, *places in told.values_list("item__key", "place__key", "here__key"):
        pairs |= {(thing, place) for place in ("", *places)}
    return frozenset((thing or "", place or "") for thing, place in pairs)


def tell_keeper(run: Run, prompt: DrillPrompt, *, by: Person, now: datetime) -> int:
    """How many reports the keeper gets: one of a thing, however many places it has, none without
    a rig or where one waits."""
    if run.rig is None:
        return 0
    codes, thing = _reported(prompt)
    reported = report_absence(
        codes,
        thing=thing,
        rig=run.rig,
        revision=run.drill.revision,
        by=by,
        now=now,
    )
    return len(reported)


def _reported(prompt: DrillPrompt) -> tuple[list[str], str]:
    """The places and the thing that a report is about; of a bag or a place it is that alone."""
    bag = bag_asked(prompt.subject)
    if prompt.kind in PLACE_KINDS and not bag:
        return prompt.answer, prompt.subject
    return [bag or prompt.subject], ""
