"""Problems: the list, one with a sample of its patients, and one row of it at a time."""

from dataclasses import dataclass, replace
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from drills.engine.calls_workbook import Kept
from drills.engine.calls_workbook.problem_rows import SIGNS, WORDS, problem_cells
from drills.engine.problemcheck import odd_in
from drills.people.access import Request
from drills.people.rendering import go_to, page_or_part
from drills.scenarios import actions
from drills.scenarios.access import EDITORS, problem_for_editor, problem_for_reader, require_reader
from drills.scenarios.actions.ailing import put, written
from drills.scenarios.ailments import problem_mark, problem_row, sample_of, spoken_of
from drills.scenarios.fields import LISTS_LENGTH, PROBLEM_TITLES, filled, problem_fields
from drills.scenarios.forms import RowForm, SampleForm
from drills.scenarios.kept import known
from drills.scenarios.models import Problem
from drills.scenarios.reading import call_world, problem_of

MOST_TYPED = 4 * LISTS_LENGTH


@require_GET
def problems(request: Request) -> HttpResponse:
    """Every problem, with what of it cannot be."""
    require_reader(request.user)
    world = call_world()
    rows = [(each, odd_in(problem_of(each), world.bands)) for each in Problem.objects.all()]
    context = {"rows": rows, "is_editor": request.user.holds(*EDITORS)}
    return render(request, "scenarios/problems.html", context)


@require_GET
def problem(request: Request, slug: str) -> HttpResponse:
    """One problem; with a seed in the address another sample of its patients."""
    found = problem_for_reader(request.user, slug)
    seed = SampleForm(request.GET).wanted
    context = _told(found, seed) | {
        "states": found.states,
        "signs": [
            problem_cells(SIGNS, each) | {"word": WORDS.get(each["severity"], "")}
            for each in found.vitals
        ],
        "calls": found.drawn_on_by(),
        "is_editor": request.user.holds(*EDITORS),
        "spoken_of": spoken_of(found),
    }
    return page_or_part(request, "scenarios/problem.html", "sample", context)


def _told(found: Problem, seed: int) -> dict[str, Any]:
    world, ailment = call_world(), problem_of(found)
    return {
        "problem": found,
        "seed": seed,
        "patients": sample_of(ailment, world, seed),
        "odd": odd_in(ailment, world.bands),
    }


@dataclass(frozen=True, slots=True)
class Line:
    """The row that a page is of: `at` is where it stands in its sheet, None for a new one."""

    problem: Problem
    sheet: str
    at: int | None

    @property
    def kept(self) -> Kept | None:
        return problem_row(self.problem, self.sheet, self.at)


@require_http_methods(["GET", "HEAD", "POST"])
def problem_line(request: Request, slug: str, sheet: str, number: int) -> HttpResponse:
    """A row to change, the first being number 1: tried on a sample, kept, or taken out."""
    return _written(request, slug, sheet, number)


@require_http_methods(["GET", "HEAD", "POST"])
def add_problem_line(request: Request, slug: str, sheet: str) -> HttpResponse:
    """A new row, tried on a sample before it is kept."""
    return _written(request, slug, sheet, 0)


def _written(request: Request, slug: str, sheet: str, number: int) -> HttpResponse:
    line = _line(problem_for_editor(request.user, slug), sheet, number)
    if request.method != "POST":
        cells = problem_cells(sheet, line.kept) if line.kept else {}
        return _page(request, line, cells, shown=line.kept)
    typed = {
        each.name: request.POST.get(each.name, "")[:MOST_TYPED]
        for each in problem_fields(sheet, known())
    }
    try:
        if "tries" in request.POST:
            tried = written(sheet, typed, line.kept)
            return _page(request, line, typed, shown=tried, is_tried=True)
        _keep(request, line, typed)
    except actions.CallRefusedError as refused:
        return _page(request, line, typed, shown=line.kept, refused=refused)
    messages.success(request, f"{line.problem.name} is kept.")
    return go_to(request, f"{reverse('scenarios:problem', args=[slug])}#{sheet}")


def _line(found: Problem, sheet: str, number: int) -> Line:
    line = Line(found, sheet, number - 1 if number else None)
    if sheet not in PROBLEM_TITLES or (number and line.kept is None):
        raise Http404("There is no such row.")
    return line


def _keep(request: Request, line: Line, typed: dict[str, str]) -> None:
    """Write the row, or take it out; raises `CallRefusedError`."""
    form = RowForm(request.POST)
    seen = form.cleaned_data["seen"] if form.is_valid() else ""
    cells = None if line.at is not None and form.cleaned_data.get("removes") else typed
    by, now = request.user, timezone.now()
    actions.change_problem(line.problem, line.sheet, line.at, cells, seen=seen, by=by, now=now)


def _page(
    request: Request,
    line: Line,
    cells: dict[str, str],
    *,
    shown: Kept | None,
    is_tried: bool = False,
    refused: actions.CallRefusedError | None = None,
) -> HttpResponse:
    """The form with a sample beside it: as it is kept, or as it is tried."""
    found, sheet, at = line.problem, line.sheet, line.at
    found.refresh_from_db()
    mark = problem_mark(found, sheet, at)
    if is_tried:
        put(found, sheet, at, shown)
    told = _told(found, 1)
    if shown:
        told["patients"] = _of_row(found, shown)
    context = told | {
        "title": PROBLEM_TITLES[sheet],
        "reviewed": [each for each in found.drawn_on_by() if each.reviewed_by],
        "of": sheet,
        "number": None if at is None else at + 1,
        "fields": filled(problem_fields(sheet, known()), cells, getattr(refused, "faults", {})),
        "fault": str(refused or ""),
        "mark": mark,
        "is_tried": is_tried,
    }
    status = 422 if refused else 200
    return page_or_part(request, "scenarios/problem_line.html", "row", context, status=status)


def _of_row(found: Problem, row: dict[str, Any]) -> list[dict[str, Any]]:
    """Patients of the severity, and where the row is of one age of that age."""
    ailment, band = problem_of(found), row.get("age_band")
    states = [each for each in ailment.states if each.severity == row["severity"]]
    if band:
        states = [replace(each, age_bands=(band,)) for each in states if band in each.age_bands]
    else:
        states = [each for each in states if each.findings == row.get("findings")]
    world = call_world()
    return [
        patient
        for seed in range(1, 4)
        for patient in sample_of(replace(ailment, states=tuple(states)), world, seed)
    ]
