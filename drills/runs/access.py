"""Who may see a run: loading it is the check."""

from uuid import UUID

from django.http import Http404

from drills.people.access import closed_while_assessed, may_see
from drills.people.models import Person
from drills.runs.models import Run


def own_run(person: Person, run_id: UUID) -> Run:
    """A run of the person's own, or not found.

    Practice tells answers, so it is closed while an assessed prompt is open.
    """
    run = _load(run_id, person=person)
    if run.is_practice:
        closed_while_assessed(person)
    return run


def readable_run(viewer: Person, run_id: UUID) -> Run:
    """A run the viewer may read: their own, one of a person paired with them, or any for an
    educator; else not found. Closed while an assessed prompt of the viewer's is open."""
    closed_while_assessed(viewer)
    run = _load(run_id)
    if run.person is not None and may_see(viewer, run.person):
        return run
    raise Http404


def _load(run_id: UUID, **conditions: Person) -> Run:
    run = (
        Run.objects.select_related("drill__recipe", "drill__revision__layout", "rig", "person")
        .filter(pk=run_id, **conditions)
        .first()
    )
    if run is None:
        raise Http404
    return run
