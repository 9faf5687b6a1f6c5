"""After a run: the one thing that its person does next."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from drills.engine.recipes import CONTENTS, LOCATE, only
from drills.people.models import Person
from drills.rigs.reports import todays_rig
from drills.runs.assigned import to_do_with
from drills.runs.models import Presentation, Run
from drills.scenarios.models import Recipe

AGAIN, MISSED = "Again", "Drill these"
# A drill of more than is kept in mind from one debrief is none of these. Ours, no source.
MOST_ASKED = 12


@dataclass(frozen=True, slots=True)
class Onward:
    """What the button of a debrief starts, and why: a drill by its slug, or exactly the questions
    that a focus names."""

    label: str
    why: str
    recipe: str = ""
    asks: tuple[str, ...] = ()


def onward(
    run: Run,
    missed: Iterable[Presentation],
    *,
    falls_short: bool,
    step: tuple[str, Recipe] | None,
    now: datetime,
) -> Onward | None:
    """What is still to do of what was assigned; else the step that a series goes on with; else
    what was missed on the rig of today; nothing where none of it is left."""
    if run.person is None:
        return None
    if falls_short and (again := _assigned_still(run, run.person, now)):
        return again
    if step:
        word, drill = step
        return Onward(word, str(drill), drill.slug)
    return _asking(run, run.person, missed)


def _assigned_still(run: Run, person: Person, now: datetime) -> Onward | None:
    mine = to_do_with(run.drill.recipe, person, today=timezone.localdate(now))
    if mine is None or mine.assigned != run.assigned:
        return None
    due_on = mine.assigned.assignment.due_on
    return Onward(AGAIN, f"Due {due_on:%-d %b}", run.drill.recipe.slug)


def _asking(run: Run, person: Person, missed: Iterable[Presentation]) -> Onward | None:
    """The places that were missed, where the rig of today is as the one that was asked about."""
    places = (each.prompt for each in missed if each.prompt)
    names = [
        only(each.kind, each.subject, each.category)
        for each in places
        if each.kind in (LOCATE, CONTENTS)
    ]
    asks = tuple(dict.fromkeys(names))[:MOST_ASKED]
    rig = todays_rig(person) if asks else None
    if rig is None or rig.revision_id != run.drill.revision_id:
        return None
    return Onward(MISSED, f"{len(asks)} missed, on {rig}", asks=asks)
