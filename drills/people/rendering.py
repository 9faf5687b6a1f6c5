"""One way to answer both a browser and htmx."""

from collections.abc import Callable, Mapping
from functools import wraps
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render, resolve_url
from django.utils.http import url_has_allowed_host_and_scheme
from django_htmx.http import HttpResponseClientRedirect
from django_htmx.middleware import HtmxDetails

MEDIA = {
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "zip": "application/zip",
}


def wants_part(request: HttpRequest) -> bool:
    """Whether only a fragment is asked for; going back in the history takes a whole page."""
    htmx: HtmxDetails = request.htmx  # type: ignore[attr-defined]  # set by the middleware
    return bool(htmx) and not htmx.history_restore_request


def page_or_part(
    request: HttpRequest,
    template: str,
    part: str,
    context: Mapping[str, Any],
    *,
    status: int = 200,
) -> HttpResponse:
    """The whole page, or its named part for htmx."""
    name = f"{template}#{part}" if wants_part(request) else template
    return render(request, name, dict(context), status=status)


def go_to(request: HttpRequest, url: str) -> HttpResponse:
    """Send the person to another page, whichever way the request came."""
    return HttpResponseClientRedirect(url) if wants_part(request) else redirect(url)


def as_file(content: bytes, name: str) -> HttpResponse:
    """A file to be kept under its name, as the ending of the name says what it is."""
    response = HttpResponse(content, content_type=MEDIA[name.rpartition(".")[2]])
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


def own_page(request: HttpRequest, wanted: str) -> str:
    """Where to go next: only ever on this site."""
    allowed = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if wanted and allowed else resolve_url(settings.LOGIN_REDIRECT_URL)


def post_alone(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """A view that takes POST alone; who comes by a link or a reload is led back.

    `is_post_alone` on the view tells that no link leads to it.
    """

    @wraps(view)
    def taken(request: HttpRequest, *args: Any, **arguments: Any) -> HttpResponse:
        if request.method == "POST":
            return view(request, *args, **arguments)
        context = {"run_id": arguments.get("run_id")}
        response = render(request, "405.html", context, status=405)
        response["Allow"] = "POST"
        return response

    taken.is_post_alone = True  # type: ignore[attr-defined]  # a mark on the view
    return taken
