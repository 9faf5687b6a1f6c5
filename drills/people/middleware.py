"""Who is signed out goes to sign in, told what was lost; personal pages are kept nowhere."""

import logging
from collections.abc import Callable
from urllib.parse import urlencode, urlsplit, urlunsplit

from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.db import OperationalError
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.template.loader import render_to_string
from django.urls import Resolver404, resolve, reverse
from django.utils.cache import add_never_cache_headers, patch_vary_headers
from django.utils.http import url_has_allowed_host_and_scheme

from drills.people.kept import keep
from drills.people.rendering import go_to, wants_part

LOST, KEPT, ZERO = "lost", "kept", "\0"
TRY_AGAIN_AFTER_S = 30
_logger = logging.getLogger(__name__)


class SignInFirst(LoginRequiredMiddleware):
    """Leads one who is signed out to the sign-in page, and from there back to a page.

    What a form sent is gone then, or kept where its view keeps it, and the sign-in page says so.
    """

    def handle_no_permission(  # type: ignore[override]  # htmx is answered by no redirect of HTTP
        self, request: HttpRequest, view_func: Callable[..., HttpResponseBase]
    ) -> HttpResponse:
        said = {"next": _page_in_view(request)}
        if request.method == "POST" and request.path != reverse("people:sign_out"):
            page = keep(request, view_func)
            said = {"next": page, KEPT: "1"} if page else said | {LOST: "1"}
        query = urlencode(said, safe="/")
        return go_to(request, f"{reverse('people:sign_in')}?{query}")


def personal_pages(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Mark every answer as not to be stored, and as differing for fragment requests."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        add_never_cache_headers(response)
        patch_vary_headers(response, ["HX-Request"])
        return response

    return answer


def text_alone(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Refuse what holds the character 0: no text of ours does, and PostgreSQL keeps none."""

    def answer(request: HttpRequest) -> HttpResponse:
        sent = (each for data in (request.GET, request.POST) for each in data.lists())
        said = [request.path, *(text for key, values in sent for text in (key, *values))]
        if any(ZERO in text for text in said):
            return render(request, "400.html", status=400)
        return get_response(request)

    return answer


class DatabaseBusy:
    """Says so when the database is busy, full or out of reach: nothing was taken, and nothing of
    the page that was sent is lost to who goes back to it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """The page that says so; any other fault is not looked at here."""
        if not isinstance(error, OperationalError):
            return None
        _logger.error("%s: the database did not take it.", request.path, exc_info=error)
        response = HttpResponse(render_to_string("503.html"), status=503)
        response["Retry-After"] = str(TRY_AGAIN_AFTER_S)
        return response


def _page_in_view(request: HttpRequest) -> str:
    """The page the person looks at, by its address on this site; the first page if unknown."""
    if wants_part(request):
        seen = request.htmx.current_url_abs_path  # type: ignore[attr-defined]  # set by htmx's own
    elif request.method == "POST":
        seen = _referring(request)
    else:
        return request.get_full_path()
    is_ours = url_has_allowed_host_and_scheme(seen, allowed_hosts=None)
    return seen if is_ours and _is_page(urlsplit(seen).path) else "/"


def _referring(request: HttpRequest) -> str:
    parts = urlsplit(request.headers.get("Referer", ""))
    own = (parts.scheme, parts.netloc) == (request.scheme, request.get_host())
    return urlunsplit(("", "", parts.path, parts.query, "")) if own else ""


def _is_page(path: str) -> bool:
    """Whether a link can lead there; an address that takes forms alone refuses one."""
    try:
        view = resolve(path).func
    except Resolver404:
        return False
    return not getattr(view, "is_post_alone", False)
