"""A wrong code is told once, at its root; whatever else is wrong is told as well."""

import pytest

from drills.engine.workbook import read_workbook
from drills.engine.workbook.problems import Problem
from tests.engine.workbook_files import Sheets, csv_zip, good, with_cell, with_row


def problems_of(sheets: Sheets) -> list[Problem]:
    return list(read_workbook(csv_zip(sheets)).problems)


def places_of(sheets: Sheets) -> list[tuple[str, int, str]]:
    return [(each.sheet, each.row, each.column) for each in problems_of(sheets)]


def test_a_code_given_twice_is_told_what_the_others_name():
    """The row that lost its code is blamed, not the rows and lines that name the lost one."""
    sheets = with_cell("compartments", 5, "code", "W1")
    sheets["points"].append(["PANEL", "outlet", "Suction", "curb", "1", "1", "BAG"])

    (problem,) = problems_of(sheets)

    assert (problem.row, problem.column) == (5, "code")
    assert problem.accepted.endswith('perhaps "BAG", which 2 cells name and no row has')


@pytest.mark.parametrize("code", ["W 1", "W;1", "", "W" * 25, "W\x071"])
def test_a_refused_code_is_one_problem_whatever_names_it(code):
    """Compartments, lines and outlets that name the compartment are not to blame."""
    assert places_of(with_cell("compartments", 4, "code", code)) == [("compartments", 4, "code")]


def test_a_refused_code_named_as_it_is_written():
    """Where the others write the refused code too, it is still the one row that is wrong."""
    sheets = with_cell("compartments", 4, "code", "W 1")
    sheets["compartments"][4][2] = sheets["stock"][3][0] = "W 1"
    sheets["points"][3][6] = "W 1"

    assert places_of(sheets) == [("compartments", 4, "code")]


def test_a_pasted_row_is_told_once():
    """A row that repeats another does not overlap it; it is the same row."""
    sheets = good()
    sheets["compartments"].append(sheets["compartments"][2])

    assert places_of(sheets) == [("compartments", 7, "code")]


def test_what_lies_in_a_code_given_twice_is_not_held_against_it():
    """Nobody can say in which of the two it lies, so nothing in them overlaps or is double."""
    sheets = with_cell("compartments", 3, "code", "S1")
    sheets["compartments"] += [
        ["A", "Shelf", "S1", "", "0", "0", "2", "2", *[""] * 8],
        ["B", "Shelf", "S1", "", "0", "0", "2", "2", *[""] * 8],
    ]
    sheets["stock"].append(["S1", "Pry bar", "2", *[""] * 9])

    assert places_of(sheets) == [("compartments", 3, "code")]


def test_a_code_given_twice_makes_no_circle():
    """Which of the two lies in the other cannot be said."""
    sheets = good()
    sheets["compartments"].insert(1, ["W1", "Pouch", "BAG", *[""] * 13])

    assert places_of(sheets) == [("compartments", 5, "code")]


def test_a_face_that_is_refused_overlaps_nothing():
    """What was meant to stand elsewhere is not laid over what stands in the same parent."""
    sheets = with_row("compartments", "KIT", "Kit", "W1", "roof", "0", "0", "4", "4")

    assert places_of(sheets) == [("compartments", 7, "face")]


def test_a_parent_that_no_row_has_is_no_place_at_the_top():
    """What lies in it is not laid over the doors of the rig."""
    sheets = with_row("compartments", "KIT", "Kit", "W9", "street", "0", "1", "4", "6")

    assert places_of(sheets) == [("compartments", 7, "inside")]


def test_what_lies_in_one_unknown_parent_still_overlaps():
    """Wherever that parent is, the two share area in it."""
    sheets = good()
    for code in ("KIT", "BOX"):
        sheets["compartments"].append([code, code, "W9", "", "0", "0", "4", "4", *[""] * 8])

    assert places_of(sheets) == [
        ("compartments", 7, "inside"),
        ("compartments", 8, "x"),
        ("compartments", 8, "inside"),
    ]


def test_more_unknown_codes_than_refused_rows_are_all_told():
    """Where the refused row cannot explain them all, every cell is told."""
    sheets = with_cell("compartments", 5, "code", "W1")
    sheets["stock"].append(["NOPE", "Torch", "1", *[""] * 9])

    assert places_of(sheets) == [
        ("compartments", 5, "code"),
        ("compartments", 6, "inside"),
        ("stock", 5, "compartment"),
    ]


def test_a_pasted_row_hides_no_unknown_code():
    """A row pasted twice has lost no code, so whoever names another one is wrong himself."""
    sheets = good()
    sheets["compartments"].append(sheets["compartments"][2])
    sheets["stock"].append(["NOPE", "Torch", "1", *[""] * 9])

    assert places_of(sheets) == [("compartments", 7, "code"), ("stock", 5, "compartment")]


def test_independent_mistakes_are_told_beside_a_code_given_twice():
    """The second row of a code is read to its end, and so is everything else."""
    sheets = with_cell("compartments", 3, "code", "s1")
    sheets["compartments"][2][4:8] = ["14", "1", "4", "6"]
    sheets["compartments"].append(["S3", "Bin", "", "street", "15", "2", "2", "2", *[""] * 8])
    sheets["compartments"].append(["S4", "Bin", "", "roof", "0", "0", "2", "2", *[""] * 8])
    sheets["stock"][1][2] = "0"
    sheets["points"][3][6] = "W8;W9"

    assert places_of(sheets) == [
        ("compartments", 3, "code"),
        ("compartments", 7, "x"),
        ("compartments", 8, "face"),
        ("stock", 2, "par"),
        ("points", 4, "serves"),
        ("points", 4, "serves"),
    ]


def test_many_refused_rows_are_told_quickly():
    """What a row is told it may be is not looked for again for each of thousands."""
    sheets = good()
    sheets["compartments"] += [["S1", f"Bin {n}", "W1", *[""] * 13] for n in range(9_000)]
    sheets["stock"].append(["NOPE", "Torch", "1", *[""] * 9])

    told = [each for each in problems_of(sheets) if "NOPE" in each.accepted]

    assert len(told) == 3
