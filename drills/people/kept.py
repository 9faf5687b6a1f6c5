"""What somebody sent who had been signed out: kept in their session until they are in again.

Only addresses marked with `keeps` do so. Nothing is done with it before its person has seen it and
sends it again, since a browser at a station has many users; it counts from when it came first.
"""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

Sent = Sequence[tuple[str, str]]
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
    sent = sent_in(request)
    length = sum(len(name) + len(value) for name, value in sent)
    if not page or match is None or not 0 < length <= LONGEST:
        return ""
    at = timezone.now().isoformat()
    request.session[_KEPT] = {"path": request.path, "sent": sent, "at": at}
    return reverse(page, kwargs=match.kwargs)


def kept_for(request: HttpRequest, path: str) -> Sent:
    """What waits to be sent to an address again, by name and value; nothing when nothing does."""
    kept = request.session.get(_KEPT) or {}
    sent = kept["sent"] if kept.get("path") == path else []
    return [(name, value) for name, value in sent]


def take_kept(request: HttpRequest) -> datetime | None:
    """When what is sent now came first, where it is what waits; from now on nothing waits."""
    kept = request.session.pop(_KEPT, None) or {}
    is_there = kept.get("path") == request.path
    is_that = is_there and sorted(map(tuple, kept["sent"])) == sorted(sent_in(request))
    return datetime.fromisoformat(kept["at"]) if is_that else None


def sent_in(request: HttpRequest) -> Sent:
    """What a form sent, by name and value."""
    return [(n, value) for n, values in request.POST.lists() for value in values if n != _TOKEN]
