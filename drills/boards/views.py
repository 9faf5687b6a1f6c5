"""What each role sees first, and the pages that join rooms."""

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.boards.hire import current_misses, hire_board, open_run, words_of
from drills.boards.officers import most_missed, trainees_of
from drills.competency.reports import knowledge_of
from drills.engine.facts import facts_of
from drills.engine.recipes import CannotApplyError, refuse_unbuilt
from drills.people.access import Request, closed_while_assessed, require_role, visible_person
from drills.people.models import Role
from drills.rigs.models import Absence, Layout
from drills.rigs.reading import layout_of
from drills.rigs.reports import todays_rig
from drills.runs.models import Run
from drills.scenarios.models import Recipe

RUNS_SHOWN = 10


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
    return render(request, "boards/hire.html", {"board": board})


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
        "runs": runs[:RUNS_SHOWN],
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
    require_role(request.user, Role.EDUCATOR, Role.ADMIN)
    layouts = list(Layout.objects.filter(revisions__state="published"))
    chosen = next((each for each in layouts if each.slug == request.GET.get("layout")), None)
    chosen = chosen or next(iter(layouts), None)
    revision = chosen.published if chosen else None
    context = {
        "layouts": layouts,
        "chosen": chosen,
        "revision": revision,
        "rows": most_missed(revision, now=timezone.now()) if revision else [],
    }
    return render(request, "boards/educator.html", context)


@require_GET
def person(request: Request, employee_number: str) -> HttpResponse:
    """What one person still misses on the rig they ride, and their runs."""
    closed_while_assessed(request.user)
    seen = visible_person(request.user, employee_number)
    rig = todays_rig(seen)
    missed: tuple[str, ...] = ()
    if rig is not None:
        layout = layout_of(rig.revision)
        known = knowledge_of(seen, layout=rig.layout, now=timezone.now())
        missed = words_of(layout, current_misses(known, facts_of(layout)))
    runs = Run.objects.filter(person=seen).select_related("drill__recipe", "rig")
    context = {"seen": seen, "rig": rig, "missed": missed, "runs": runs[:RUNS_SHOWN]}
    return render(request, "boards/person.html", context)
