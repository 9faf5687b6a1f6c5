"""How far each person is with what they were assigned."""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils import timezone

from drills.engine.cohort import FEWEST_PEOPLE
from drills.engine.standards import Result, shortfalls, uses_attempt
from drills.people.models import Person
from drills.rigs.models import Layout
from drills.runs.access import named_people
from drills.runs.models import Assigned, Assignment, Contest, Run, RunState, Verdict
from drills.runs.recipients import to_whom
from drills.runs.reports import minutes_spent, results_of
from drills.scenarios.models import Recipe

NOT_STARTED, UNDER_WAY, NOT_MET = "not started", "under way", "not met yet"
NONE_LEFT = "no attempt left"
MET, MET_LATE, EXCUSED, WITHDRAWN = "met", "met late", "excused", "withdrawn"
LEFT = "left the service"
OVERDUE = "overdue"
STATES = (NOT_STARTED, UNDER_WAY, NOT_MET, NONE_LEFT, MET, MET_LATE, EXCUSED, WITHDRAWN, LEFT)
SHOWN_AFTER = timedelta(days=7)
TO_DO = frozenset({NOT_STARTED, UNDER_WAY, NOT_MET})


@dataclass(frozen=True, slots=True)
class Attempt:
    """One finished run at an assignment, and what it falls short of; nothing when it is met.

    `minutes` are those it took its person. `contested` says what became of the contests of its
    marks, each word once.
    """

    run: Run
    result: Result
    shortfalls: tuple[str, ...]
    contested: tuple[str, ...] = ()
    minutes: int = 0


@dataclass(frozen=True, slots=True)
class Standing:
    """An assignment of one person: its state, every finished attempt, and the run to go on with.

    `used` are the attempts made, the one under way among them.
    """

    assigned: Assigned
    state: str
    is_overdue: bool
    attempts: tuple[Attempt, ...] = ()
    open_run: Run | None = None
    used: int = 0

    @property
    def allowed(self) -> int | None:
        """How many attempts there are; none where as many as it takes."""
        return self.assigned.assignment.attempts

    @property
    def is_to_do(self) -> bool:
        return self.state in TO_DO

    @property
    def shown(self) -> Attempt | None:
        """The attempt that the state speaks of: the first that met it, else the last judged one.

        Where every answer of each was voided, the last of those.
        """
        judged = [each for each in self.attempts if not each.result.is_voided]
        met = (each for each in judged if not each.shortfalls)
        last = judged or self.attempts
        return next(met, last[-1] if last else None)

    @property
    def sign(self) -> str:
        """Which of the marks stands beside the state."""
        if self.state in {MET, MET_LATE}:
            return "right"
        return "late" if self.is_overdue else ""


def standings_of(rows: Collection[Assigned], *, today: date) -> list[Standing]:
    """The standing of each row, in three queries however many there are, and in one of none."""
    if not rows:
        return []
    runs: dict[int, list[Run]] = {row.pk: [] for row in rows}
    found = Run.objects.filter(assigned__in=rows).select_related("drill__recipe", "rig", "person")
    for run in found.annotate(**_CONTESTED).order_by("started_at"):
        if run.assigned_id is not None:
            runs[run.assigned_id].append(run)
    made = [run for each in runs.values() for run in each]
    results, minutes = results_of(made), minutes_spent(made)
    return [_standing(row, runs[row.pk], results, minutes, today) for row in rows]


def assigned_to(person: Person, *, today: date) -> list[Standing]:
    """What a person has to do, the next due first; what is met or excused stays until the day."""
    return still_shown(standings_to(person, today=today), today=today)


def standings_to(person: Person, *, today: date) -> list[Standing]:
    """All that a person was ever given and that was not withdrawn, by the day it is due."""
    rows = rows_of_assignments().filter(person=person, assignment__withdrawn_at=None)
    return standings_of(rows.order_by("assignment__due_on", "pk"), today=today)


def still_shown(standings: Iterable[Standing], *, today: date) -> list[Standing]:
    """Those that are to do, and others until their day."""
    return [each for each in standings if each.is_to_do or each.assigned.assignment.due_on >= today]


def to_do_with(
    recipe: Recipe,
    person: Person,
    *,
    today: date,
    layout: Layout | None = None,
    is_ridden: bool = True,
) -> Standing | None:
    """What the person still has to do with a recipe, the first due of several.

    Where a layout is named, only what a run on that counts for: without the rig that is ridden,
    what was given for that layout alone.
    """
    same = [each for each in given_with(recipe, person, today=today) if each.is_to_do]
    counts = ((None, layout.pk) if is_ridden else (layout.pk,)) if layout else None
    on = (each for each in same if not counts or each.assigned.assignment.layout_id in counts)
    return next(on, None)


def attempt_of(run: Run) -> tuple[int, int] | None:
    """Which attempt a run under way is, and of how many; none where they are not numbered."""
    row = rows_of_assignments().filter(runs=run, assignment__attempts__isnull=False).first()
    if row is None or row.assignment.attempts is None:
        return None
    (found,) = standings_of([row], today=timezone.localdate())
    return found.used, row.assignment.attempts


def given_with(recipe: Recipe, person: Person, *, today: date) -> list[Standing]:
    """How the person stands with each time they were given a recipe, the next due first."""
    mine = assigned_to(person, today=today)
    return [each for each in mine if each.assigned.assignment.recipe_id == recipe.pk]


@dataclass(frozen=True, slots=True)
class Counts:
    """How many people are in each state, in words; of `hidden` ones their number alone is told."""

    states: list[tuple[str, int]]
    hidden: int

    @property
    def of(self) -> int:
        """How many there are in all whose states are told."""
        return sum(count for state, count in self.states if state != OVERDUE)

    @property
    def met(self) -> int:
        return sum(count for state, count in self.states if state in {MET, MET_LATE})


def counts_of(standings: Iterable[Standing], *, named: Collection[int]) -> Counts:
    """How many are in each state, as somebody may know it who sees the people `named` by name.

    The states of all others are counted in only where three or more of them are in the service,
    since of fewer one could tell whose they are.
    """
    own: list[Standing] = []
    others: list[Standing] = []
    for each in standings:
        (own if each.assigned.person_id in named else others).append(each)
    if len({each.assigned.person_id for each in others if each.assigned.person.is_active}) < (
        FEWEST_PEOPLE
    ):
        return Counts(_states_of(own), len({each.assigned.person_id for each in others}))
    return Counts(_states_of([*own, *others]), 0)


def _states_of(standings: Collection[Standing]) -> list[tuple[str, int]]:
    """In the order of the way, what is overdue last; states nobody is in are left out."""
    found = Counter(each.state for each in standings)
    found[OVERDUE] = sum(each.is_overdue for each in standings)
    return [(state, found[state]) for state in (*STATES, OVERDUE) if found[state]]


def as_listed(
    assignments: Iterable[Assignment], *, viewer: Person, today: date
) -> list[tuple[Assignment, Counts, str]]:
    """Assignments, each with how many people are in each state, and to whom it was given."""
    assignments = list(assignments)
    whom = to_whom(assignments, viewer=viewer)
    rows = rows_of_assignments().filter(assignment__in=assignments)
    named = set(named_people(viewer).values_list("pk", flat=True))
    found: dict[UUID, list[Standing]] = defaultdict(list)
    for each in standings_of(list(rows), today=today):
        found[each.assigned.assignment_id].append(each)
    return [(each, counts_of(found[each.pk], named=named), whom[each.pk]) for each in assignments]


def who_has(
    recipe: Recipe,
    people: Collection[Person],
    *,
    due_on: date,
    layout: Layout | None = None,
    today: date,
) -> list[Person]:
    """Who of some people has the recipe to do by that very day already, on that layout if any."""
    same = rows_of_assignments().filter(
        on_layout(layout), assignment__recipe=recipe, assignment__due_on=due_on, person__in=people
    )
    return list({row.assigned.person for row in standings_of(same, today=today) if row.is_to_do})


def due_besides(
    recipe: Recipe,
    people: Collection[Person],
    *,
    due_on: date,
    layout: Layout | None = None,
    today: date,
) -> list[Assigned]:
    """The rows by which some people have the recipe to do by any other day, the next due first."""
    rows = rows_of_assignments().filter(
        on_layout(layout), assignment__recipe=recipe, person__in=people
    )
    found = standings_of(rows.exclude(assignment__due_on=due_on), today=today)
    to_do = [each.assigned for each in found if each.is_to_do]
    return sorted(to_do, key=lambda row: (row.assignment.due_on, row.person.employee_number))


def on_layout(layout: Layout | None) -> Q:
    """Which rows a run on a layout counts for; all of them where none is named."""
    named = Q(assignment__layout=None) | Q(assignment__layout=layout)
    return named if layout else Q()


def running(assignments: QuerySet[Assignment], *, today: date) -> QuerySet[Assignment]:
    """Those not withdrawn whose day is to come or not a week ago, the next due first."""
    return assignments.filter(withdrawn_at=None, due_on__gte=today - SHOWN_AFTER)


def rows_of_assignments() -> QuerySet[Assigned]:
    """Rows with all that a standing shows."""
    return Assigned.objects.select_related(
        "assignment__recipe",
        "assignment__given_by",
        "assignment__layout",
        "assignment__series__given_by",
        "person",
        "excused_by",
    )


# Whether a run has contests in each state, by the word for it.
_CONTESTED = {
    word: Exists(Contest.objects.filter(presentation__run=OuterRef("pk"), verdict=verdict))
    for word, verdict in (("waiting", ""), ("upheld", Verdict.UPHELD), ("voided", Verdict.VOIDED))
}


def _contested(run: Run) -> tuple[str, ...]:
    return tuple(word for word in _CONTESTED if getattr(run, word))


def _standing(
    row: Assigned,
    runs: Sequence[Run],
    results: Mapping[UUID, Result],
    minutes: Mapping[UUID, int],
    today: date,
) -> Standing:
    standard, due = row.assignment.standard, row.assignment.due_on
    attempts = tuple(
        Attempt(
            run,
            results[run.pk],
            shortfalls(standard, results[run.pk]),
            _contested(run),
            minutes[run.pk],
        )
        for run in runs
        if run.state == RunState.FINISHED
    )
    open_run = next((run for run in runs if not run.is_over), None)
    used = sum(_uses_attempt(run, results[run.pk]) for run in runs)
    state = _state(row, attempts, open_run, used)
    return Standing(row, state, state in TO_DO and due < today, attempts, open_run, used)


def _uses_attempt(run: Run, result: Result) -> bool:
    """Whether a run counts among the attempts: one under way does from its start."""
    return not run.is_over or uses_attempt(result, is_finished=run.state == RunState.FINISHED)


def _state(row: Assigned, attempts: Sequence[Attempt], open_run: Run | None, used: int) -> str:
    """Met once is met, whatever comes after; all else matters only until then.

    An attempt of which every answer was voided neither meets nor fails: it is as if never made.
    """
    met = [each.run.finished_at for each in attempts if not each.shortfalls]
    if met:
        first = min(filter(None, met))
        return MET if timezone.localdate(first) <= row.assignment.due_on else MET_LATE
    others = {
        WITHDRAWN: row.assignment.withdrawn_at is not None,
        EXCUSED: row.excused_at is not None,
        LEFT: not row.person.is_active,
        UNDER_WAY: open_run is not None,
        NONE_LEFT: row.assignment.attempts is not None and used >= row.assignment.attempts,
        NOT_MET: used > 0 or any(not each.result.is_voided for each in attempts),
    }
    return next((state for state, holds in others.items() if holds), NOT_STARTED)
