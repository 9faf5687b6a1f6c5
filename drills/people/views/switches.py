"""The switches of the sheet, which a device keeps."""

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from drills.people.rendering import own_page, post_alone, wants_part
from drills.people.switches import GLOVES_COOKIE, MOOD_COOKIE, MOODS

KEPT_FOR = 365 * 24 * 60 * 60


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
    """Back to the page; with scripts it stays as it is, since a form in it may be half filled."""
    back = own_page(request, request.POST.get("next", ""))
    response = HttpResponse(status=204) if wants_part(request) else redirect(back)
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
