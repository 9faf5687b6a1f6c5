"""Safe settings for SQLite: nothing accepted is lost, and nothing is decided half-way."""

import importlib
import importlib.util
import sys
from types import ModuleType
from typing import Any

from django.db.backends.signals import connection_created

# SQLite's own notes: the WAL-reset race is in 3.7.0 to 3.51.2, mended in 3.51.3 and,
# for older lines, in 3.44.6 and 3.50.7.
_MENDED_LINES = {(3, 44): 6, (3, 50): 7}
_MENDED_FROM = (3, 51, 3)
WAIT_SECONDS = 20
_SAID_BY = "wal-fault"


def has_wal_fault(version: tuple[int, int, int]) -> bool:
    """Whether this SQLite may corrupt a database in WAL mode."""
    mended_patch = _MENDED_LINES.get(version[:2])
    mended = version >= _MENDED_FROM or (mended_patch is not None and version[2] >= mended_patch)
    return not mended


def use_mended() -> None:
    """Where Python's own SQLite has the fault, take the one that a wheel brings, if there is one.

    Before Django's own driver is loaded: it goes by the name.
    """
    if has_wal_fault(_library().sqlite_version_info) and importlib.util.find_spec("pysqlite3"):
        mended = importlib.import_module("pysqlite3")
        sys.modules |= {"sqlite3": mended, "sqlite3.dbapi2": mended.dbapi2}


def _library() -> ModuleType:
    return importlib.import_module("sqlite3")


def journal_of(version: tuple[int, int, int]) -> tuple[str, str]:
    """The journal mode and the synchronous setting that are safe with this SQLite."""
    return ("DELETE", "EXTRA") if has_wal_fault(version) else ("WAL", "FULL")


def safe_options() -> dict[str, Any]:
    """Connection options for Django; where WAL is not safe the first connection says so.

    Once per process, and not before: there are commands that touch no database.
    """
    journal, synchronous = journal_of(_library().sqlite_version_info)
    if journal == "DELETE":
        connection_created.connect(_say_once, dispatch_uid=_SAID_BY)
    return {
        # A transaction that begins by reading fails at once when another one writes meanwhile;
        # one that takes the lock first waits for it instead.
        "transaction_mode": "IMMEDIATE",
        "timeout": WAIT_SECONDS,
        "init_command": (
            f"PRAGMA journal_mode={journal};"
            f"PRAGMA synchronous={synchronous};"
            "PRAGMA cache_size=-20000;"
            "PRAGMA journal_size_limit=67108864;"
        ),
    }


def _say_once(**_: Any) -> None:
    """On standard error: standard output belongs to the commands that print JSON."""
    if connection_created.disconnect(dispatch_uid=_SAID_BY):
        sys.stderr.write(
            f"SQLite {_library().sqlite_version} has the WAL-reset fault; "
            "using journal DELETE with synchronous EXTRA, which is safe and slower.\n"
        )
