"""A required list as a file."""

import pytest

from drills.engine.required import MANDATORY, OPTIONAL, UNSAID, Part, Requirement, as_key
from drills.engine.required_file import MAX_ROWS, RequiredFile, read_required, write_required


def read(text: str, *, encoding: str = "utf-8") -> RequiredFile:
    return read_required(text.encode(encoding), as_key)


@pytest.mark.parametrize("sign", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
def test_a_file_is_read_however_a_spreadsheet_saved_it(sign: str, encoding: str) -> None:
    """Any separator, with and without BOM, headers in any case, in any order."""
    header = ["ITEM", "Source", "Min_Qty", "UNIT", "Mandatory/Optional", "Level", "Needs"]
    row = ["Splint", "Plan 7", "2", "each", "Optional", "BLS", "board-splints >= 1"]
    found = read("\r\n".join(map(sign.join, (header, row))), encoding=encoding)

    assert not found.problems
    assert found.rows == (Requirement(2, "Plan 7", "Splint", "BLS", 2, "each", OPTIONAL),)
    assert found.ties == {("bls", "splint"): ((Part("board-splints", 1),),)}


def test_source_and_item_are_enough() -> None:
    """Nothing is made of what a list does not say."""
    (row,) = read("source,item\nPlan 7,Splint\n").rows

    assert (row.quantity, row.asked, row.obligation, row.level) == (None, 1, UNSAID, "")


def test_every_problem_is_named_at_once() -> None:
    """Row, column and what came in, of the whole file."""
    found = read(
        "item;source;min quantity;mandatory\n"
        "A;P;2-4;yes\n"
        "B;P;0;mandatory\n"
        "C;P;-3;perhaps\n"
        ";P;1;no\n"
        "D;;99999999999;no\n"
        "E;P;1,000;\n"
        "a;P;1;\n"
        "F;P;1;no;blue\n"
    )

    said = [(each.row, each.column, each.got) for each in found.problems]
    assert said == [
        (2, "min quantity", '"2-4"'),
        (3, "min quantity", '"0"'),
        (4, "mandatory/optional", '"perhaps"'),
        (4, "min quantity", '"-3"'),
        (5, "item", "no value"),
        (6, "source", "no value"),
        (6, "min quantity", '"99999999999"'),
        (7, "min quantity", '"1,000"'),
        (8, "item", '"a" of this level again, as in row 2'),
        (9, "", "a row of 5 cells"),
    ]
    assert all(each.accepted for each in found.problems)


@pytest.mark.parametrize(
    ("needs", "reason"),
    [
        ("cot; No Such", "“No Such” came in. A need is named by its key"),
        ("cot >= 0", "“0” came in. A number from 1 to"),
        ("; ".join(["cot"] * 13), "13 needs came in for one row. At most 12 are kept."),
    ],
)
def test_what_is_wrong_with_a_tie_is_said(needs: str, reason: str) -> None:
    """Of several needs the one at fault is named, with why."""
    (problem,) = read(f"source,item,needs\nPlan 7,Cot,{needs}\n").problems

    assert problem.column == "needs"
    assert reason in problem.accepted


@pytest.mark.parametrize(
    ("word", "means"),
    [
        ("mandatory", MANDATORY),
        ("YES", MANDATORY),
        ("optional", OPTIONAL),
        ("no", OPTIONAL),
        ("", UNSAID),
        ("unknown", UNSAID),
    ],
)
def test_what_is_not_said_is_not_taken_for_optional(word: str, means: str) -> None:
    """Three things a list may say."""
    (row,) = read(f"source,item,mandatory\nP,Splint,{word}\n").rows

    assert row.obligation == means


def test_nought_of_what_is_optional_is_no_number() -> None:
    """Published lists write so; of what is mandatory it makes no sense."""
    found = read("source,item,min qty,mandatory\nP,Splint,0,no\n")

    assert not found.problems
    assert found.rows[0].quantity is None


def test_an_unknown_column_is_told_and_left_out() -> None:
    """It stops nothing."""
    found = read("source,item,colour\nP,Splint,blue\n")

    assert not found.problems
    assert ["colour" in str(each) for each in found.remarks] == [True]


@pytest.mark.parametrize(
    ("text", "got"),
    [
        ("", "an empty file"),
        ("source,item\n", "a header without rows"),
        ("item\nSplint\n", "no such column"),
        ("source,item,item\nP,A,B\n", "the same column twice"),
        ("source,item\n" + "P,A\n" * (MAX_ROWS + 1), f"{MAX_ROWS + 1} rows"),
        ("source,item,needs\nP,Splint,Nothing We Know\n", '"Nothing We Know"'),
    ],
)
def test_a_file_that_is_no_list_is_refused(text: str, got: str) -> None:
    """Empty, without its columns, too long, or tied to what is not there."""
    assert got in [each.got for each in read(text).problems]


def test_a_file_that_is_no_text_is_refused() -> None:
    """A spreadsheet's own file has no letters to read."""
    (problem,) = read_required(b"source,item\nP,\xff\xfe\n", as_key).problems

    assert "not UTF-8" in problem.got


def test_what_is_written_is_read_back_the_same() -> None:
    """Ties with it, a decision for no need, and what waits."""
    rows = (
        Requirement(2, "Plan, 7", "Gloves; box", "BLS", 200, "each", MANDATORY, "from memory"),
        Requirement(3, "Plan, 7", "=Flag", "", None, "", OPTIONAL),
        Requirement(4, "Plan, 7", "Splint"),
    )
    tie = ((Part("gloves-exam", holds=100),),)

    found = read_required(write_required(zip(rows, (tie, (), None), strict=True)), as_key)

    assert found.rows == rows
    assert found.ties == {rows[0].key: tie, rows[1].key: ()}
