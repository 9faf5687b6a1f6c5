"""A screen at the station that crew hand on to each other, and the code that each does it with."""

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters, sensitive_variables
from django.views.decorators.http import require_http_methods

from drills.people import actions
from drills.people.access import Request
from drills.people.forms import PersonalCodeForm, TakeOverForm
from drills.people.models import PersonalCode
from drills.people.places import device_of
from drills.people.rendering import post_alone
from drills.people.shared import hand_on, is_shared
from drills.people.views.signing_in import NOT_YOURS, looked_at, too_soon

NOT_TAKEN_OVER = (
    "That number and personal code do not go together, or five wrong codes came in for it. Who is "
    "in doubt signs out here, and in with the password."
)
OPENED_LONG_AGO = (
    "Nobody has signed in here with a password in the last 12 hours. Sign out, and sign in with "
    "yours: then the screen can be handed on again."
)


@sensitive_variables("form", "given")
@sensitive_post_parameters("code")
@require_http_methods(["GET", "HEAD", "POST"])
def take_over(request: Request) -> HttpResponse:
    """Become who is at the screen now, by their number and personal code."""
    form = TakeOverForm(request.POST or None)
    is_open = is_shared(request, now=timezone.now())
    context = {"form": form, "is_open": is_open, "long_ago": OPENED_LONG_AGO}
    if request.method != "POST":
        return render(request, "people/take_over.html", context)
    if not is_open or not form.is_valid():
        return render(request, "people/take_over.html", context, status=422)
    given = form.cleaned_data
    person = actions.take_over(given["employee_number"], given["code"])
    if person is None:
        form.add_error(None, NOT_TAKEN_OVER)
        return render(request, "people/take_over.html", context, status=422)
    hand_on(request, person)
    messages.success(request, f"This screen is {person.name}'s now.")
    return redirect(settings.LOGIN_REDIRECT_URL)


@sensitive_variables("form", "given")
@sensitive_post_parameters("password", "code")
@require_http_methods(["GET", "HEAD", "POST"])
def personal_code(request: Request) -> HttpResponse:
    """Choose the digits by which one takes over a shared screen."""
    _require_crew_alone(request)
    form = PersonalCodeForm(request.POST or None)
    has_code = PersonalCode.objects.filter(person=request.user).exists()
    context = {"form": form, "has_code": has_code, "takes": actions.TAKES}
    if request.method != "POST":
        return render(request, "people/personal_code.html", context)
    status = _kept(request, form) if form.is_valid() else 422
    if status != 200:
        return render(request, "people/personal_code.html", context, status=status)
    messages.success(request, "That is your personal code from now on.")
    return redirect(settings.LOGIN_REDIRECT_URL)


@post_alone
def drop_code(request: Request) -> HttpResponse:
    """Have no personal code any more."""
    actions.drop_personal_code(request.user, now=timezone.now())
    messages.success(request, "You have no personal code now.")
    return redirect(settings.LOGIN_REDIRECT_URL)


@sensitive_variables("form", "given")
def _kept(request: Request, form: PersonalCodeForm) -> int:
    """Keep the code if the password is theirs; the status that says how it went."""
    given = form.cleaned_data
    answer = looked_at(request, request.user.employee_number, given["password"], device_of(request))
    if answer.person is None or answer.code:
        form.add_error("password", too_soon(answer.wait) if answer.wait else NOT_YOURS)
        return 429 if answer.wait else 422
    try:
        actions.choose_personal_code(request.user, given["code"], now=timezone.now())
    except ValueError as error:
        form.add_error("code", str(error))
        return 422
    return 200


def _require_crew_alone(request: Request) -> None:
    if not actions.may_take_over(request.user):
        raise PermissionDenied("A personal code is for crew who hold no other role.")
