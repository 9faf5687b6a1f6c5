"""One refit, or what must not meet one, at a time: held by what dies with whoever holds it."""

import fcntl
import os
import socket
import threading
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from datetime import datetime
from pathlib import Path

from django.db import DatabaseError, IntegrityError, connection, transaction
from django.utils.timezone import localtime

from drills.competency.models import Refit

# The key of the lock in PostgreSQL; nothing else of the product takes one.
KEY = 7_315_904
# Beside a SQLite database, whose own file must not be opened a second time: closing it would let go
# of the locks that the process has on it.
BESIDE = "-refit"
# PostgreSQL lets go of what a machine held that is gone without a word, after two minutes of it.
SOON_GONE = {"tcp_keepalives_idle": 60, "tcp_keepalives_interval": 15, "tcp_keepalives_count": 4}


_here = threading.local()


class UnderWayError(RuntimeError):
    """Another refit is under way: since when, and how far it is. `in_full` is for who runs the
    service, and says as well what of the machine is in the way."""

    def __init__(self, words: str, *, to_end: str = "") -> None:
        super().__init__(words)
        self.in_full = f"{words} {to_end}".strip()


@contextmanager
def alone(now: datetime, *, stage: str = "") -> Iterator[Refit]:
    """Mark that a refit, or what must not meet one, is under way, until the block ends.

    Whoever is killed lets go at once, so that a mark with nobody holding on is taken over. Raises
    `UnderWayError`, within such a block as well.
    """
    with ExitStack() as held:
        # A session of PostgreSQL gets what it has a second time.
        if getattr(_here, "is_held", False) or not _hold(held):
            raise _under_way()
        _here.is_held = True
        held.callback(setattr, _here, "is_held", False)
        Refit.objects.all().delete()
        process = f"{os.getpid()} on {socket.gethostname()}"
        try:
            with transaction.atomic():
                mark = Refit.objects.create(
                    started_at=now, seen_at=now, stage=stage, process=process
                )
        except IntegrityError as error:
            raise _under_way() from error
        try:
            yield mark
        finally:
            # A transaction that failed leaves no mark, and a mark that nobody holds hinders nobody.
            with suppress(DatabaseError):
                Refit.objects.filter(pk=mark.pk).delete()


def _under_way() -> UnderWayError:
    other = Refit.objects.first()
    if other is None:
        return UnderWayError("Another refit is under way. Try again in a minute.")
    since, heard = (f"{localtime(at):%H:%M}" for at in (other.started_at, other.seen_at))
    return UnderWayError(
        f"Another refit is under way since {since}: {other.stage}, at {heard}. It ends by itself.",
        to_end=f"Where it hangs, end process {other.process}, and this can be begun at once.",
    )


def _hold(held: ExitStack) -> bool:
    """Whether the lock could be taken; leaving `held` lets go of it."""
    if connection.vendor == "postgresql":
        return _hold_postgresql(held)
    return _hold_file(held, Path(f"{connection.settings_dict['NAME']}{BESIDE}"))


def _hold_postgresql(held: ExitStack) -> bool:
    # Of a transaction the lock ends with it, however it ends; else it is let go of.
    of_transaction = connection.in_atomic_block
    function = "pg_try_advisory_xact_lock" if of_transaction else "pg_try_advisory_lock"
    with connection.cursor() as cursor:
        for name, seconds in SOON_GONE.items():
            cursor.execute("SELECT set_config(%s, %s, %s)", [name, str(seconds), of_transaction])
        cursor.execute(f"SELECT {function}(%s)", [KEY])
        got = bool(cursor.fetchone()[0])
    if got and not of_transaction:
        held.callback(_let_go)
    return got


def _let_go() -> None:
    # A connection that broke has let go already.
    with suppress(DatabaseError), connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_unlock(%s)", [KEY])


def _hold_file(held: ExitStack, path: Path) -> bool:
    try:
        file = held.enter_context(path.open("a"))
    except OSError as error:
        raise UnderWayError(
            "Whether another refit is under way cannot be told on this machine; whoever runs the "
            "service puts that right.",
            to_end=f"{path} cannot be opened ({error.strerror}): give it to the user that the "
            "service runs as, or take it away while no refit runs.",
        ) from error
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True
