"""Past records as a CSV file: one row for each thing that one person was asked to find, before.

The form is ours, written as `headed` reads it. What a row names is found elsewhere: here it is
read, and whatever no service could accept is refused.
"""

import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, tzinfo

from drills.engine.facts import Fact, bag_fact, steps
from drills.engine.headed import Headed, read_headed, write_headed
from drills.engine.knowing.columns import MODALITIES
from drills.engine.layout import Layout
from drills.engine.prompts import bag_asked
from drills.engine.scoring import PARTLY, RIGHT, WRONG, Finding
from drills.engine.workbook.cells import FIRST_YEAR, Row
from drills.engine.workbook.columns import KEY_LENGTH
from drills.engine.workbook.problems import Report, quote

NUMBER, AT, LAYOUT, ITEM, PLACE = "employee_number", "at", "layout", "item", "place"
OUTCOME, SECONDS, MODALITY = "outcome", "seconds", "modality"
OBSERVED_BY, ASSISTED, REFERENCE = "observed_by", "is_assisted", "source_reference"
COLUMNS = (
    *(NUMBER, AT, LAYOUT, ITEM, PLACE, OUTCOME, SECONDS, MODALITY),
    *(OBSERVED_BY, ASSISTED, REFERENCE),
)
NEEDED = (NUMBER, AT, LAYOUT, ITEM, OUTCOME, MODALITY)
EXAMPLE = (
    *("EXAMPLE-1", "2026-03-14T09:30", "example-rig", "Traction splint, adult", ""),
    *("right", "7.4", "hands-on", "EXAMPLE-2", "no", "walk-round 12"),
)
TIMED_OUT = "timed out"
OUTCOMES = {RIGHT: RIGHT, PARTLY: PARTLY, WRONG: WRONG, TIMED_OUT: WRONG}
_OTHER_WORDS = {"partly right": PARTLY, "cut off": TIMED_OUT, "timeout": TIMED_OUT}

MAX_RECORDS, LONGEST_SECONDS, REFERENCE_LENGTH = 20_000, 3_600, 80
_MOMENT = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}"
    r"([T ][0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{1,6})?)?(Z|[+-][0-9]{2}:?[0-9]{2})?)?"
)
_WANTED_MOMENT = "a date such as 2026-03-14, or with a time such as 2026-03-14T09:30"

_FORM = Headed(
    by_name={column.replace("_", " "): column for column in COLUMNS},
    needed=NEEDED,
    most=MAX_RECORDS,
    of="records",
    empty=f"a header row with {', '.join(NEEDED)}, and a row for each record",
    overhang="a cell with a comma in it takes quotes",
    wants_rows=True,
)


@dataclass(frozen=True, slots=True)
class Entry:
    """What one row says, in the words of the file; `row` is what a person sees in a spreadsheet.

    `at` is a moment with its zone, None where it could not be read. `outcome` is one of `OUTCOMES`
    and `modality` one of those of the evidence, empty where they could not be read; `seconds` is
    None where no time is told.
    """

    row: int
    number: str
    at: datetime | None
    layout: str
    item: str
    place: str
    outcome: str
    seconds: float | None
    modality: str
    observed_by: str
    is_assisted: bool
    reference: str

    @property
    def is_read(self) -> bool:
        """Whether everything that it takes could be read."""
        return bool(self.at and self.number and self.outcome and self.modality)

    @property
    def moment(self) -> datetime:
        """The moment; raises `ValueError` where it could not be read."""
        if self.at is None:
            raise ValueError(f"Row {self.row} has no moment that could be read.")
        return self.at


def read_records(data: bytes, report: Report, *, zone: tzinfo, now: datetime) -> list[Entry]:
    """Every row of the file; every problem goes into the report, and nothing is raised.

    A moment without a zone of its own is in `zone`, and a date alone is the start of that day
    there. What lies after `now` is refused.
    """
    return [_entry(row, zone, now) for row in read_headed(data, _FORM, report)]


def write_records(rows: Iterable[Iterable[str]]) -> bytes:
    """Rows of cells, in the order of `COLUMNS`, as a file that `read_records` reads back."""
    return write_headed(COLUMNS, rows)


def findings_of(layout: Layout, thing: str, place: str, outcome: str) -> tuple[Finding, ...]:
    """What a record tells of each fact: of a thing by its key that lies at `place`, a code, or of a
    bag as `bag_subject` writes it.

    Right tells of every step to the thing. Of any other outcome nobody wrote down whether the bag
    was found, so it tells of the last step alone.
    """
    said = OUTCOMES[outcome]
    if bag := bag_asked(thing):
        return (Finding(bag_fact(layout, bag), said, ""),)
    way = steps(layout, thing, place)
    return tuple(Finding(fact, said, "") for fact in (way if said == RIGHT else way[-1:]))


def source_of(entry: Entry, *, number: str, observed_by: str, fact: Fact) -> str:
    """What the evidence of a row is known by: the same for two rows exactly when they say the same
    of the same fact, however they write it. Takes the numbers as the service writes them."""
    told = (number, entry.moment.timestamp(), entry.layout, str(fact), entry.outcome, entry.seconds)
    more = (entry.modality, observed_by, entry.is_assisted, entry.reference)
    return f"past record {hashlib.sha256(repr((*told, *more)).encode()).hexdigest()}"


def _entry(row: Row, zone: tzinfo, now: datetime) -> Entry:
    number = row.text(NUMBER, required=True)
    if number.startswith("EXAMPLE-"):
        row.refuse(NUMBER, quote(number), "a person's own number; take the row of the example out")
        number = ""
    seconds = row.decimal(SECONDS, LONGEST_SECONDS)
    return Entry(
        row=row.number,
        number=number,
        at=_moment(row, zone, now),
        layout=row.text(LAYOUT, limit=KEY_LENGTH, required=True).casefold(),
        item=row.text(ITEM, required=True),
        place=row.text(PLACE),
        outcome=_outcome(row),
        seconds=None if seconds is None else float(seconds),
        modality=_modality(row),
        observed_by=row.text(OBSERVED_BY),
        is_assisted=row.yes(ASSISTED),
        reference=row.text(REFERENCE, limit=REFERENCE_LENGTH),
    )


def _moment(row: Row, zone: tzinfo, now: datetime) -> datetime | None:
    text = row.text(AT, required=True)
    try:
        read = datetime.fromisoformat(text) if _MOMENT.fullmatch(text) else None
    except ValueError:
        read = None
    if read is None or read.year < FIRST_YEAR:
        if text:
            row.refuse(AT, quote(text), f"{_WANTED_MOMENT}, from {FIRST_YEAR} on")
        return None
    at = read if read.tzinfo else read.replace(tzinfo=zone)
    if at > now:
        row.refuse(AT, f"a moment that is to come, {quote(text)}", "one that is past")
        return None
    return at


def _outcome(row: Row) -> str:
    text = row.text(OUTCOME, required=True)
    word = text.casefold().replace("_", " ").replace("-", " ")
    word = _OTHER_WORDS.get(word, word)
    if text and word not in OUTCOMES:
        row.refuse(OUTCOME, quote(text), f"one of {', '.join(OUTCOMES)}")
        return ""
    return word


def _modality(row: Row) -> str:
    word = row.word(MODALITY, MODALITIES)
    if not word and not row.given(MODALITY):
        row.refuse(MODALITY, "no value", f"one of {', '.join(MODALITIES)}")
    return word
