"""A log of answers as CSV: read, put in order of time, and written with what was predicted."""

import csv
import io
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from drills.engine.door import NotUnderstoodError, shown
from drills.engine.knowing.columns import (
    HANDS_ON,
    MODALITIES,
    SCAN,
    SCREEN,
    Answers,
    Floats,
    Ints,
    came_lately,
    came_to_place,
    numbered,
)
from drills.engine.knowing.rolling import predict_rows

COLUMNS = ("time", "person", "item", "layout", "modality", "outcome", "seconds", "chosen")
# What may stand beside them: the place of the item, its need and category, the kind of prompt, and
# how many choices it offered.
MAY_STAND = ("place", "need", "category", "kind", "choices")
ADDED = "probability"
RETRY = "retry"
RAN_OUT = ("timed out", "timeout", "cut off")
OUTCOMES = {
    **dict.fromkeys(("right", "correct", "late", "1", "true", "yes"), 1.0),
    **dict.fromkeys(("partly", "partly right", "0.5"), 0.5),
    **dict.fromkeys(("wrong", "incorrect", "0", "false", "no", "unsafe", "out of tolerance"), 0.0),
    **dict.fromkeys(RAN_OUT, 0.0),
}
MANNERS = {
    **{name.replace("-", " "): float(number) for number, name in enumerate(MODALITIES)},
    "on screen": float(SCREEN),
    "scan alone": float(SCAN),
    "hands on observed": float(HANDS_ON),
}
DAY = 86_400.0
# What follows of times is ours, without a source. A first row of a plain number up to this makes a
# log of days, above it one of seconds since 1970.
MOST_DAYS = 1e6
# Dates are from the first of these to the last; seconds from the second, so that neither 20260301
# nor milliseconds are taken for any.
FIRST_DATE, FIRST_SECONDS, LAST = (datetime(year, 1, 1, tzinfo=UTC) for year in (1900, 1980, 2100))
# So far a time may be from that of the first row.
MOST_APART = 36_525.0
MOST_ROWS = 2_000_000


@dataclass(frozen=True, slots=True)
class Log:
    """The rows as they came in, which of them comes how manieth in time, and what they say."""

    names: tuple[str, ...]
    rows: tuple[Mapping[str, str], ...]
    order: Ints
    answers: Answers


def predicted_log(text: str) -> str:
    """The same rows, in the same order, with `probability`: each from earlier rows alone.

    Rows of the same time count in the order they came in. `NotUnderstoodError` names the row, the
    column, what came in and what would be accepted.
    """
    log = read_log(text)
    found = np.empty(len(log.rows))
    found[log.order] = predict_rows(log.answers)
    return _written(log, found)


def _written(log: Log, found: Floats) -> str:
    told = io.StringIO()
    writer = csv.DictWriter(told, (*log.names, ADDED), lineterminator="\n")
    writer.writeheader()
    for row, chance in zip(log.rows, found, strict=True):
        writer.writerow({**row, ADDED: f"{chance:.6f}"})
    return told.getvalue()


def read_log(text: str) -> Log:
    """Read the CSV; columns beyond those named are kept and not looked at."""
    _refuse_what_is_no_text(text)
    header, numbers, rows = _read(text.lstrip("\ufeff"))
    if len(rows) > MOST_ROWS:
        raise NotUnderstoodError(f"{len(rows)} rows came in; at most {MOST_ROWS} are accepted.")
    days = _days([row["time"] for row in rows], numbers)
    order = np.argsort(days, kind="stable")
    in_time = [rows[at] for at in order]
    answers = _answers(in_time, [numbers[at] for at in order], days[order])
    return Log(tuple(name for name in header if name != ADDED), tuple(rows), order, answers)


def _refuse_what_is_no_text(text: str) -> None:
    """Bytes that are no UTF-8 come in as halves of characters, which nothing can write again."""
    if "\0" in text or any("\ud800" <= each <= "\udfff" for each in text):
        raise NotUnderstoodError("standard input: it is no text in UTF-8; a CSV in UTF-8 is.")


def _read(text: str) -> tuple[list[str], list[int], list[dict[str, str]]]:
    """The columns, the line on which each row begins, by which a message calls it, and the rows."""
    reader, numbers, rows = csv.reader(io.StringIO(text)), [], []
    try:
        header = [name.strip().lower() for name in next(reader, [])]
        _refuse_header(header)
        line = reader.line_num + 1
        for values in reader:
            if values:
                numbers.append(line)
                rows.append(_row(header, values, line))
            line = reader.line_num + 1
    except csv.Error as error:
        raise NotUnderstoodError(f"line {reader.line_num}: it is no CSV ({error}).") from error
    return header, numbers, rows


def _row(header: Sequence[str], values: Sequence[str], number: int) -> dict[str, str]:
    if len(values) != len(header):
        raise NotUnderstoodError(
            f"row {number}: {len(values)} values came in; {len(header)} are accepted, one for each "
            "column."
        )
    return dict(zip(header, values, strict=True))


def _refuse_header(header: Sequence[str]) -> None:
    for name in COLUMNS:
        if name not in header:
            raise NotUnderstoodError(
                f"columns: {', '.join(header) or 'nothing'} came in; {name} is missing. Wanted are "
                f"{', '.join(COLUMNS)}; {', '.join(MAY_STAND)} may stand beside them."
            )
    twice = [name for name in header if header.count(name) > 1]
    if twice:
        raise NotUnderstoodError(f"columns: {twice[0]} came in twice.")


def _seconds(said: str) -> float:
    """A date and time as seconds since 1970; NaN of what is none."""
    try:
        at = datetime.fromisoformat(said.strip())
    except ValueError:
        return np.nan
    return (at if at.tzinfo else at.replace(tzinfo=UTC)).timestamp()


def _number(said: str) -> float:
    try:
        return float(said)
    except ValueError:
        return np.nan


@dataclass(frozen=True, slots=True)
class _Kind:
    """A kind of times: how one is read, from what to what it may be, and how long a day is."""

    words: str
    read: Callable[[str], float]
    least: float
    most: float
    day: float


_DATES = _Kind(
    f"a date and time such as 2026-03-01T08:30:00, from {FIRST_DATE:%Y-%m-%d} to {LAST:%Y-%m-%d}",
    *(_seconds, FIRST_DATE.timestamp(), LAST.timestamp(), DAY),
)
_IN_DAYS = _Kind(f"days as a number from 0 to {MOST_DAYS:.0f}", _number, 0.0, MOST_DAYS, 1.0)
_IN_SECONDS = _Kind(
    f"seconds since 1970 from {FIRST_SECONDS.timestamp():.0f} to {LAST.timestamp():.0f} "
    f"({FIRST_SECONDS:%Y-%m-%d} to {LAST:%Y-%m-%d})",
    *(_number, FIRST_SECONDS.timestamp(), LAST.timestamp(), DAY),
)


def _kind(first: str) -> _Kind:
    """What kind of times a log has, told by its first row alone."""
    try:
        return _IN_SECONDS if float(first) > MOST_DAYS else _IN_DAYS
    except ValueError:
        return _DATES


def _days(said: Sequence[str], numbers: Sequence[int]) -> Floats:
    """Times as days, all of them of the kind of the first row."""
    if not said:
        return np.empty(0)
    kind = _kind(said[0])
    found = np.array([kind.read(each) for each in said])
    can_be = (found >= kind.least) & (found <= kind.most)
    if not can_be[0]:
        either = f"{_DATES.words}, {_IN_DAYS.words}, or {_IN_SECONDS.words}, is accepted"
        raise _refused(numbers[0], "time", said[0], either)
    can_be &= np.abs(found - found[0]) <= MOST_APART * kind.day
    if not can_be.all():
        at = int(np.flatnonzero(~can_be)[0])
        near = f"at most 100 years from the first row's {shown(said[0])}"
        raise _refused(numbers[at], "time", said[at], f"{kind.words}, {near}, is accepted")
    return found / kind.day


def _refused(number: int, column: str, said: str, accepted: str) -> NotUnderstoodError:
    return NotUnderstoodError(f"row {number}, {column}: {shown(said)} came in; {accepted}.")


def _answers(rows: Sequence[Mapping[str, str]], numbers: Sequence[int], time: Floats) -> Answers:
    """Rows in order of time, as columns; `numbers` are those a message calls them by."""
    read = _Columns(rows, numbers)
    item, layout, place = read.named("item"), read.words("layout"), read.words("place")
    slot = numbered(list(zip(item, layout, strict=True)))
    fact = numbered(list(zip(item, layout, place, strict=True)))
    choices = read.numbers("choices", least=1.0, without=1.0)
    person, outcome = numbered(read.named("person")), read.known("outcome", OUTCOMES)
    return Answers(
        time=time,
        person=person,
        fact=fact,
        need=numbered(
            [need or thing for need, thing in zip(read.words("need"), item, strict=True)]
        ),
        place=numbered(list(zip(layout, place, strict=True))),
        spot=numbered(place),
        slot=slot,
        category=numbered(read.words("category")),
        kind=numbered(read.words("kind")),
        modality=read.known("modality", MANNERS).astype(np.int64),
        right=outcome,
        seconds=read.numbers("seconds", least=0.0, without=np.nan),
        ran_out=np.array([_plain(each) in RAN_OUT for each in read.words("outcome")], dtype=bool),
        # Who is offered one choice alone is asked without any.
        guess=np.where(choices > 1.0, 1.0 / choices, 0.0),
        moved=came_to_place(time, fact, slot, np.arange(len(time))),
        came=came_lately(time, person),
        skill=np.zeros(len(time), dtype=bool),
        counts=np.ones(len(time), dtype=bool),
        scored=np.array([_plain(each) != RETRY for each in read.words("chosen")], dtype=bool),
    )


@dataclass(frozen=True, slots=True)
class _Columns:
    """Rows of words, read by column."""

    rows: Sequence[Mapping[str, str]]
    called: Sequence[int]

    def words(self, name: str) -> list[str]:
        return [row.get(name, "").strip() for row in self.rows]

    def named(self, name: str) -> list[str]:
        said = self.words(name)
        for number, word in zip(self.called, said, strict=True):
            if not word:
                raise _refused(number, name, word, "a name is accepted")
        return said

    def known(self, name: str, meanings: Mapping[str, float]) -> Floats:
        said = self.words(name)
        for number, word in zip(self.called, said, strict=True):
            if _plain(word) not in meanings:
                raise _refused(number, name, word, f"{', '.join(meanings)} are accepted")
        return np.array([meanings[_plain(word)] for word in said], dtype=float)

    def numbers(self, name: str, *, least: float, without: float) -> Floats:
        found = np.full(len(self.rows), without)
        for at, (number, word) in enumerate(zip(self.called, self.words(name), strict=True)):
            if not word:
                continue
            try:
                found[at] = float(word)
            except ValueError:
                found[at] = np.nan
            if not least <= found[at] < np.inf:
                accepted = f"a number of at least {least:g}, or nothing, is accepted"
                raise _refused(number, name, word, accepted)
        return found


def _plain(word: str) -> str:
    return " ".join(word.lower().replace("-", " ").replace("_", " ").split())
