"""Drills of exactly what a board names: started by the person, or assigned to one or two."""

from collections.abc import Sequence

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse
from django.urls import reverse
from django.utils import timezone

from drills.boards.choosing import ChoiceForm
from drills.boards.exactly import DRILL_FIRST, LOOK_AT, NEITHER, recipe_of
from drills.boards.exactly import assign_exactly as assign_it
from drills.boards.exactly import start_exactly as start_it
from drills.boards.hire import misses_wait
from drills.boards.together import recipe_for, riding
from drills.engine.recipes import CannotApplyError
from drills.people.access import Request, closed_while_assessed, require_role, visible_person
from drills.people.models import Person, Role
from drills.people.rendering import go_to, post_alone
from drills.rigs.models import Rig
from drills.rigs.own import layout_on
from drills.rigs.reports import todays_rig
from drills.runs.access import may_assign
from drills.runs.models import Assignment
from drills.scenarios.models import CallType, Recipe
from drills.scenarios.naming import left_out

WAITS = "An assessed run of yours is open: what you miss is told once it is finished."
MISSED = "Missed before"
NAMED = 2


@post_alone
def start_exactly(request: Request, employee_number: str) -> HttpResponse:
    """Start a drill of what one's own board names, on today's rig."""
    closed_while_assessed(request.user)
    if employee_number != request.user.employee_number:
        raise Http404("One starts a drill of one's own.")
    try:
        with transaction.atomic():
            rig = _rig_of(request.user)
            if misses_wait(request.user, rig.layout):
                raise CannotApplyError(WAITS)
            recipe = _recipe(request, rig, [request.user])
            run = start_it(request.user, recipe, rig=rig, now=timezone.now())
    except CannotApplyError as refused:
        messages.error(request, str(refused))
        return go_to(request, reverse("boards:known", args=[employee_number]))
    if missing := left_out(run.drill):
        messages.info(request, missing)
    return go_to(request, reverse("runs:take", args=[run.pk]))


@post_alone
def assign_exactly(request: Request, employee_number: str) -> HttpResponse:
    """Assign a drill of what the board of a person names."""
    person = visible_person(may_assign(request.user), employee_number)
    return _assigned(request, [person], reverse("boards:person", args=[employee_number]))


@post_alone
def assign_crew(request: Request, employee_number: str, other: str) -> HttpResponse:
    """Assign a drill of what neither of two finds to both."""
    giver = may_assign(request.user)
    two = [visible_person(giver, number) for number in (employee_number, other)]
    if two[0] == two[1]:
        raise Http404("A crew of two takes two people.")
    return _assigned(request, two, reverse("boards:crew", args=[employee_number, other]))


def _assigned(request: Request, people: Sequence[Person], back: str) -> HttpResponse:
    now = timezone.now()
    try:
        with transaction.atomic():
            rig = _rig_of(people[0])
            recipe = _recipe(request, rig, people)
            assignment, is_new = assign_it(
                recipe, people, layout=rig.layout, by=request.user, now=now
            )
    except (CannotApplyError, ValueError) as refused:
        messages.error(request, str(refused))
        return go_to(request, back)
    _tell_given(request, assignment, people, is_new=is_new)
    return go_to(request, reverse("runs:assignment", args=[assignment.pk]))


@post_alone
def assign_cohort(request: Request) -> HttpResponse:
    """Assign a drill of what a cohort misses to the people of it, as the page of an educator was
    asked for them."""
    require_role(may_assign(request.user), Role.EDUCATOR)
    now = timezone.now()
    form = ChoiceForm(request.GET, today=timezone.localdate(now))
    choice = form.choice() if form.is_valid() else None
    if choice is None:
        raise Http404("No such cohort is looked at.")
    people = riding(choice, today=timezone.localdate(now))
    layout = choice.revision.layout
    try:
        with transaction.atomic():
            asked = request.POST.getlist("ask")
            recipe = recipe_for(choice, asked, whom=people, by=request.user)
            assignment, is_new = assign_it(recipe, people, layout=layout, by=request.user, now=now)
    except (CannotApplyError, ValueError) as refused:
        messages.error(request, str(refused))
        return go_to(request, f"{reverse('boards:educator')}?{request.GET.urlencode()}")
    _tell_given(request, assignment, people, is_new=is_new)
    return go_to(request, reverse("runs:assignment", args=[assignment.pk]))


def _tell_given(
    request: Request, assignment: Assignment, people: Sequence[Person], *, is_new: bool
) -> None:
    what, due = assignment.recipe, f"{assignment.due_on:%-d %b %Y}"
    if not is_new:
        messages.info(request, f"{what} is still open, due {due}: nothing was assigned again.")
        return
    has_it = {row.person for row in assignment.assigned.select_related("person")}
    given = [each for each in people if each in has_it]
    messages.success(request, f"{what} is assigned to {_names(given)}, due {due}.")
    if others := [each for each in people if each not in has_it]:
        have = "has" if len(others) == 1 else "have"
        messages.info(request, f"{_names(others)} {have} the same one still to do.")


def _names(people: Sequence[Person]) -> str:
    """One or two by name, more by their count."""
    if len(people) > NAMED:
        return f"{len(people)} people"
    return " and ".join(each.short_name for each in people)


def _rig_of(person: Person) -> Rig:
    rig = todays_rig(person)
    if rig is None:
        raise CannotApplyError(f"{person.short_name} rides no rig today, so none is asked about.")
    return rig


def _recipe(request: Request, rig: Rig, whom: Sequence[Person]) -> Recipe:
    """What was sent made into a recipe, named by the call that it is for."""
    call = CallType.objects.filter(slug=request.POST.get("call", "")).first()
    what = NEITHER if len(whom) > 1 else DRILL_FIRST
    alone = MISSED if request.POST.get("missed") else LOOK_AT
    title = f"{what}: {call.name}" if call else alone
    asked = request.POST.getlist("ask")
    return recipe_of(layout_on(rig), asked, title=title, whom=whom, by=request.user)
