"""Another process that holds what one refit at a time holds."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import datetime
from pathlib import Path

from django.db import connection

from drills.competency.alone import BESIDE, KEY, _hold_file
from drills.competency.models import Refit


@contextmanager
def another_refit(now: datetime, *, stage: str) -> Iterator[None]:
    """Another one is under way until the block ends, on a connection or a file of its own."""
    mark = Refit.objects.create(
        started_at=now, seen_at=now, stage=stage, process="4711 on medic-desk"
    )
    with ExitStack() as held:
        assert _held(held)
        yield
    mark.delete()


def may_begin() -> bool:
    """Whether another process could begin one now."""
    with ExitStack() as held:
        return _held(held)


def _held(held: ExitStack) -> bool:
    if connection.vendor != "postgresql":
        return _hold_file(held, Path(f"{connection.settings_dict['NAME']}{BESIDE}"))
    other = connection.copy()
    held.callback(other.close)
    cursor = held.enter_context(other.cursor())
    # Let go of before the connection ends, which the server learns of only later.
    held.callback(cursor.execute, "SELECT pg_advisory_unlock_all()")
    cursor.execute("SELECT pg_try_advisory_lock(%s)", [KEY])
    return bool(cursor.fetchone()[0])
