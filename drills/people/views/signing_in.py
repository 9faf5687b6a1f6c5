"""Signing in and out, the first password, and another one."""

from datetime import datetime, timedelta

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import logout, update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters, sensitive_variables
from django.views.decorators.http import require_http_methods

from drills.people import actions
from drills.people.access import Request
from drills.people.forms import ChangePasswordForm, NewPasswordForm, SignInForm
from drills.people.models import Person, SignInCode
from drills.people.places import address_of, device_of, know_device
from drills.people.rendering import own_page, post_alone
from drills.people.shared import let_in

NOT_LET_IN = "That number and password do not go together. Check both and try again."
NOT_YOURS = "That is not your present password."
CODE_GONE = (
    "The code was used, has lapsed, or was entered too long ago. Enter it once more; if it is "
    "refused, ask your field training officer or administrator for a new one."
)
CHOOSING = "choosing"  # in the session: the code that was entered, and when
# A station's browser is shared, so that a code lies open there for no longer than choosing takes.
CHOOSING_LASTS = timedelta(minutes=15)


@login_not_required
@sensitive_variables("form", "given")
@sensitive_post_parameters("password")
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Let a person in. A full page every time, since signing in renews the token of the forms."""
    wanted = request.POST.get("next") or request.GET.get("next", "")
    if request.user.is_authenticated:
        return redirect(own_page(request, wanted))
    form = SignInForm(request.POST or None)
    told = {"has_lost": "lost" in request.GET, "has_kept": "kept" in request.GET}
    context = {"form": form, "next": wanted, **told}
    if request.method != "POST":
        return render(request, "people/sign_in.html", context)
    if not form.is_valid():
        return render(request, "people/sign_in.html", context, status=422)
    given, device = form.cleaned_data, device_of(request)
    answer = looked_at(request, given["employee_number"], given["password"], device)
    if answer.person is None:
        form.add_error(None, too_soon(answer.wait) if answer.wait else NOT_LET_IN)
        return _refused(request, "people/sign_in.html", context, answer.wait)
    response = _inside(request, answer.person, answer.code, wanted)
    know_device(response, device)
    return response


@post_alone
def sign_out(request: HttpRequest) -> HttpResponse:
    """Forget the person on this device."""
    logout(request)
    return redirect(settings.LOGOUT_REDIRECT_URL)


@login_not_required
@sensitive_variables("form", "given")
@sensitive_post_parameters("new_password", "again")
@require_http_methods(["GET", "HEAD", "POST"])
def choose_password(request: HttpRequest) -> HttpResponse:
    """Choose a password of one's own with a code that was just entered; then one is in."""
    if request.user.is_authenticated:
        return redirect(settings.LOGIN_REDIRECT_URL)
    code = _entered(request, timezone.now())
    if code is None:
        return _gone(request)
    form = NewPasswordForm(request.POST or None, person=code.person)
    if form.is_valid():
        return _chosen(request, code, form.cleaned_data["new_password"])
    context = {"form": form, "person": code.person}
    status = 422 if form.is_bound else 200
    return render(request, "people/choose_password.html", context, status=status)


@sensitive_variables("form", "given")
@sensitive_post_parameters("password", "new_password", "again")
@require_http_methods(["GET", "HEAD", "POST"])
def password(request: Request) -> HttpResponse:
    """Another password of one's own; every other browser one is signed in with is out."""
    form = ChangePasswordForm(request.POST or None, person=request.user)
    context = {"form": form, "may_take_over": actions.may_take_over(request.user)}
    if request.method != "POST":
        return render(request, "people/password.html", context)
    if not form.is_valid():
        return render(request, "people/password.html", context, status=422)
    given = form.cleaned_data
    answer = looked_at(request, request.user.employee_number, given["password"], device_of(request))
    if answer.person is None or answer.code:
        form.add_error("password", too_soon(answer.wait) if answer.wait else NOT_YOURS)
        return _refused(request, "people/password.html", context, answer.wait)
    actions.change_password(request.user, given["new_password"], now=timezone.now())
    update_session_auth_hash(request, request.user)
    messages.success(
        request, "Your password is changed. Everywhere else you were signed in, you are out."
    )
    return redirect(settings.LOGIN_REDIRECT_URL)


def too_soon(wait: timedelta) -> str:
    """How long to wait, in words."""
    seconds = -(-wait // timedelta(seconds=1))
    minutes = -(-seconds // 60)
    many, unit = (seconds, "second") if seconds < 60 else (minutes, "minute")
    return (
        f"Too many tries failed. Wait {many} {unit}{'' if many == 1 else 's'}, then try again. "
        "A try before that is not looked at, and does not make the wait longer."
    )


def looked_at(request: HttpRequest, number: str, secret: str, device: str) -> actions.Answer:
    """Whether a number and a password or slip go together, tried from where the request is."""
    return actions.look(
        number, secret, address=address_of(request), device=device, now=timezone.now()
    )


def _refused(
    request: HttpRequest, template: str, context: dict[str, object], wait: timedelta
) -> HttpResponse:
    response = render(request, template, context, status=429 if wait else 422)
    if wait:
        response["Retry-After"] = str(-(-wait // timedelta(seconds=1)))
    return response


def _inside(
    request: HttpRequest, person: Person, code: SignInCode | None, wanted: str
) -> HttpResponse:
    """Signed in; or, by a code, at the one page that is open before a password is chosen."""
    if code is None:
        let_in(request, person, now=timezone.now())
        return redirect(own_page(request, wanted))
    request.session.cycle_key()
    request.session[CHOOSING] = {"code": code.pk, "at": timezone.now().isoformat(), "next": wanted}
    return redirect("people:choose_password")


@sensitive_variables("password")
def _chosen(request: HttpRequest, code: SignInCode, password: str) -> HttpResponse:
    try:
        person = actions.choose_password(code.pk, password, now=timezone.now())
    except actions.CodeGoneError:
        return _gone(request)
    wanted = request.session.pop(CHOOSING)["next"]
    let_in(request, person, now=timezone.now())
    messages.success(request, "That is your password from now on. Your slip has done its work.")
    return redirect(own_page(request, wanted))


def _gone(request: HttpRequest) -> HttpResponse:
    """Back to signing in; who never entered a code is told nothing of one."""
    if request.session.pop(CHOOSING, None):
        messages.error(request, CODE_GONE)
    return redirect("people:sign_in")


def _entered(request: HttpRequest, now: datetime) -> SignInCode | None:
    """The code that was entered in this browser a moment ago, if it is still good."""
    entered = request.session.get(CHOOSING)
    if not entered or now - datetime.fromisoformat(entered["at"]) > CHOOSING_LASTS:
        return None
    codes = SignInCode.objects.filter(person__is_active=True, lapses_at__gt=now)
    return codes.select_related("person").filter(pk=entered["code"]).first()
