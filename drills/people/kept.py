"""What somebody sent who had been signed out: kept in their session until they are in again.

Only addresses marked with `keeps` do so; nothing is done with it before its person sends it again.
"""

from collections.abc import Callable, Sequence
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

Sent = Sequence[Sequence[str]]
NOTHING_KEPT: Sent = ()
_KEPT, _TOKEN = "kept", "csrfmiddlewaretoken"
# Strangers may send it, so it stays small; a kit of a whole rig takes less.
LONGEST = 8000


def keeps(page: str) -> Callable[[Callable[..., HttpResponse]], Callable[..., HttpResponse]]:
    """A view that takes forms: what was sent to it is shown again on the page of this name."""

    def mark(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
        view.shown_again_on = page  # type: ignore[attr-defined]  # a mark on the view
        return view

    return mark


def keep(request: HttpRequest, view: Callable[..., Any]) -> str:
    """Keep what was sent; the page on which it waits, empty when it is not kept."""
    page, match = getattr(view, "shown_again_on", ""), request.resolver_match
    sent = [[n, value] for n, values in request.POST.lists() for value in values if n != _TOKEN]
    length = sum(len(name) + len(value) for name, value in sent)
    if not page or match is None or not 0 < length <= LONGEST:
        return ""
    request.session[_KEPT] = {"path": request.path, "sent": sent}
    return reverse(page, kwargs=match.kwargs)


def kept_for(request: HttpRequest, path: str) -> Sent:
    """What waits to be sent to an address again, by name and value; nothing when nothing does."""
    kept = request.session.get(_KEPT) or {}
    sent: Sent = kept.get("sent", []) if kept.get("path") == path else []
    return sent


def forget_kept(request: HttpRequest) -> None:
    """It was sent again, or something else was."""
    request.session.pop(_KEPT, None)
