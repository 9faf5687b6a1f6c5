"""Unusual workbooks that are read all the same, and what is made of them."""

import time
from datetime import date, datetime
from decimal import Decimal

import pytest

from drills.engine.workbook import read_workbook
from tests.engine.workbook_files import (
    DEMO,
    LAYOUTS,
    as_csv,
    as_xlsx,
    as_zip,
    csv_zip,
    good,
    with_cell,
    with_row,
    without,
)


def _each_csv(change):
    return as_zip({name: change(data) for name, data in as_csv(good()).items()})


def _headers_shouted():
    sheets = good()
    for rows in sheets.values():
        rows[0] = [f"  {cell.upper()} " for cell in rows[0]]
    return csv_zip(sheets)


def _columns_turned():
    return csv_zip({name: [row[::-1] for row in rows] for name, rows in good().items()})


def _blank_rows():
    return csv_zip({name: [["", " "], *rows, [], [""]] for name, rows in good().items()})


def _numbers_as_numbers():
    sheets = with_cell("stock", 2, "par", 1.0)
    sheets["stock"][1][8] = 3.2
    sheets["stock"][1][5] = False
    sheets["stock"][2][5] = True
    sheets["stock"][2][10] = date(2027, 7, 31)
    sheets["layout"][4][1] = 6.5
    for row in sheets["compartments"][1:5]:
        row[4:8] = [float(cell) for cell in row[4:8]]
    return as_xlsx(sheets)


def _midnight():
    return as_xlsx(with_cell("stock", 3, "expires", datetime(2027, 7, 31)))  # noqa: DTZ001 - a cell knows no zone


# Each reads as exactly the good workbook does.
THE_SAME = {
    "spreadsheet": (as_xlsx(good()), "rig.xlsx"),
    "spreadsheet of no name": (as_xlsx(good()), ""),
    "name in capitals": (as_xlsx(good()), "RIG.XLSX"),
    "archive in a folder": (as_zip(as_csv(good()), folder="rig/"), "rig.zip"),
    "byte order mark": (_each_csv(lambda data: b"\xef\xbb\xbf" + data), "rig.zip"),
    "semicolons": (as_zip(as_csv(good(), delimiter=";")), "rig.zip"),
    "tabs": (as_zip(as_csv(good(), delimiter="\t")), "rig.zip"),
    "crlf": (as_zip(as_csv(good(), newline="\r\n")), "rig.zip"),
    "cr alone": (_each_csv(lambda data: data.replace(b"\n", b"\r")), "rig.zip"),
    "headers in capitals": (_headers_shouted(), "rig.zip"),
    "columns turned round": (_columns_turned(), "rig.zip"),
    "blank rows": (_blank_rows(), "rig.zip"),
    "sheet names in capitals": (as_xlsx({k.upper(): v for k, v in good().items()}), "rig.xlsx"),
    "file names in capitals": (
        as_zip({name.upper(): data for name, data in as_csv(good()).items()}),
        "rig.zip",
    ),
    "typed cells": (_numbers_as_numbers(), "rig.xlsx"),
    "date at midnight": (_midnight(), "rig.xlsx"),
    "decimal comma": (csv_zip(with_cell("stock", 2, "weight_kg", "3,2")), "rig.zip"),
    "needless zeros": (csv_zip(with_cell("stock", 2, "weight_kg", "3.200")), "rig.zip"),
    "whole number as 1.0": (csv_zip(with_cell("stock", 2, "par", "1.0")), "rig.zip"),
    "yes as true": (csv_zip(with_cell("stock", 3, "critical", "TRUE")), "rig.zip"),
    "yes as 1": (csv_zip(with_cell("stock", 3, "critical", "1")), "rig.zip"),
    "words in capitals": (csv_zip(with_cell("compartments", 5, "carried", "One Hand")), "rig.zip"),
    "code in other case": (csv_zip(with_cell("stock", 3, "compartment", "bag-p")), "rig.zip"),
    "seat in other case": (csv_zip(with_cell("compartments", 5, "reach_from", "att")), "rig.zip"),
    "presentation run together": (
        csv_zip(with_cell("stock", 3, "presentation", "2MG/2.0ml")),
        "rig.zip",
    ),
    "spaces in a name": (csv_zip(with_cell("stock", 3, "item", " Naloxone\u00a0\t")), "rig.zip"),
    "lines of other systems": (
        csv_zip(with_cell("layout", 6, "value", "first line\r\nsecond line\r\n")),
        "rig.zip",
    ),
}


@pytest.mark.parametrize("name", THE_SAME)
def test_accepted_as_the_same_layout(name):
    """The form a workbook comes in makes no difference to the layout."""
    data, file_name = THE_SAME[name]
    expected = read_workbook(csv_zip(good()))

    parsed = read_workbook(data, name=file_name)

    assert [str(each) for each in parsed.problems] == []
    assert expected.layout is not None
    assert parsed.layout == expected.layout


# name: sheets, sheet, row and fragment of the remark
REMARKED = {
    "unknown column": (with_cell("stock", 1, "notes", "supplier"), "stock", 1, '"supplier"'),
    "unknown key": (with_row("layout", "colour", "red"), "layout", 7, '"colour"'),
    "own category": (with_cell("stock", 2, "category", "tools"), "stock", 2, '"tools"'),
    "no category": (with_cell("stock", 2, "category", ""), "stock", 2, "no category"),
    "no points": (
        {**without("points"), "compartments": [row[:13] for row in good()["compartments"]]},
        *("points", 0, "are assumed"),
    ),
    "no stock line": ({**good(), "stock": good()["stock"][:1]}, "stock", 0, "no stock line"),
    "value under no header": (
        {**good(), "points": [*good()["points"], ["C", "cot", "Cot", "floor", "1", "1", "", "?"]]},
        *("points", 5, "under no header"),
    ),
    "unknown sheet": ({**good(), "prices": [["a"]]}, "", 0, '"prices'),
    "line that differs": (
        with_row("stock", "S2", "pry bar", "1", "pair"),
        *("stock", 5, "differs from the first line"),
    ),
}


@pytest.mark.parametrize("pack", [csv_zip, as_xlsx])
@pytest.mark.parametrize("name", REMARKED)
def test_accepted_with_a_remark(name, pack):
    """What is odd but harmless is read, and told with its place."""
    sheets, sheet, row, fragment = REMARKED[name]

    parsed = read_workbook(pack(sheets))

    assert parsed.problems == ()
    assert parsed.layout is not None
    told = [str(each) for each in parsed.remarks if (each.sheet, each.row) == (sheet, row)]
    assert any(fragment in sentence for sentence in told), told


def test_a_good_workbook_has_no_remark():
    """A workbook with nothing odd in it is read without a word."""
    parsed = read_workbook(csv_zip(good()))

    assert parsed.remarks == ()


@pytest.mark.parametrize("name", DEMO)
def test_demonstration_layouts(name):
    """The demonstration layouts are read with no problem and no remark."""
    parsed = read_workbook(LAYOUTS / name)

    assert parsed.problems == ()
    assert parsed.remarks == ()


def test_demonstration_layout_in_figures():
    """The reader takes over every row of the demonstration layout."""
    layout = read_workbook(LAYOUTS / "mesa-box").layout

    assert layout is not None
    assert (len(layout.compartments), len(layout.stock), len(layout.points)) == (60, 260, 19)
    assert layout.slug == "mesa-box"
    assert layout.length_m == Decimal("7.4")
    assert layout.face_of("FIB-T") == "curb"
    assert layout.by_code["K1"].reach_from == ("DRIVER", "PASSENGER")
    (aspirin,) = [line for line in layout.stock if line.need == "aspirin-81"]
    assert (aspirin.par, aspirin.presentation) == (12, "81 mg tablet")


def test_values_of_every_kind():
    """Numbers, dates, lists and yes or no come out as values, not as text."""
    layout = read_workbook(csv_zip(good())).layout

    assert layout is not None
    naloxone = layout.stock[1]
    assert (naloxone.par, naloxone.critical, naloxone.expires) == (2, True, date(2027, 7, 31))
    assert layout.stock[0].weight_kg == Decimal("3.2")
    assert layout.stock[0].aliases == ("bar",)
    assert layout.points[1].x == 21.5
    assert layout.points[0].serves == ("interior-street", "floor")
    assert layout.notes == "first line\nsecond line"


def test_opening_follows_the_face():
    """Where `opens` is left out, a compartment on an outside face opens outside."""
    layout = read_workbook(csv_zip(good())).layout

    assert layout is not None
    opens = {each.code: each.opens for each in layout.compartments}
    assert opens == dict(zip(opens, ["outside"] * 2 + ["inside"] * 3, strict=True))


def test_first_line_of_an_item_stands():
    """What belongs to the item is the first line's on every line; par and place are each line's."""
    sheets = with_row("stock", "S2", "pry  BAR", "4", "pair", "", "yes")

    layout = read_workbook(csv_zip(sheets)).layout

    assert layout is not None
    first, last = layout.stock[0], layout.stock[-1]
    assert (last.item, last.unit, last.category) == (first.item, "each", "scene and incident")
    assert (last.compartment, last.par, last.critical) == ("S2", 4, True)


def test_slug_is_made_from_the_name():
    """Without a slug the name gives one, in plain letters."""
    sheets = with_cell("layout", 3, "value", "  Côte Box № 2 ")

    layout = read_workbook(csv_zip(sheets)).layout

    assert layout is not None
    assert layout.slug == "cote-box-no-2"


@pytest.mark.parametrize(
    "name", ["🧯 Extinguisher", "Bandage 👩‍🚒", "'tis a name", "=SUM(A1)", "@home"]
)
def test_names_are_kept_as_they_are(name):
    """Signs beyond letters are part of a name and come through."""
    layout = read_workbook(csv_zip(with_cell("stock", 2, "item", name))).layout

    assert layout is not None
    assert layout.stock[0].item == name


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        ("10 mg / 2 mL", "10 mg / 2 mL"),
        ("2,5 mg/3 ml", "2.5 mg / 3 mL"),
        ("100 µg / 2 mL", "100 mcg / 2 mL"),
        ("10 IU / 1 mL", "10 units / 1 mL"),
        ("50 meq / 50 mL", "50 mEq / 50 mL"),
        ("1 L Bag", "1 L bag"),
        ("1 mg powder for injection", "1 mg powder for injection"),
    ],
)
def test_presentations(given, kept):
    """A presentation is written one way, whatever way it came in."""
    layout = read_workbook(csv_zip(with_cell("stock", 3, "presentation", given))).layout

    assert layout is not None
    assert layout.stock[1].presentation == kept


@pytest.mark.parametrize(
    "given", ["10 mg", "mg / mL", "0 mg / 2 mL", "10 mg / 0 mL", "10 drops / 2 mL", "1.000 mL bag"]
)
def test_no_presentations(given):
    """An amount without volume or form, of nothing, or in an unknown unit is refused."""
    problems = read_workbook(csv_zip(with_cell("stock", 3, "presentation", given))).problems

    assert [(p.sheet, p.row, p.column) for p in problems] == [("stock", 3, "presentation")]


def test_rows_count_as_in_a_spreadsheet():
    """A line break inside quotes does not make a row, a blank row does."""
    sheets = with_cell("stock", 2, "notes", "one\ntwo\nthree")
    sheets["stock"].insert(2, [""] * 12)
    sheets["stock"][4][2] = "none"

    (problem,) = read_workbook(csv_zip(sheets)).problems

    assert (problem.row, problem.column) == (5, "par")


def test_spreadsheets_may_have_formulas_in_columns_of_their_own():
    """A formula in a column that is kept out anyway is no problem."""
    sheets = with_cell("stock", 1, "notes", "price")
    sheets["stock"][1][11] = "=2*3"

    parsed = read_workbook(as_xlsx(sheets))

    assert parsed.problems == ()


def test_escapes_of_spreadsheets_are_undone():
    """A sign that a spreadsheet file writes as _xHHHH_ is read as the sign."""
    layout = read_workbook(as_xlsx(with_cell("stock", 3, "notes", "a_x000D_\nb"))).layout

    assert layout is not None
    assert layout.stock[1].notes == "a\nb"


@pytest.mark.parametrize("pack", [csv_zip, as_xlsx])
def test_twenty_thousand_rows(pack):
    """The longest sheet is accepted, and fast enough for a person who waits."""
    lines = [["S1", f"Item {number}", 1] for number in range(20_000)]
    data = pack({**good(), "stock": [["compartment", "item", "par"], *lines]})

    start = time.perf_counter()
    parsed = read_workbook(data)
    seconds = time.perf_counter() - start

    assert parsed.problems == ()
    assert parsed.layout is not None
    assert len(parsed.layout.stock) == 20_000
    assert seconds < 10


def test_a_folder_with_other_files(tmp_path):
    """Other files of a folder are told and left alone; the paths of the three kinds all work."""
    for name, data in as_csv(good()).items():
        (tmp_path / name.upper()).write_bytes(data)
    (tmp_path / "readme.txt").write_text("hello")
    archive = tmp_path.with_suffix(".zip")
    archive.write_bytes(csv_zip(good()))

    from_folder, from_file = read_workbook(tmp_path), read_workbook(archive)

    assert from_folder.layout == from_file.layout is not None
    assert '"readme.txt"' in str(from_folder.remarks[0])
