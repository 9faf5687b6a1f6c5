"""Slips with one-time codes, each shown once: in the answer to the form that asked for it."""

from collections.abc import Iterable

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.debug import sensitive_variables

from drills.people import actions
from drills.people.access import Request, may_give_code, require_role
from drills.people.models import Person, Role
from drills.people.rendering import post_alone
from drills.people.reports import EVERYBODY, waiting_for_slips


@post_alone
def slips(request: Request) -> HttpResponse:
    """A slip for everybody who has neither a password nor a code yet, or for those chosen of them;
    unused ones anew if asked."""
    require_role(request.user, Role.ADMIN)
    waiting = waiting_for_slips(now=timezone.now())
    anew = request.POST.get("anew") == "on"
    chosen = request.POST.get("who", EVERYBODY)
    people = next((each.people for each in waiting.groups if each.key == chosen), ())
    return _printed(request, [*people, *(waiting.unused if anew else ())])


@post_alone
def new_code(request: Request, employee_number: str) -> HttpResponse:
    """A slip for one person, whose code or password from before is gone."""
    person = Person.objects.filter(employee_number=employee_number).first()
    if person is None or not may_give_code(request.user, person):
        raise Http404("There is no such person among those you may give a code.")
    return _printed(request, [person])


@sensitive_variables("given")
def _printed(request: Request, people: Iterable[Person]) -> HttpResponse:
    given = actions.give_codes(people, by=request.user, now=timezone.now())
    context = {"slips": given, "address": request.build_absolute_uri(reverse("people:sign_in"))}
    return render(request, "people/slips.html", context)
