"""The roster of a service as a CSV file: one row for each person, read and written.

The form is ours, written as `headed` reads it. Several roles, cohorts or FTOs in one cell have a
semicolon or an upright bar between them: in a file whose cells are split by semicolons the bar
does without quotes. A column that is not there leaves what it tells of as it is; an empty cell
takes it away.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from drills.engine.headed import Headed, read_headed, write_headed
from drills.engine.workbook.cells import YES_NO, Row
from drills.engine.workbook.columns import NAME_LENGTH
from drills.engine.workbook.problems import Problem, Remark, Report, quote

NUMBER, NAME, ROLES, CERTIFICATION = "employee number", "name", "roles", "certification"
STATION, COHORT, FTO, LEAVES = "station", "cohort", "FTO", "leaves"
COLUMNS = (NUMBER, NAME, ROLES, CERTIFICATION, STATION, COHORT, FTO, LEAVES)
NEEDED = (NUMBER, NAME)
EXAMPLE = (
    *("EXAMPLE-1", "Sam Sample", "crew", "paramedic", "Kettle Station", "Spring intake"),
    *("EXAMPLE-2", ""),
)

MAX_PEOPLE = 5_000
WORD_LENGTH, LISTED = 80, 20

_FORM = Headed(
    by_name={column.casefold(): column for column in COLUMNS},
    needed=NEEDED,
    most=MAX_PEOPLE,
    of="people",
    empty=f"a header row with {', '.join(COLUMNS)}",
    overhang="several words in one cell take | between",
)


@dataclass(frozen=True, slots=True)
class Entry:
    """What one row says of one person, in the words of the file; None where it has no such column.

    `row` is the row a person sees in a spreadsheet. `roles` are keys. `leaves` is whether the
    person is to leave now.
    """

    row: int
    number: str
    name: str
    roles: tuple[str, ...] | None = None
    certification: str | None = None
    station: str | None = None
    cohorts: tuple[str, ...] | None = None
    ftos: tuple[str, ...] | None = None
    leaves: bool = False


@dataclass(frozen=True, slots=True)
class Roster:
    """A file as read. A row with a problem is among the entries too, so that all else in it can
    be checked as well; nothing may be stored while there is a problem."""

    entries: tuple[Entry, ...]
    problems: tuple[Problem, ...]
    remarks: tuple[Remark, ...]


def read_roster(data: bytes, *, roles: Mapping[str, str], today: date) -> Roster:
    """Every row of the file, every problem and every remark.

    `roles` gives the key of each word that may stand for a role, in small letters. A date in
    `leaves` that lies after `today` is remarked and changes nothing yet. Raises nothing: whatever
    is wrong is a problem with its row and column.
    """
    report = Report()
    entries = [_entry(row, roles, today) for row in read_headed(data, _FORM, report)]
    _refuse_doubles(entries, report)
    return Roster(tuple(entries), report.problems, report.remarks)


def write_roster(rows: Iterable[Iterable[str]]) -> bytes:
    """Rows of cells, in the order of `COLUMNS`, as a file that `read_roster` reads back."""
    return write_headed(COLUMNS, rows)


def listed(words: Iterable[str]) -> str:
    """Several words in one cell."""
    return "; ".join(words)


def _entry(row: Row, roles: Mapping[str, str], today: date) -> Entry:
    number = row.text(NUMBER, required=True)
    if number.startswith("EXAMPLE-"):
        row.refuse(NUMBER, quote(number), "a person's own number; take the row of the example out")
    return Entry(
        row=row.number,
        number=number,
        name=row.text(NAME, limit=NAME_LENGTH, required=True),
        roles=_roles(row, roles),
        certification=_optional(row, CERTIFICATION),
        station=_optional(row, STATION),
        cohorts=_several(row, COHORT),
        ftos=_several(row, FTO),
        leaves=_leaves(row, today),
    )


def _optional(row: Row, column: str) -> str | None:
    return row.text(column, limit=WORD_LENGTH) if column in row.cells else None


def _several(row: Row, column: str) -> tuple[str, ...] | None:
    """The words of a cell, each once; None where there is no such column."""
    if column not in row.cells:
        return None
    text = row.text(column, limit=LISTED * (WORD_LENGTH + 2)).replace("|", ";")
    words: dict[str, str] = {}
    for part in text.split(";"):
        if word := part.strip():
            words.setdefault(word.casefold(), word)
    if len(words) > LISTED:
        row.refuse(column, f"a list of {len(words)}", f"at most {LISTED}")
    for word in words.values():
        if len(word) > WORD_LENGTH:
            row.refuse(column, quote(word), f"at most {WORD_LENGTH} characters each")
    return tuple(words.values())


def _roles(row: Row, roles: Mapping[str, str]) -> tuple[str, ...] | None:
    words = _several(row, ROLES)
    if words is None:
        return None
    accepted = f"one or more of {', '.join(dict.fromkeys(roles.values()))}"
    unknown = [word for word in words if word.casefold() not in roles]
    if unknown or not words:
        row.refuse(ROLES, ", ".join(map(quote, unknown)) or "no value", accepted)
    return tuple({roles[word.casefold()]: None for word in words if word.casefold() in roles})


def _leaves(row: Row, today: date) -> bool:
    """Whether the row says yes, or a day that has come."""
    text = row.text(LEAVES).casefold()
    if not text or text in YES_NO:
        return YES_NO.get(text, False)
    try:
        day = date.fromisoformat(text)
    except ValueError:
        row.refuse(LEAVES, quote(text), "yes, no, or a date such as 2027-01-31")
        return False
    if day > today:
        row.remark(LEAVES, f"stays until {day}; send the file again on that day")
    return day <= today


def _refuse_doubles(entries: list[Entry], report: Report) -> None:
    first: dict[str, Entry] = {}
    for each in entries:
        if each.number:
            earlier = first.setdefault(each.number.casefold(), each)
            if earlier is not each:
                got = f"{quote(each.number)} of row {earlier.row} once more"
                report.refuse("", each.row, NUMBER, got, "one row for each person")
