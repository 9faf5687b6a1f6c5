"""Safe settings for SQLite: nothing accepted is lost, and nothing is decided half-way."""

import sqlite3
import sys
from typing import Any

# SQLite's own notes: the WAL-reset race is in 3.7.0 to 3.51.2, mended in 3.51.3 and,
# for older lines, in 3.44.6 and 3.50.7.
_MENDED_LINES = {(3, 44): 6, (3, 50): 7}
_MENDED_FROM = (3, 51, 3)
WAIT_SECONDS = 20


def has_wal_fault(version: tuple[int, int, int]) -> bool:
    """Whether this SQLite may corrupt a database in WAL mode."""
    mended_patch = _MENDED_LINES.get(version[:2])
    mended = version >= _MENDED_FROM or (mended_patch is not None and version[2] >= mended_patch)
    return not mended


def journal_of(version: tuple[int, int, int]) -> tuple[str, str]:
    """The journal mode and the synchronous setting that are safe with this SQLite."""
    return ("DELETE", "EXTRA") if has_wal_fault(version) else ("WAL", "FULL")


def safe_options() -> dict[str, Any]:
    """Connection options for Django; says once on standard error when WAL is not safe here.

    Settings are read once per process, so the line comes once per process; standard output
    belongs to the commands that print JSON.
    """
    journal, synchronous = journal_of(sqlite3.sqlite_version_info)
    if journal == "DELETE":
        sys.stderr.write(
            f"SQLite {sqlite3.sqlite_version} has the WAL-reset fault; "
            "using journal DELETE with synchronous EXTRA, which is safe and slower.\n"
        )
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
