"""Answering with a label: a scan shows that it was read, which alone is practice."""

from datetime import datetime

from django.db import transaction

from drills.people.models import Person
from drills.rigs.models import PlaceLabel
from drills.runs.actions.answering import AnswerError, NotOpenError, answer_prompt
from drills.runs.actions.serving import mark_open
from drills.runs.labelled import place_of_label
from drills.runs.models import Presentation, PresentationState, Run
from drills.scenarios.reading import layout_asked


@transaction.atomic
def answer_by_label(person: Person, label: PlaceLabel, *, now: datetime) -> Presentation:
    """Answer the one prompt of a person's that waits for a scan with the place of a label.

    Raises `NotOpenError` where none waits, and `AnswerError` for a label of another rig, or of a
    place that the layout of the drill does not have.
    """
    waiting = waiting_for_scan(person)
    if waiting is None:
        raise NotOpenError("No prompt of yours waits for a scan. Nothing was taken.")
    run = waiting.run
    if label.rig_id != run.rig_id:
        asked = run.rig.unit if run.rig else "that is gone"
        raise AnswerError(
            f"A label of rig {label.rig.unit} came in; this drill is on rig {asked}. Scan a label "
            "there."
        )
    place = place_of_label(label, layout_asked(run.drill))
    if place is None:
        raise AnswerError(
            "The label of a place came in that this layout does not have. Scan another, and tell "
            "your layout keeper."
        )
    tokens = [run.token_for(place.code)]
    answered = answer_prompt(
        run, token=waiting.token, tokens=tokens, claim=None, now=now, by_label=True
    )
    mark_open(run)
    return answered


def waiting_for_scan(person: Person) -> Presentation | None:
    """The prompt of a person's that waits for a scan; one alone ever does."""
    waiting = Presentation.objects.select_related("run__drill__recipe", "run__rig", "prompt")
    runs = Run.objects.filter(person=person, by_scan=True)
    return waiting.filter(run__in=runs, state=PresentationState.OPEN).last()


def last_scanned(person: Person) -> Run | None:
    """The newest run by scan of a person's, whatever became of it."""
    return Run.objects.filter(person=person, by_scan=True).order_by("started_at").last()
