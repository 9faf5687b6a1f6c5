"""What each role sees first, and the pages that join rooms."""

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.boards.hire import hire_board, open_run
from drills.boards.officers import most_missed, trainees_of
from drills.boards.records import misses_of
from drills.competency.reports import cohort_facts
from drills.engine.recipes import CannotApplyError, refuse_unbuilt
from drills.people.access import Request, closed_while_assessed, require_role, visible_person
from drills.people.models import Person, Role
from drills.rigs.models import Absence, Layout
from drills.rigs.reports import todays_rig
from drills.runs.models import Run
from drills.runs.reports import with_tallies
from drills.scenarios.models import Recipe

RUNS_SHOWN = 10
DUTIES: tuple[tuple[tuple[str, ...], str, str], ...] = (
    ((Role.FTO,), "My people", "boards:fto"),
    ((Role.EDUCATOR,), "Most missed", "boards:educator"),
    ((Role.KEEPER, Role.ADMIN), "Rigs and layouts", "rigs:index"),
    ((Role.KEEPER, Role.ADMIN), "Import a layout", "rigs:import"),
    ((Role.KEEPER, Role.ADMIN), "Not in its place", "rigs:absences"),
    ((Role.DIRECTOR,), "Layouts and what they carry", "rigs:index"),
)


@require_GET
def home(request: Request) -> HttpResponse:
    """Send each person to the page of their role."""
    for role, page in (
        (Role.EDUCATOR, "boards:educator"),
        (Role.FTO, "boards:fto"),
        (Role.KEEPER, "rigs:index"),
    ):
        if request.user.holds(role):
            return redirect(page)
    return redirect("boards:hire")


@require_GET
def hire(request: Request) -> HttpResponse:
    """Today's rig, one next step, and the rig shaded by what the person knows."""
    board = hire_board(request.user, now=timezone.now())
    return render(request, "boards/hire.html", {"board": board, "duties": duties(request.user)})


@require_GET
def drills(request: Request) -> HttpResponse:
    """The drills that can be taken now, and one's own runs."""
    ready, waiting = [], []
    for recipe in Recipe.objects.all():
        try:
            refuse_unbuilt(recipe.spec)
        except CannotApplyError as error:
            waiting.append((recipe, str(error).partition(": ")[2]))
        else:
            ready.append(recipe)
    runs = Run.objects.filter(person=request.user).select_related("drill__recipe", "rig")
    context = {
        "rig": todays_rig(request.user),
        "open_run": open_run(request.user),
        "ready": ready,
        "waiting": waiting,
        "layouts": Layout.objects.filter(revisions__state="published"),
        "runs": with_tallies(runs[:RUNS_SHOWN]),
    }
    return render(request, "boards/drills.html", context)


@require_GET
def fto(request: Request) -> HttpResponse:
    """The people paired with an FTO."""
    closed_while_assessed(request.user)
    person = require_role(request.user, Role.FTO)
    rows = trainees_of(person, now=timezone.now())
    absences = Absence.objects.open().select_related("rig", "item", "place")
    return render(request, "boards/fto.html", {"rows": rows, "absences": absences[:RUNS_SHOWN]})


@require_GET
def educator(request: Request) -> HttpResponse:
    """What everybody misses, by layout."""
    closed_while_assessed(request.user)
    require_role(request.user, Role.EDUCATOR)
    layouts = list(Layout.objects.filter(revisions__state="published"))
    answers = {each.pk: _first_answers(each) for each in layouts}
    chosen = next((each for each in layouts if each.slug == request.GET.get("layout")), None)
    chosen = chosen or max(layouts, key=lambda each: answers[each.pk], default=None)
    revision = chosen.published if chosen else None
    context = {
        "layouts": [(each, answers[each.pk]) for each in layouts],
        "chosen": chosen,
        "revision": revision,
        "rows": most_missed(revision, now=timezone.now()) if revision else [],
    }
    return render(request, "boards/educator.html", context)


@require_GET
def person(request: Request, employee_number: str) -> HttpResponse:
    """What one person still misses on each layout they were asked about, and their runs."""
    closed_while_assessed(request.user)
    seen = visible_person(request.user, employee_number)
    runs = Run.objects.filter(person=seen).select_related("drill__recipe", "rig")
    context = {
        "seen": seen,
        "rig": todays_rig(seen),
        "layouts": misses_of(seen, viewer=request.user, now=timezone.now()),
        "runs": with_tallies(runs[:RUNS_SHOWN]),
    }
    return render(request, "boards/person.html", context)


def duties(person: Person) -> list[tuple[str, str]]:
    """What a person can do here beside being crew: words and the address, by their roles."""
    return [(words, address) for roles, words, address in DUTIES if person.holds(*roles)]


def _first_answers(layout: Layout) -> int:
    facts = cohort_facts(layout, now=timezone.now())
    return sum(each.estimate.first_answers for each in facts)
