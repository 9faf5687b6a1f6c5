"""Revisions that were published for a later day come in force on it, whoever looks first."""

import logging
import time
from collections.abc import Callable

from django.conf import settings
from django.db import OperationalError
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from drills.rigs.actions import bring_in_force, is_due
from drills.rigs.models import Revision

SECONDS_BETWEEN = 60.0
_logger = logging.getLogger(__name__)


class ComeInForce:
    """Looks for revisions whose day has come before a page is made, once a minute at most.

    Who brings no session sees no rig, so no look is wasted on strangers and their addresses.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response
        self.looks_again_at = 0.0

    def __call__(self, request: HttpRequest) -> HttpResponse:
        moment = time.monotonic()
        if settings.SESSION_COOKIE_NAME in request.COOKIES and moment >= self.looks_again_at:
            self.looks_again_at = moment + SECONDS_BETWEEN
            _look()
        return self.get_response(request)


def _look() -> None:
    now = timezone.now()
    try:
        if Revision.objects.filter(is_due(now)).exists():
            bring_in_force(now=now)
    except OperationalError:
        # Whoever asks for a page has no part in this, and the next minute tries again.
        _logger.exception("Revisions whose day has come are not in force yet.")
