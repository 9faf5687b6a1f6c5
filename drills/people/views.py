"""Signing in and out, and the switches of the sheet."""

from django.conf import settings
from django.contrib.auth import login, logout
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render, resolve_url
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from drills.people.forms import SignInForm
from drills.people.rendering import post_alone
from drills.people.switches import GLOVES_COOKIE, MOOD_COOKIE, MOODS

KEPT_FOR = 365 * 24 * 60 * 60


@login_not_required
@sensitive_post_parameters("password")
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Let a person in. A full page every time, since signing in renews the token of the forms."""
    wanted = request.POST.get("next") or request.GET.get("next", "")
    if request.user.is_authenticated:
        return redirect(_own(request, wanted))
    form = SignInForm(request.POST or None, request=request)
    if request.method == "POST" and form.is_valid() and form.person:
        login(request, form.person)
        return redirect(_own(request, wanted))
    status = 422 if form.is_bound else 200
    context = {"form": form, "next": wanted, "has_lost": "lost" in request.GET}
    return render(request, "people/sign_in.html", context, status=status)


@post_alone
def sign_out(request: HttpRequest) -> HttpResponse:
    """Forget the person on this device."""
    logout(request)
    return redirect(settings.LOGOUT_REDIRECT_URL)


@login_not_required
@post_alone
def mood(request: HttpRequest) -> HttpResponse:
    """Keep day or night on this device, or follow the system again."""
    chosen = request.POST.get("mood", "")
    if chosen not in MOODS:
        said = f"{chosen!r} came in; it takes {', '.join(MOODS)}."
        return HttpResponse(said, status=422, content_type="text/plain; charset=utf-8")
    return _with_cookie(request, MOOD_COOKIE, "" if chosen == "system" else chosen)


@login_not_required
@post_alone
def gloves(request: HttpRequest) -> HttpResponse:
    """Make everything to be tapped big enough for gloves on this device, or usual again."""
    return _with_cookie(request, GLOVES_COOKIE, "on" if request.POST.get("gloves") == "on" else "")


def _with_cookie(request: HttpRequest, name: str, value: str) -> HttpResponse:
    response = redirect(_own(request, request.POST.get("next", "")))
    if not value:
        response.delete_cookie(name, samesite="Lax")
        return response
    response.set_cookie(
        name,
        value,
        max_age=KEPT_FOR,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )
    return response


def _own(request: HttpRequest, wanted: str) -> str:
    """Where to go next: only ever on this site."""
    allowed = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if wanted and allowed else resolve_url(settings.LOGIN_REDIRECT_URL)
