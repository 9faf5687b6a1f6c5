"""The roster as a file: every form it may come in, and every problem at once."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.roster import (
    COLUMNS,
    EXAMPLE,
    MAX_PEOPLE,
    Entry,
    Roster,
    listed,
    read_roster,
    write_roster,
)
from drills.engine.workbook.cells import tidy

TODAY = date(2026, 11, 25)
ROLES = {"crew": "crew", "crew member": "crew", "fto": "fto", "admin": "admin"}
FULL = Entry(
    row=2,
    number="E1",
    name="Ä. Nybö",
    roles=("crew", "fto"),
    certification="EMT",
    station="Low Bench",
    cohorts=("Spring intake", "Winter intake"),
    ftos=("E7", "E8"),
)
HEADER = "employee number,name,roles,certification,station,cohort,FTO"
ROW = "E1,Ä. Nybö,crew;fto,EMT,Low Bench,Spring intake; Winter intake,E7;E8"


def read(text: str | bytes) -> Roster:
    data = text if isinstance(text, bytes) else text.encode()
    return read_roster(data, roles=ROLES, today=TODAY)


def told(roster: Roster) -> list[tuple[int, str, str, str]]:
    return [(each.row, each.column, each.got, each.accepted) for each in roster.problems]


class TestForms:
    @pytest.mark.parametrize(
        "text",
        [
            f"{HEADER}\n{ROW}\n",
            f"\ufeff{HEADER}\r\n{ROW}\r\n",
            f"{HEADER}\n{ROW}\n".replace(",", "\t"),
            f"{HEADER}\n{ROW}\n".replace(";", "|").replace(",", ";"),
            f"{HEADER.upper()}\n{ROW}",
            f"{HEADER.replace(' ', '_')}\n{ROW}",
            f'{HEADER}\nE1,"Ä.  Nybö","crew;fto",EMT,Low Bench,Spring intake|Winter intake,E7|E8',
            "name,FTO,Cohort,STATION,certification,roles,Employee-Number\n"
            "Ä. Nybö,E7;E8,Spring intake;Winter intake,Low Bench,EMT,FTO;Crew member,E1",
        ],
        ids=[
            *("commas", "BOM and CRLF", "tabs", "semicolons", "capitals", "underscores", "quotes"),
            "another order",
        ],
    )
    def test_the_same_person_comes_out_of_each(self, text: str) -> None:
        found = read(text)

        assert found.problems == ()
        (entry,) = found.entries
        assert set(entry.roles or ()) == {"crew", "fto"}
        assert entry == Entry(
            **{name: getattr(FULL, name) for name in Entry.__slots__ if name != "roles"},
            roles=entry.roles,
        )

    def test_blank_rows_are_passed_over_and_rows_keep_their_numbers(self) -> None:
        found = read("employee number,name\n\n , \nE1,Bo\n")

        assert [(each.row, each.number) for each in found.entries] == [(4, "E1")]

    def test_a_column_that_is_not_there_differs_from_an_empty_cell(self) -> None:
        (without,) = read("employee number,name\nE1,Bo\n").entries
        (empty,) = read("employee number,name,station,cohort,fto\nE1,Bo\n").entries

        assert (without.station, without.cohorts, without.ftos) == (None, None, None)
        assert (empty.station, empty.cohorts, empty.ftos) == ("", (), ())
        assert without.roles is None

    def test_an_unknown_column_is_remarked_and_kept_out(self) -> None:
        found = read("employee number,name,Locker,\nE1,Bo,12,\n")

        assert found.problems == ()
        assert [str(each) for each in found.remarks] == [
            'File, row 1, column "Locker": this column is not known and is kept out.',
            "File, row 1, column number 4: this column is not known and is kept out.",
        ]

    def test_a_formula_that_was_guarded_is_read_as_it_was(self) -> None:
        (entry,) = read(write_roster([("E1", "=Bo", "crew", "", "", "", "", "")])).entries

        assert entry.name == "=Bo"
        assert b"'=Bo" in write_roster([("E1", "=Bo", "crew", "", "", "", "", "")])


class TestLeaves:
    @pytest.mark.parametrize(
        ("cell", "leaves"),
        [
            ("", False),
            ("no", False),
            ("YES", True),
            ("2026-11-25", True),
            ("2020-01-01", True),
            ("2026-11-26", False),
        ],
    )
    def test_yes_or_a_day_that_has_come(self, cell: str, leaves: bool) -> None:
        (entry,) = read(f"employee number,name,leaves\nE1,Bo,{cell}\n").entries

        assert entry.leaves is leaves

    def test_a_day_to_come_is_remarked(self) -> None:
        (remark,) = read("employee number,name,leaves\nE1,Bo,2026-11-26\n").remarks

        assert "stays until 2026-11-26; send the file again on that day" in str(remark)

    def test_anything_else_is_a_problem(self) -> None:
        found = read("employee number,name,leaves\nE1,Bo,soon\n")

        accepted = "yes, no, or a date such as 2027-01-31"
        assert told(found) == [(2, "leaves", '"soon"', accepted)]


class TestProblems:
    def test_every_one_is_told_at_once_with_row_and_column(self) -> None:
        found = read("employee number,name,roles\n,Bo,crew\nE2,,boss\ne3,Cy,\nE3,Di,crew;chief\n")

        one_of = "one or more of crew, fto, admin"
        assert told(found) == [
            (2, "employee number", "no value", "a value in this column"),
            (3, "name", "no value", "a value in this column"),
            (3, "roles", '"boss"', one_of),
            (4, "roles", "no value", one_of),
            (5, "roles", '"chief"', one_of),
            (5, "employee number", '"E3" of row 4 once more', "one row for each person"),
        ]

    @pytest.mark.parametrize(
        ("text", "row", "column", "got"),
        [
            ("", 0, "", "an empty file"),
            (b"\xff\xfe", 1, "", "the byte 0xff, which is not UTF-8,"),
            ("name\nBo\n", 1, "employee number", "no such column"),
            ("employee number,name,NAME\n", 1, "name", "the same column twice"),
            ('employee number,name\n"E1,Bo\n', 2, "", "text that cannot be split into cells"),
        ],
        ids=["empty", "not UTF-8", "no number", "twice", "open quote"],
    )
    def test_a_file_that_is_none_says_what_is_wrong(
        self, text: str | bytes, row: int, column: str, got: str
    ) -> None:
        problem = read(text).problems[0]

        assert (problem.row, problem.column, problem.got) == (row, column, got)

    def test_a_value_under_no_header_has_shifted_the_row(self) -> None:
        (problem,) = read("employee number;name;roles\nE1;Bo;crew;fto\n").problems

        assert (problem.row, problem.got) == (2, "a row of 4 cells")
        assert problem.accepted.endswith("several words in one cell take | between")

    def test_empty_cells_under_no_header_are_none(self) -> None:
        assert read("employee number,name\nE1,Bo,,\n").problems == ()

    def test_the_row_of_the_example_is_no_person(self) -> None:
        (problem,) = read_roster(
            write_roster([EXAMPLE]), roles={"crew": "crew"}, today=TODAY
        ).problems

        assert problem.column == "employee number"
        assert problem.accepted == "a person's own number; take the row of the example out"

    def test_more_people_than_a_service_has_are_refused(self) -> None:
        rows = "".join(f"E{number},Bo\n" for number in range(MAX_PEOPLE + 1))

        (problem,) = read(f"employee number,name\n{rows}").problems

        assert problem.got == f"{MAX_PEOPLE + 1} rows"

    @pytest.mark.parametrize("cell", ["a\x00b", "x" * 121])
    def test_a_name_that_is_none_is_refused(self, cell: str) -> None:
        assert [each.column for each in read(f"employee number,name\nE1,{cell}\n").problems] == [
            "name"
        ]

    @given(st.binary(max_size=200))
    def test_no_file_breaks_the_reading(self, data: bytes) -> None:
        found = read(b"employee number,name,leaves,roles\n" + data)

        assert isinstance(found, Roster)


_words = st.text(st.characters(codec="utf-8", categories=("L", "N")), min_size=1, max_size=8)


@given(number=_words, name=_words, roles=st.sets(st.sampled_from(["crew", "fto"]), min_size=1))
def test_what_is_written_is_read_back(number: str, name: str, roles: set[str]) -> None:
    row = (number, f"@{name}", listed(roles), "", f"={name}", listed([name, "x"]), "", "no")

    found = read(write_roster([row]))

    (entry,) = found.entries
    assert len(row) == len(COLUMNS)
    assert set(entry.roles or ()) == roles
    assert (entry.number, entry.name) == (tidy(number), tidy(f"@{name}"))
    assert entry.ftos == ()
