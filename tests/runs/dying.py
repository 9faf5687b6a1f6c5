"""The service as gunicorn runs it, where a request may say at which point its worker dies."""

import os
import signal
from collections.abc import Callable, Iterable
from typing import Any

from django.db import connection

from readiness.wsgi import application as site

HEADER = "X-Dies"
IN_TRANSACTION, AFTER_COMMIT = "in the transaction", "after the commit"


def application(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
    """Answer, or die at the point that the request names."""
    point = environ.get("HTTP_X_DIES", "")
    if point == IN_TRANSACTION:
        with connection.execute_wrapper(_die_once_it_is_written):
            return site(environ, start_response)
    response: Iterable[bytes] = site(environ, start_response)
    if point == AFTER_COMMIT:
        os.kill(os.getpid(), signal.SIGKILL)
    return response


def _die_once_it_is_written(execute: Callable[..., Any], sql: str, *rest: Any) -> Any:
    done = execute(sql, *rest)
    if sql.startswith('UPDATE "runs_presentation"'):
        os.kill(os.getpid(), signal.SIGKILL)
    return done
