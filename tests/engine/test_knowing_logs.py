"""A log as CSV: what is read, what is refused in which words, and the same rows coming out."""

import csv
import io
from collections.abc import Sequence

import pytest

from drills.engine.door import NotUnderstoodError
from drills.engine.knowing.logs import COLUMNS, predicted_log, read_log

HEADER = ",".join(COLUMNS)
ROWS = (
    "2026-03-01T08:00:00,a,splint,box,screen,right,4.5,probe",
    "2026-03-01T07:00:00+00:00,b,splint,box,hands-on,timed out,15,assigned",
    "2026-03-02,a,splint,van,scan,wrong,,model",
    "2026-03-03T09:30:00Z,a,splint,box,screen,partly right,6,retry",
)


REST = "%s,a,x,box,radio,right,2,probe"


def log(*rows: str, header: str = HEADER) -> str:
    return "\n".join((header, *rows)) + "\n"


def test_the_same_rows_come_out_with_a_chance() -> None:
    """Each row comes out as it came in and where it stood, with a chance between 0 and 1."""
    told = list(csv.DictReader(io.StringIO(predicted_log(log(*ROWS)))))

    assert [",".join(row[name] for name in COLUMNS) for row in told] == list(ROWS)
    assert all(0.0 < float(row["probability"]) < 1.0 for row in told)


def test_rows_are_taken_in_order_of_time() -> None:
    """The row that came second is the older one, and is what the first is told by."""
    read = read_log(log(*ROWS))

    assert read.order.tolist() == [1, 0, 2, 3]
    assert read.answers.right.tolist() == [0.0, 1.0, 0.0, 0.5]
    assert read.answers.ran_out.tolist() == [True, False, False, False]
    assert read.answers.modality.tolist() == [2, 0, 1, 0]
    assert read.answers.scored.tolist() == [True, True, True, False]
    assert read.answers.time[1] - read.answers.time[0] == pytest.approx(1 / 24)


def test_each_row_gets_its_own_chance_wherever_it_stands() -> None:
    """The rows turned round come out with the chances that they have in order of time."""

    def told(rows: Sequence[str]) -> list[tuple[str, str]]:
        read = csv.DictReader(io.StringIO(predicted_log(log(*rows))))
        return [(row["time"], row["probability"]) for row in read]

    in_time = [f"{day},a,x,box,screen,{day % 3 != 1:d},,probe" for day in range(8)]
    turned = [in_time[at] for at in (5, 2, 7, 0, 3, 6, 1, 4)]

    assert len({chance for _, chance in told(in_time)}) == 8
    assert sorted(told(turned)) == told(in_time)
    assert [time for time, _ in told(turned)] == [row[0] for row in turned]


def test_a_later_outcome_changes_no_earlier_chance() -> None:
    """With the last outcome turned round every other chance stays as it is."""
    turned = predicted_log(log(*ROWS[:3], ROWS[3].replace("partly right", "wrong")))
    both = [predicted_log(log(*ROWS)).splitlines(), turned.splitlines()]

    assert both[0][:4] == both[1][:4]


@pytest.mark.parametrize("times", [("0", "1.5"), ("1772352000", "1772481600")])
def test_days_and_seconds_are_read_as_numbers(times: tuple[str, str]) -> None:
    """Small numbers are days, great ones seconds since 1970."""
    rows = [f"{time},a,x,box,screen,1,,probe" for time in times]
    days = read_log(log(*rows)).answers.time

    assert days[1] - days[0] == pytest.approx(1.5)


def test_what_may_stand_beside_is_read() -> None:
    """The place makes another fact of a thing that moved, and choices say what chance gives."""
    header = f"{HEADER},place,choices,own"
    rows = (
        "1,a,splint,box,screen,right,4,probe,W1,50,x",
        "2,a,splint,box,screen,right,4,probe,W2,,y",
        "3,b,splint,box,screen,right,4,probe,W2,4,z",
    )
    read = read_log(log(*rows, header=header)).answers

    assert read.fact.tolist() == [0, 1, 1]
    assert read.slot.tolist() == [0, 0, 0]
    assert read.moved.tolist()[1:] == [2.0, 2.0]
    assert read.guess.tolist() == [0.02, 0.0, 0.25]
    assert predicted_log(log(*rows, header=header)).splitlines()[1].startswith(rows[0])


def test_a_chance_that_came_in_is_told_anew() -> None:
    """A log that was predicted once is read again, and its old chances are not looked at."""
    once = predicted_log(log(*ROWS))

    assert predicted_log(once) == once


def test_one_choice_alone_gives_no_chance_away() -> None:
    """Offered one choice, nobody is right by chance: the row is as one with no choices named."""
    told = [
        predicted_log(log(f"1,a,x,box,screen,wrong,2,probe,{one}", header=f"{HEADER},choices"))
        for one in ("1", "")
    ]

    assert {text.splitlines()[1].split(",")[-1] for text in told} == {"0.500000"}


def test_an_empty_log_comes_out_empty() -> None:
    """A log of no rows has none, and its columns."""
    assert predicted_log(log()) == f"{HEADER},probability\n"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "columns: nothing came in; time is missing."),
        (log(header=HEADER.replace("outcome", "result")), "outcome is missing."),
        (log(header=f"{HEADER},time"), "columns: time came in twice."),
        (log("1,a,x,box,screen,right,2"), "row 2: 7 values came in; 8 are accepted"),
        (log("soon,a,x,box,screen,right,2,probe"), "row 2, time: 'soon' came in;"),
        (log("nan,a,x,box,screen,right,2,probe"), "row 2, time: 'nan' came in;"),
        (log("1,a,x,box,radio,right,2,probe"), "row 2, modality: 'radio' came in; screen,"),
        (log("1,a,x,box,screen,maybe,2,probe"), "row 2, outcome: 'maybe' came in; right,"),
        (log("1,a,x,box,screen,right,-2,probe"), "row 2, seconds: '-2' came in; a number of at"),
        (log("1,a,x,box,screen,right,inf,probe"), "row 2, seconds: 'inf' came in; a number of"),
        (log(ROWS[0], "5,a,x,box,screen,right,2,probe"), "row 3, time: '5' came in; a date and"),
        (log("", "1,a,x,box,screen,right,2,probe", "", REST % "2"), "row 5, modality: 'radio'"),
        (log('1,a,"x\n\ny",box,screen,right,2,probe', REST % "2"), "row 5, modality: 'radio'"),
        (log("", '1,a,"x\n\ny",box,radio,right,2,probe'), "row 3, modality: 'radio' came in;"),
        (log(REST % "2", "1,a,x,box,tv,right,2,probe", ""), "row 3, modality: 'tv' came in;"),
        (log("1, ,x,box,screen,right,2,probe"), "row 2, person: '' came in; a name is accepted."),
        (log("1,a,,box,screen,right,2,probe"), "row 2, item: '' came in; a name is accepted."),
        (log("1,a,x\0,box,screen,right,2,probe"), "standard input: it is no text in UTF-8;"),
        (log("1,a,x\udcff,box,screen,right,2,probe"), "standard input: it is no text in UTF-8;"),
        (
            log(f"1,{'a' * 200_000},x,box,screen,right,2,probe"),
            "line 2: it is no CSV (field larger",
        ),
        (
            log("1,a,x,box,screen,right,2,probe,0", header=f"{HEADER},choices"),
            "row 2, choices: '0' came in; a number of at least 1",
        ),
    ],
)
def test_what_cannot_be_read_is_named(text: str, words: str) -> None:
    """The message names the row, the column, what came in and what would be accepted."""
    with pytest.raises(NotUnderstoodError) as refused:
        predicted_log(text)

    assert words in str(refused.value)


def at(*times: str) -> str:
    return log(*(f"{time},a,x,box,screen,right,2,probe" for time in times))


@pytest.mark.parametrize(
    ("times", "words"),
    [
        # Of another unit than the first row.
        (("999000", "1000100"), "row 3, time: '1000100' came in; days as a number from 0 to 1000"),
        (("0", "1772352000"), "row 3, time: '1772352000' came in; days as a number from 0 to"),
        (("1772352000", "5"), "row 3, time: '5' came in; seconds since 1970 from 315532800 to 410"),
        (("5", "2026-03-01"), "row 3, time: '2026-03-01' came in; days as a number from 0 to"),
        (("1", "2", "soon", "3"), "row 4, time: 'soon' came in; days as a number from 0 to"),
        (("1", "2", "nan"), "row 4, time: 'nan' came in; days as a number from 0 to 1000000"),
        # No time that can be.
        (("-5", "1e300"), "row 2, time: '-5' came in; a date and time such as 2026-03-01T08:30:00"),
        (("5", "1e300"), "row 3, time: '1e300' came in; days as a number from 0 to 1000000"),
        (("5", "-5"), "row 3, time: '-5' came in; days as a number from 0 to 1000000"),
        (("1e300",), "row 2, time: '1e300' came in; a date and time such as 2026-03-01T08:30:00"),
        (("inf",), "row 2, time: 'inf' came in; a date and time"),
        (("-inf",), "row 2, time: '-inf' came in; a date and time"),
        (("1772352000000",), "row 2, time: '1772352000000' came in; a date and time"),
        (("20260301",), "row 2, time: '20260301' came in; a date and time"),
        (("0001-01-01T00:00:00+14:00",), "row 2, time: '0001-01-01T00:00:00+14:00' came in; a"),
        (("1899-12-31T23:59:59",), "row 2, time: '1899-12-31T23:59:59' came in; a date and time"),
        (("2026-03-01", "2100-01-02"), "row 3, time: '2100-01-02' came in; a date and time"),
        (("2026-03-01", "9999-12-31T23:59:59-14:00"), "row 3, time: '9999-12-31T23:59:59-14:00'"),
        # More than a hundred years from the first row: seconds from the first, taken for days.
        (("0", "36525.5"), "at most 100 years from the first row's"),
        (("1900-01-01", "2000-01-03"), "at most 100 years from the first row's"),
    ],
)
def test_times_are_of_the_first_rows_kind_and_can_be(times: tuple[str, ...], words: str) -> None:
    """The row whose time is of another kind, or none that can be, is refused by its number."""
    with pytest.raises(NotUnderstoodError) as refused:
        predicted_log(at(*times))

    assert words in str(refused.value)


@pytest.mark.parametrize(
    "times",
    [
        ("1000000", "963475"),
        ("315532800", "3471206400"),
        ("4102444800",),
        ("1900-01-01", "2000-01-01"),
        ("2100-01-01",),
    ],
)
def test_the_outermost_times_are_told(times: tuple[str, ...]) -> None:
    """The first and last times that are accepted have a chance like any other."""
    told = csv.DictReader(io.StringIO(predicted_log(at(*times))))

    assert all(0.0 < float(row["probability"]) < 1.0 for row in told)


def test_a_later_row_changes_no_unit() -> None:
    """What earlier rows say stands whatever comes later: the same rows, or no row at all."""
    days = ("999000", "999400", "999900")
    once = predicted_log(at(*days)).splitlines()

    assert predicted_log(at(*days, "1000000")).splitlines()[: len(once)] == once
    with pytest.raises(NotUnderstoodError):
        predicted_log(at(*days, "1000100"))
