"""A screen that is handed on, and for how long after a password or a slip opened it."""

from datetime import datetime

from django.contrib.auth import login
from django.http import HttpRequest

from drills.people.actions import SHARED_FOR
from drills.people.models import Person

_OPENED = "opened_at"


def let_in(request: HttpRequest, person: Person, *, now: datetime) -> None:
    """Sign in who gave a password or a slip: from now on the screen may be handed on."""
    login(request, person)
    request.session[_OPENED] = now.isoformat()


def hand_on(request: HttpRequest, person: Person) -> None:
    """Sign in who takes the screen over; it is open no longer for it, and the one before is out."""
    opened = request.session[_OPENED]
    login(request, person)
    request.session[_OPENED] = opened


def is_shared(request: HttpRequest, *, now: datetime) -> bool:
    """Whether the screen may still be handed on."""
    opened = request.session.get(_OPENED)
    return opened is not None and now - datetime.fromisoformat(opened) < SHARED_FOR
