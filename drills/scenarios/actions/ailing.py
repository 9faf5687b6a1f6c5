"""Problems that come, change row by row, and go."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from drills.engine.callcheck import faults_of
from drills.engine.calls import CallWorld
from drills.engine.calls_workbook import Kept
from drills.engine.calls_workbook.problem_rows import (
    PROBLEM,
    PROBLEMS,
    judged_about,
    judged_problem,
    problem_cells,
)
from drills.engine.problemcheck import odd_in
from drills.engine.workbook.problems import Problem as Fault
from drills.engine.workbook.problems import quote
from drills.people.access import require_role
from drills.people.audit import record
from drills.people.models import Person
from drills.scenarios.access import EDITORS
from drills.scenarios.actions.calls import MEANWHILE, CallRefusedError, RowRefusedError
from drills.scenarios.ailments import problem_mark, problem_row, spoken_of
from drills.scenarios.kept import known
from drills.scenarios.models import Problem
from drills.scenarios.reading import call_type_of, call_world, problem_of


@transaction.atomic
def add_problem(cells: Mapping[str, str], *, like: Problem, by: Person, now: datetime) -> Problem:
    """A new problem that looks as another does, to be changed from there.

    `cells` are its key, name and kind. Raises `RowRefusedError` with what is wrong by column.
    """
    require_role(by, *EDITORS)
    kept, faults = judged_about(cells)
    if faults := (*faults, *_taken(kept)):
        raise RowRefusedError(faults)
    problem = Problem.objects.create(**kept, states=like.states, vitals=like.vitals)
    record("add problem", problem.slug, by=by, now=now, after={"as": like.slug} | kept)
    return problem


def _taken(kept: Kept) -> Iterator[Fault]:
    if Problem.objects.filter(slug=kept["slug"]).exists():
        yield Fault(
            PROBLEMS, 0, PROBLEM, f"{quote(kept['slug'])}, which is there", "a key of its own"
        )
    if Problem.objects.filter(name__iexact=kept["name"]).exists():
        yield Fault(PROBLEMS, 0, "name", f"{quote(kept['name'])}, which is there", "its own name")


@transaction.atomic
def delete_problem(problem: Problem, *, by: Person, now: datetime) -> None:
    """Take a problem out for good; raises `CallRefusedError` where a call type speaks of it."""
    require_role(by, *EDITORS)
    problem = Problem.objects.select_for_update().get(pk=problem.pk)
    if why := spoken_of(problem):
        raise CallRefusedError(why)
    before = {"name": problem.name, "states": problem.states, "vitals": problem.vitals}
    record("delete problem", problem.slug, by=by, now=now, before=before)
    problem.delete()


@transaction.atomic
def change_problem(
    problem: Problem,
    sheet: str,
    at: int | None,
    cells: Mapping[str, str] | None,
    *,
    seen: str,
    by: Person,
    now: datetime,
) -> Problem:
    """Write one row of a problem; without a place it is a new one, without cells it is taken out.

    Call types that draw on it lose their review. Raises `RowRefusedError` with what is wrong by
    column, and `CallRefusedError` where the row was changed since, no body of the age has such
    signs, or a call type could no longer be drawn.
    """
    require_role(by, *EDITORS)
    problem = Problem.objects.select_for_update().get(pk=problem.pk)
    before = _as_seen(problem, sheet, at, seen)
    after = None if cells is None else written(sheet, cells, before)
    if before and after and problem_cells(sheet, before) == problem_cells(sheet, after):
        return problem
    _put_whole(problem, sheet, at, after)
    lost = problem.end_reviews(timezone.localdate(now))
    problem.save(update_fields=[sheet])
    told = problem_cells(sheet, after) if after else {"row": "gone"}
    record(
        "change problem",
        f"{problem.slug}, {sheet}" + ("" if at is None else f" {at + 1}"),
        by=by,
        now=now,
        before=before and problem_cells(sheet, before),
        after=told | {"review_lost": lost},
    )
    return problem


def _as_seen(problem: Problem, sheet: str, at: int | None, seen: str) -> Kept | None:
    """The row that was shown; raises `CallRefusedError` where it is another by now."""
    before = problem_row(problem, sheet, at)
    is_gone = at is not None and before is None
    if is_gone or problem_mark(problem, sheet, at) != seen:
        raise CallRefusedError(MEANWHILE)
    return before


def _put_whole(problem: Problem, sheet: str, at: int | None, row: Kept | None) -> None:
    """Put a row in; raises `CallRefusedError` for what is wrong then and was not before."""
    world = call_world()
    was = set(_wrong(problem, world))
    put(problem, sheet, at, row)
    if worse := [each for each in _wrong(problem, world) if each not in was]:
        raise CallRefusedError(worse[0])


def written(sheet: str, cells: Mapping[str, str], before: Kept | None) -> Kept:
    """The row as it would be kept; raises `RowRefusedError` with what is wrong by column."""
    kept, problems = judged_problem(sheet, cells, known())
    if problems:
        raise RowRefusedError(problems)
    # What a page does not ask for stays, unless it is of an age or a sign that went.
    told = set(problem_cells(sheet, before)) if before else set()
    rest = {key: value for key, value in (before or {}).items() if key not in told}
    if before and before.get("age_band") != kept.get("age_band"):
        rest = {}
    return rest | kept


def put(problem: Problem, sheet: str, at: int | None, row: Kept | None) -> None:
    """Put a row in its place, at the end, or out; nothing is saved."""
    rows = list(getattr(problem, sheet))
    if at is None:
        rows += [row] if row else []
    else:
        rows[at : at + 1] = [row] if row else []
    setattr(problem, sheet, rows)


def _wrong(problem: Problem, world: CallWorld) -> Iterator[str]:
    """What of a problem cannot be, and what keeps who draws on it from being drawn."""
    ailment = problem_of(problem)
    yield from odd_in(ailment, world.bands)
    here = replace(world, problems={**world.problems, problem.slug: ailment})
    for call in problem.drawn_on_by():
        for fault in faults_of(call_type_of(call, {}), here):
            yield f"{call.name}: {fault}"
