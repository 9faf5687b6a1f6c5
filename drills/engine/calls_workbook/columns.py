"""The sheets of the workbook of call types, their columns, their words and their limits."""

import re
from collections.abc import Callable
from dataclasses import dataclass

from drills.engine.workbook.columns import Form

FORMAT = "readiness-calls/1"
BOOK, ABOUT, PHRASES, PATIENTS, NEEDS = "book", "calls", "phrases", "patients", "needs"
KEYS = ("format",)
CALL = "call_type"

COLUMNS = {
    BOOK: ("key", "value"),
    ABOUT: (
        *(CALL, "name", "priority", "patients_least", "patients_most", "scene", "size_up"),
        *("hazards", "hazards_here", "hazards_possible", "asks_for", "may_ask_for"),
        *("road_kinds", "source", "owner", "date", "reviewed_by"),
    ),
    PHRASES: (CALL, "phrase", "age_bands", "problems", "severities"),
    PATIENTS: (
        *(CALL, "problem", "age_bands", "age_from_y", "age_to_y", "female_share"),
        *("presence", "weight", "severities"),
    ),
    NEEDS: (
        *(CALL, "problem", "size", "severities", "need", "grade", "quantity", "per", "level"),
        *("serves_instead", "wrong_grab", "why"),
    ),
}
NEEDED = {
    BOOK: COLUMNS[BOOK],
    ABOUT: (
        *(CALL, "name", "priority", "patients_least", "patients_most", "scene", "size_up"),
        *("source", "owner", "date"),
    ),
    PHRASES: (CALL, "phrase"),
    PATIENTS: (CALL, "problem", "age_bands", "severities"),
    NEEDS: (CALL, "need", "grade", "quantity", "per"),
}
FORM = Form(
    FORMAT,
    COLUMNS,
    NEEDED,
    file="a .xlsx workbook, or a .zip with book.csv, calls.csv, phrases.csv, patients.csv and "
    "needs.csv",
    sheets="the sheets book, calls, phrases, patients and needs",
)

PRIORITIES = ("emergency", "urgent")
ROADS = ("highway", "county", "street", "track")
HOLES = ("patient", "place", "road", "count")
ALWAYS, DRAWN = "always", "drawn"
SEVERITIES = (1, 2, 3)

# Ours, no source: a service has some dozens of call types, each with a page of needs.
MOST_CALLS, MOST_ROWS, MOST_OF_ONE = 300, 20_000, 200
SLUG = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
SLUG_LENGTH, NAME_LENGTH, WORD_LENGTH = 60, 80, 60
SCENE_LENGTH, TEXT_LENGTH, PHRASE_LENGTH, OWNER_LENGTH = 120, 200, 240, 120
SIZE_UP_LENGTH = 300
LISTED = 20
MOST_PATIENTS, MOST_QUANTITY, MOST_SHARE, MAX_AGE_Y = 50, 99, 1_000, 130


@dataclass(frozen=True, slots=True)
class Known:
    """What is here already and a call type may speak of, by key.

    `need_of` gives the key of the need that some words name, or nothing.
    """

    need_of: Callable[[str], str]
    problems: frozenset[str]
    bands: tuple[str, ...]
    sizes: tuple[str, ...]
    levels: tuple[str, ...]
