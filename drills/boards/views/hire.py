"""The start page, the new hire's page, and the drills that can be taken."""

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.boards.hire import hire_board, unfinished
from drills.boards.listing import folds_of
from drills.boards.raised import drill_raised, phase_of
from drills.engine.recipes import CannotApplyError, refuse_unbuilt
from drills.formulary.waiting import set_anew, waits_for
from drills.people.access import Request
from drills.people.models import Person, Role
from drills.rigs.reports import heard_by, layouts_in_force, todays_rig
from drills.runs.models import Run
from drills.runs.reports import with_minutes
from drills.runs.steps import not_passed_before
from drills.scenarios.access import BUILDERS
from drills.scenarios.models import Recipe

RUNS_SHOWN = 10
DUTIES: tuple[tuple[tuple[str, ...], str, str], ...] = (
    ((Role.FTO,), "My people", "boards:fto"),
    ((Role.EDUCATOR,), "Most missed", "boards:educator"),
    ((Role.EDUCATOR, Role.ADMIN), "Phases and sign-offs", "runs:phases"),
    ((Role.KEEPER, Role.ADMIN), "Rigs and layouts", "rigs:index"),
    ((Role.KEEPER, Role.ADMIN), "Import a layout", "rigs:import"),
    ((Role.KEEPER, Role.ADMIN), "Not where the layout says", "rigs:absences"),
    ((Role.DIRECTOR,), "Formulary", "formulary:index"),
    ((Role.DIRECTOR,), "Layouts and what they carry", "rigs:index"),
    ((Role.ADMIN,), "Roster", "boards:roster"),
)


@require_GET
def home(request: Request) -> HttpResponse:
    """Send each person to the page of their role."""
    for role, page in (
        (Role.EDUCATOR, "boards:educator"),
        (Role.FTO, "boards:fto"),
        (Role.KEEPER, "rigs:index"),
        (Role.DIRECTOR, "formulary:index"),
        (Role.ADMIN, "boards:roster"),
    ):
        if request.user.holds(role):
            return redirect(page)
    return redirect("boards:hire")


@require_GET
def hire(request: Request) -> HttpResponse:
    """Today's rig, one next step, and the rig shaded by what the person knows."""
    now = timezone.now()
    board = hire_board(request.user, now=now)
    context = {
        "board": board,
        "raised": drill_raised(request.user, board.rig, now=now),
        "spell": phase_of(request.user),
        "duties": duties(request.user),
        "heard": heard_by(request.user, now=now),
        "waits": waits_for(request.user),
        "set_anew": set_anew(request.user),
    }
    return render(request, "boards/hire.html", context)


@require_GET
def drills(request: Request) -> HttpResponse:
    """The drills that can be taken now, and one's own runs."""
    ready, waiting, before = [], [], not_passed_before(request.user)
    for recipe in Recipe.objects.open_to(request.user):
        try:
            refuse_unbuilt(recipe.spec)
        except CannotApplyError as error:
            waiting.append((recipe, str(error).partition(": ")[2]))
        else:
            ready.append((recipe, before.get(recipe.slug, "")))
    runs = Run.objects.that_tell(request.user).select_related("drill__recipe", "rig")
    rig = todays_rig(request.user)
    context = {
        "rig": rig,
        "unfinished": unfinished(request.user, rig),
        "may_build": request.user.holds(*BUILDERS),
        "ready": len(ready),
        "folds": folds_of(ready, sent_to=request.GET.get("at", "")),
        "waiting": waiting,
        "layouts": layouts_in_force(),
        "runs": with_minutes(runs[:RUNS_SHOWN]),
    }
    return render(request, "boards/drills.html", context)


def duties(person: Person) -> list[tuple[str, str]]:
    """What a person can do here beside being crew: words and the address, by their roles."""
    return [(words, address) for roles, words, address in DUTIES if person.holds(*roles)]
