"""Who may see a run: loading it is the check."""

from copy import copy
from functools import lru_cache
from uuid import UUID

from django.db.models import Q, QuerySet
from django.http import Http404
from django.utils import timezone

from drills.people.access import closed_while_assessed, may_see, paired_with, require_role
from drills.people.models import Person, Role
from drills.people.prepared import Prepared
from drills.rigs.actions import MOTION_KEEPERS
from drills.runs.models import (
    Assignment,
    Contest,
    PresentationState,
    Run,
    Series,
    Sheet,
    SheetContest,
    SignOff,
)
from drills.runs.models.contests import ContestQuerySet
from drills.scenarios.models import Drill

# What a drill was drawn from is long, and asked for by nothing that follows.
_DRAWN_FROM = ("weights", "lately", "held")
_RUNS = Run.objects.select_related("drill__recipe", "drill__revision__layout", "rig").defer(
    *(f"drill__{name}" for name in _DRAWN_FROM)
)
_OWN = Prepared(
    lambda run, person: Run.objects.filter(pk=run, person=person).select_related("rig").order_by()
)


def own_run(person: Person, run_id: UUID) -> Run:
    """A run of the person's own, or not found.

    Practice tells answers, so it is closed while an assessed prompt is open.
    """
    found = _OWN(run=run_id, person=person.pk)
    if not found:
        raise Http404
    run = found[0]
    run.person, run.drill = person, copy(_kept_drill(run.pk, run.drill_id))
    if run.is_practice:
        closed_while_assessed(person)
    return run


@lru_cache(maxsize=256)
def _kept_drill(_run: UUID, drill: int) -> Drill:
    """The drill of a run with its outline, on its revision: frozen, so kept in memory.

    A number may come again, when what had it was taken back; that of a run never does.
    """
    rows = Drill.objects.select_related("revision__layout").defer(*_DRAWN_FROM)
    kept = rows.get(pk=drill)
    kept.outline  # noqa: B018  # read now, so that every copy has it
    return kept


def forget_drills() -> None:
    """Drop what is kept in memory; for tests, whose databases come and go."""
    _kept_drill.cache_clear()


def open_runs(person: Person, mode: str) -> QuerySet[Run]:
    """The person's runs of a mode with a prompt open, the newest first."""
    there = Run.objects.under_way(timezone.now()).filter(person=person, mode=mode)
    return there.filter(presentations__state=PresentationState.OPEN).distinct()


def readable_run(viewer: Person, run_id: UUID) -> Run:
    """A run the viewer may read: their own, one of a person paired with them, or any for an
    educator; else not found. Closed while an assessed prompt of the viewer's is open."""
    closed_while_assessed(viewer)
    rows = _RUNS.select_related("person", "assigned__assignment__given_by")
    run = _found(rows, run_id)
    if run.person is not None and may_see(viewer, run.person):
        return run
    raise Http404


def may_assign(person: Person) -> Person:
    """The person, if they may give drills to others; nobody may while they are assessed."""
    closed_while_assessed(person)
    return require_role(person, Role.FTO, Role.EDUCATOR)


def readable_assignments(viewer: Person) -> QuerySet[Assignment]:
    """Every assignment for an educator; of an FTO what they gave, or what those paired have."""
    found = Assignment.objects.select_related("recipe", "given_by")
    if viewer.holds(Role.EDUCATOR):
        return found
    paired = paired_with(viewer, now=timezone.now())
    return found.filter(Q(given_by=viewer) | Q(assigned__person__in=paired)).distinct()


def readable_assignment(viewer: Person, assignment_id: UUID) -> Assignment:
    """An assignment the viewer may read, else not found."""
    found = readable_assignments(may_assign(viewer)).filter(pk=assignment_id).first()
    if found is None:
        raise Http404
    return found


def readable_series(viewer: Person, series_id: UUID) -> Series:
    """A series the viewer may read since they may read days of it, else not found."""
    days = readable_assignments(may_assign(viewer)).filter(series=series_id)
    found = Series.objects.select_related("given_by").filter(pk=series_id).first()
    if found is None or not days.exists():
        raise Http404
    return found


def readable_contests(viewer: Person) -> ContestQuerySet:
    """Contests the viewer may decide: of people whose records they see, and never their own."""
    people = seen_people(may_assign(viewer))
    found = Contest.objects.filter(presentation__run__person__in=people)
    return found.exclude(presentation__run__person=viewer)


def readable_contest(viewer: Person, contest_id: int) -> Contest:
    """A contest the viewer may decide, else not found."""
    found: Contest | None = readable_contests(viewer).filter(pk=contest_id).first()
    if found is None:
        raise Http404
    return found


def readable_sheet_contests(viewer: Person) -> ContestQuerySet:
    """Contests of what others wrote at the open doors, of people whose records the viewer sees:
    never their own, and never of a sheet that they kept."""
    found = SheetContest.objects.filter(sheet__person__in=seen_people(may_assign(viewer)))
    return found.exclude(sheet__person=viewer).exclude(sheet__officer=viewer)


def readable_sheet_contest(viewer: Person, contest_id: int) -> SheetContest:
    """A contest of a sheet the viewer may decide, else not found."""
    written = readable_sheet_contests(viewer)
    found: SheetContest | None = written.filter(pk=contest_id).first()
    if found is None:
        raise Http404
    return found


def contests_waiting(viewer: Person) -> int:
    """How many contests of either kind wait for the viewer to decide."""
    both = readable_contests(viewer), readable_sheet_contests(viewer)
    return sum(found.waiting().count() for found in both)


def own_closed_sheet(person: Person, sheet_id: UUID) -> Sheet:
    """A closed sheet of what was seen of the person themselves, else not found."""
    closed_while_assessed(person)
    found = _sheets().filter(pk=sheet_id, person=person).exclude(closed_at=None).first()
    if found is None:
        raise Http404
    return found


def kept_sheet(officer: Person, sheet_id: UUID) -> Sheet:
    """A sheet that the officer keeps, else not found."""
    found = _sheets().filter(pk=sheet_id, officer=may_assign(officer)).first()
    if found is None:
        raise Http404
    return found


def readable_sheet(viewer: Person, sheet_id: UUID) -> Sheet:
    """A sheet the viewer keeps, or one that is closed of a person whose records they see; their
    own among them."""
    closed_while_assessed(viewer)
    found = _sheets().filter(pk=sheet_id).first()
    if found is None:
        raise Http404
    is_kept = found.officer_id == viewer.pk and viewer.holds(Role.FTO, Role.EDUCATOR)
    if is_kept or (not found.is_open and found.person and may_see(viewer, found.person)):
        return found
    raise Http404


def signable_sheet(viewer: Person, sheet_id: UUID) -> Sheet:
    """A sheet that an officer may read, or not found; whether it can be signed is asked later."""
    return readable_sheet(may_assign(viewer), sheet_id)


def readable_sign_off(viewer: Person, number: int) -> tuple[SignOff, Person]:
    """A sign-off the viewer gave, or of a person whose records they see, and that person; else
    not found. Never one of their own."""
    seen = Q(person__in=seen_people(may_assign(viewer))) | Q(officer=viewer)
    rows = SignOff.objects.filter(seen).exclude(person=viewer)
    found = rows.select_related("person", "revision__layout").filter(pk=number).first()
    if found is None or found.person is None:
        raise Http404
    return found, found.person


def may_set_phases(person: Person) -> Person:
    """The person, if they may write the phases of the service and how long sign-offs stand."""
    closed_while_assessed(person)
    return require_role(person, Role.EDUCATOR, Role.ADMIN)


def may_set_motions(person: Person) -> Person:
    """The person, if the motion table is theirs to set."""
    closed_while_assessed(person)
    return require_role(person, *MOTION_KEEPERS)


def _sheets() -> QuerySet[Sheet]:
    return Sheet.objects.select_related("drill__revision__layout", "rig", "person", "officer")


def seen_people(viewer: Person) -> QuerySet[Person]:
    """Whose standing the viewer sees by name: everybody's for an educator, an FTO's paired ones."""
    if viewer.holds(Role.EDUCATOR):
        return Person.objects.all()
    return paired_with(viewer, now=timezone.now())


def named_people(viewer: Person) -> QuerySet[Person]:
    """Whose states of an assignment the viewer sees by name: those people's and their own."""
    return Person.objects.filter(Q(pk__in=seen_people(viewer)) | Q(pk=viewer.pk))


def _found(rows: QuerySet[Run], run_id: UUID) -> Run:
    try:
        return rows.get(pk=run_id)
    except Run.DoesNotExist:
        raise Http404 from None
