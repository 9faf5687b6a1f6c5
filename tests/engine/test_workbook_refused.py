"""Workbooks that must be refused, each with the place and the words of its problem."""

import zipfile
from datetime import datetime
from io import BytesIO
from typing import Any

import pytest

from drills.engine.workbook import read_workbook
from tests.engine.workbook_files import (
    COMPARTMENT,
    as_csv,
    as_xlsx,
    as_zip,
    csv_zip,
    good,
    parts_of,
    with_cell,
    with_part,
    with_row,
    without,
)

FIRST_SHEET = "xl/worksheets/sheet1.xml"
BOMB = b"""<?xml version="1.0"?><!DOCTYPE z [<!ENTITY a "aaaaaaaaaa"><!ENTITY b
"&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>"""


def _header(sheet, change):
    sheets = good()
    sheets[sheet][0] = change(sheets[sheet][0])
    return csv_zip(sheets)


def _stock(rows):
    return csv_zip({**good(), "stock": [["compartment", "item", "par"], *rows]})


def _one_bad_among(count):
    lines = [["S1", f"Item {number}", "1"] for number in range(count)]
    lines[3_210] = ["S1", "Item of the bad row", "none"]
    return _stock(lines)


def _with_file(name, data=b"x"):
    return as_zip({**as_csv(good()), name: data})


def _xlsx_with_file(name, data=b"x"):
    return as_zip({**parts_of(as_xlsx(good())), name: data})


def _circle():
    sheets = with_cell("compartments", 4, "inside", "BAG-P")
    return csv_zip(sheets)


def _declared_small():
    """An archive whose list says a file is far smaller than it is."""
    data = bytearray(as_zip({**as_csv(good()), "stock.csv": b"a" * 400_000}))
    real, told = (400_000).to_bytes(4, "little"), (100).to_bytes(4, "little")
    assert data.count(real) == 2
    return bytes(data.replace(real, told))


def _locked():
    """An archive whose list says that its files are locked with a password."""
    data = bytearray(csv_zip(good()))
    at = data.find(b"PK\x01\x02")
    data[at + 8] |= 1
    return bytes(data)


def _lzma():
    target = BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_LZMA) as archive:
        for name, data in as_csv(good()).items():
            archive.writestr(name, data)
    return target.getvalue()


def _deep():
    sheets = good()
    parent = "BAG-P"
    for depth in range(10):
        sheets["compartments"].append([f"N{depth}", "Pouch", parent, *[""] * 13])
        parent = f"N{depth}"
    return csv_zip(sheets)


# name: bytes, file name, sheet, row, fragment of the sentence
REFUSED: dict[str, tuple[Any, ...]] = {
    # the file
    "empty file": (b"", "a.xlsx", "", 0, "an empty file"),
    "not a zip": (b"hello" * 99, "a.xlsx", "", 0, "no archive"),
    "other kind": (b"x", "a.xls", "", 0, "a file of another kind"),
    "too large": (b"x" * 5_000_001, "a.zip", "", 0, "at most 5 MB"),
    "cut short": (as_xlsx(good())[:-200], "a.xlsx", "", 0, "damaged"),
    "zip bomb": (as_zip({"stock.csv": b"0" * 9_000_000}), "a.zip", "", 0, "at most 100 times"),
    "over 50 MB": (as_zip({"stock.csv": b"0" * 50_000_001}), "a.zip", "", 0, "at most 50 MB"),
    "size belied": (_declared_small(), "a.zip", "", 0, "damaged"),
    "201 files": (as_zip({f"{n}.txt": b"" for n in range(201)}), "a.zip", "", 0, "200 files"),
    "traversal": (_with_file("../stock.csv"), "a.zip", "", 0, "an unsafe file name"),
    "absolute": (_with_file("/etc/stock.csv"), "a.zip", "", 0, "an unsafe file name"),
    "drive": (_with_file("c:\\stock.csv"), "a.zip", "", 0, "an unsafe file name"),
    "nested by name": (_with_file("more.zip"), "a.zip", "", 0, "inside the archive"),
    "nested by bytes": (_with_file("more", csv_zip(good())), "a.zip", "", 0, "inside the archive"),
    "one name twice": (_with_file("STOCK.csv"), "a.zip", "", 0, "two files of one name"),
    "password": (_locked(), "a.zip", "", 0, "a file with a password"),
    "odd packing": (_lzma(), "a.zip", "", 0, "an unusual way of packing"),
    "macros": (_xlsx_with_file("xl/vbaProject.bin"), "a.xlsx", "", 0, "a macro"),
    "link": (_xlsx_with_file("xl/externalLinks/a.xml"), "a.xlsx", "", 0, "a link to another file"),
    "embedded": (_xlsx_with_file("xl/embeddings/a.bin"), "a.xlsx", "", 0, "inside the archive"),
    "macro type": (
        with_part(
            as_xlsx(good()), "[Content_Types].xml", b"</Types>", b"<!--macroEnabled--></Types>"
        ),
        *("a.xlsx", "", 0, "a workbook with macros"),
    ),
    "entities": (
        with_part(as_xlsx(good()), FIRST_SHEET, b"<worksheet", BOMB + b"<worksheet"),
        *("a.xlsx", "", 0, "entities of its own"),
    ),
    "entities in the list": (
        with_part(as_xlsx(good()), "xl/workbook.xml", b"<workbook", BOMB + b"<workbook"),
        *("a.xlsx", "", 0, "entities of its own"),
    ),
    "another document": (as_zip({"[Content_Types].xml": b"<Types/>"}), "a.xlsx", "", 0, "be read"),
    "row beyond the last": (
        with_part(as_xlsx(good()), FIRST_SHEET, b'<row r="6"', b'<row r="999999999999"'),
        *("a.xlsx", "layout", 1_048_577, "more rows"),
    ),
    # the sheets
    "no stock sheet": (csv_zip(without("stock")), "a.zip", "stock", 0, "no such sheet"),
    "no layout sheet": (as_xlsx(without("layout")), "a.xlsx", "layout", 0, "no such sheet"),
    "sheets misnamed": (as_xlsx({"Sheet1": [["a"]]}), "", "compartments", 0, "no such sheet"),
    "nested too deep": (as_zip(as_csv(good()), folder="a/b/"), "", "layout", 0, "no such sheet"),
    "sheet twice": (_with_file("more/stock.csv"), "a.zip", "stock", 0, "two files of this sheet"),
    "sheet twice in a spreadsheet": (
        as_xlsx({**good(), "Stock ": [["a"]]}),
        *("a.xlsx", "stock", 0, "two sheets of this name"),
    ),
    "blank sheet": (
        as_zip({**as_csv(good()), "stock.csv": b"\n\n"}),
        *("a.zip", "stock", 0, "an empty sheet"),
    ),
    "latin-1": (
        as_zip(
            {**as_csv(good()), "stock.csv": "compartment,item,par\nS1,Café,1".encode("latin-1")}
        ),
        *("a.zip", "stock", 2, "not UTF-8"),
    ),
    "utf-16": (
        as_zip({**as_csv(good()), "stock.csv": "compartment,item,par".encode("utf-16")}),
        *("a.zip", "stock", 1, "not UTF-8"),
    ),
    "open quote": (
        as_zip({**as_csv(good()), "stock.csv": b'compartment,item,par\nS1,"Bar,1\n'}),
        *("a.zip", "stock", 2, "quotes are closed"),
    ),
    "no compartment": (
        csv_zip({**good(), "compartments": [list(COMPARTMENT)]}),
        *("a.zip", "compartments", 0, "at least one"),
    ),
    "missing header": (
        _header("stock", lambda row: ["count" if cell == "par" else cell for cell in row]),
        *("a.zip", "stock", 1, "no such column"),
    ),
    "double header": (
        _header("stock", lambda row: ["ITEM" if cell == "notes" else cell for cell in row]),
        *("a.zip", "stock", 1, "the same column twice"),
    ),
    "65 columns": (
        _header("points", lambda row: [*row, *[f"own {number}" for number in range(58)]]),
        *("a.zip", "points", 1, "at most 64"),
    ),
    "20,001 rows": (
        _stock([["S1", f"Item {number}", "1"] for number in range(20_001)]),
        *("a.zip", "stock", 20_002, "at most 20000"),
    ),
    "one bad among 5,000": (_one_bad_among(5_000), "a.zip", "stock", 3_212, '"none" came in'),
    # the layout
    "format": (with_cell("layout", 2, "value", "other/2"), "layout", 2, "readiness-layout/1"),
    "no format": (with_cell("layout", 2, "key", "formt"), "layout", 0, "no value came in"),
    "no name": (with_cell("layout", 3, "value", ""), "layout", 3, "no value came in"),
    "name without letters": (
        with_cell("layout", 3, "value", "🚑"),
        "layout",
        3,
        "none can be made",
    ),
    "reserved slug": (with_row("layout", "slug", "Import"), "layout", 7, "any slug but"),
    "reserved name": (with_cell("layout", 3, "value", "Units"), "layout", 3, "any slug but"),
    "bad slug": (with_row("layout", "slug", "my box"), "layout", 7, "hyphens between"),
    "key twice": (with_row("layout", "Name", "Other"), "layout", 7, "each key once"),
    "length nothing": (with_cell("layout", 5, "value", "0"), "layout", 5, "more than 0"),
    "length negative": (with_cell("layout", 5, "value", "-6"), "layout", 5, "more than 0"),
    "length inf": (with_cell("layout", 5, "value", "inf"), "layout", 5, "more than 0"),
    "long notes": (with_cell("layout", 6, "value", "x" * 501), "layout", 6, "at most 500"),
    # the compartments
    "unknown parent": (with_cell("compartments", 5, "inside", "W9"), "compartments", 5, '"W9"'),
    "circle": (_circle(), "a.zip", "compartments", 4, "W1 in BAG-P in BAG in W1"),
    "in itself": (with_cell("compartments", 2, "inside", "S1"), "compartments", 2, "(S1 in S1)"),
    "too deep": (_deep(), "a.zip", "compartments", 16, "at most 12 in one another"),
    "code twice": (with_cell("compartments", 3, "code", "s1"), "compartments", 3, "row 2 has too"),
    "code with space": (with_cell("compartments", 2, "code", "S 1"), "compartments", 2, '"S 1"'),
    "no code": (with_cell("compartments", 6, "code", ""), "compartments", 6, "no value came in"),
    "no face": (with_cell("compartments", 2, "face", ""), "compartments", 2, "a face for each"),
    "odd face": (with_cell("compartments", 2, "face", "roof"), "compartments", 2, "one of street"),
    "top without place": (
        with_row("compartments", "S9", "Hatch", "", "rear"),
        *("compartments", 7, "x, y, w and h for each"),
    ),
    "three of four": (with_cell("compartments", 5, "w", ""), "compartments", 5, "all four"),
    "off the face": (with_cell("compartments", 3, "x", "21"), "compartments", 3, "leaves the face"),
    "below the face": (with_cell("compartments", 3, "h", "12"), "compartments", 3, "y + h"),
    "text for x": (with_cell("compartments", 3, "x", "left"), "compartments", 3, '"left" came in'),
    "siblings overlap": (
        with_cell("compartments", 3, "x", "3"),
        *("compartments", 3, "shares area with S1 (row 2)"),
    ),
    "second openings overlap": (
        with_row("compartments", "K", "Kit", "W1", "", *"4044", "curb", *"3344"),
        *("compartments", 7, "on curb that shares area with BAG (row 5)"),
    ),
    "half second opening": (
        with_cell("compartments", 5, "also_face", ""),
        *("compartments", 5, "the face of the second opening"),
    ),
    "odd carried": (
        with_cell("compartments", 5, "carried", "by hand"),
        *("compartments", 5, "one of no, one-hand"),
    ),
    "no such seat": (
        with_cell("compartments", 5, "reach_from", "ATT;BENCH"),
        *("compartments", 5, '"BENCH" came in'),
    ),
    "door for a seat": (
        with_cell("compartments", 5, "reach_from", "SIDE"),
        *("compartments", 5, '"SIDE" came in'),
    ),
    "place twice": (
        with_cell("compartments", 3, "place", "Bay"),
        *("compartments", 3, "row 2 stands for too"),
    ),
    "place of a code": (
        with_cell("compartments", 3, "place", "W1"),
        *("compartments", 4, "row 3 stands for too"),
    ),
    "long name": (with_cell("compartments", 2, "name", "x" * 121), "compartments", 2, "120"),
    "control character": (
        with_cell("compartments", 2, "name", "Bay\x07"),
        *("compartments", 2, '"Bay\\u0007" came in'),
    ),
    "turned writing": (
        with_cell("compartments", 2, "name", "Bay \u202eyab"),
        *("compartments", 2, "without control characters"),
    ),
    # the stock
    "no such compartment": (with_cell("stock", 2, "compartment", "S7"), "stock", 2, '"S7" came in'),
    "par nothing": (with_cell("stock", 2, "par", "0"), "stock", 2, "at least 1"),
    "par negative": (with_cell("stock", 2, "par", "-2"), "stock", 2, "at least 1"),
    "par in halves": (with_cell("stock", 2, "par", "1.5"), "stock", 2, "at least 1"),
    "par of one or of a thousand": (with_cell("stock", 2, "par", "1,000"), "stock", 2, '"1,000"'),
    "par of two thousand or of two": (with_cell("stock", 2, "par", "2.000"), "stock", 2, '"2.000"'),
    "par as text": (with_cell("stock", 2, "par", "three"), "stock", 2, '"three" came in'),
    "par empty": (with_cell("stock", 2, "par", ""), "stock", 2, "no value came in"),
    "par huge": (with_cell("stock", 2, "par", "9" * 400), "stock", 2, "a text of 400 characters"),
    "par nan": (with_cell("stock", 2, "par", "NaN"), "stock", 2, '"NaN" came in'),
    "par in other digits": (with_cell("stock", 2, "par", "٣"), "stock", 2, "at least 1"),
    "no item": (with_cell("stock", 2, "item", "   "), "stock", 2, "no value came in"),
    "item twice": (
        with_row("stock", "S1", "PRY  bar", "1"),
        *("stock", 5, "which row 2 puts in S1 too"),
    ),
    "odd yes": (with_cell("stock", 2, "critical", "maybe"), "stock", 2, "yes or no"),
    "weight in words": (with_cell("stock", 2, "weight_kg", "3 kg"), "stock", 2, '"3 kg" came in'),
    "weight nothing": (with_cell("stock", 2, "weight_kg", "0,0"), "stock", 2, "more than 0"),
    "weight 1e400": (with_cell("stock", 2, "weight_kg", "1e400"), "stock", 2, "more than 0"),
    "presentation": (with_cell("stock", 3, "presentation", "some"), "stock", 3, "10 mg / 2 mL"),
    "thousand or one": (
        with_cell("stock", 3, "presentation", "1,000 mL bag"),
        *("stock", 3, '"1,000 mL bag" came in'),
    ),
    "date in words": (with_cell("stock", 3, "expires", "31.7.27"), "stock", 3, "2027-07-31"),
    "no such day": (with_cell("stock", 3, "expires", "2027-02-30"), "stock", 3, "a date such as"),
    "21 aliases": (
        with_cell("stock", 2, "aliases", ";".join(str(n) for n in range(21))),
        *("stock", 2, "at most 20"),
    ),
    "long alias": (with_cell("stock", 2, "aliases", "x" * 81), "stock", 2, "80 characters each"),
    "odd need": (with_cell("stock", 2, "need", "pry bar"), "stock", 2, "a key such as"),
    # the points
    "odd kind": (with_cell("points", 2, "kind", "hatch"), "points", 2, "one of door"),
    "point off the face": (with_cell("points", 2, "x", "24.5"), "points", 2, "at most 24"),
    "point without y": (with_cell("points", 2, "y", ""), "points", 2, "no value came in"),
    "point twice": (with_cell("points", 3, "code", "side"), "points", 3, "row 2 has too"),
    "serves nothing": (with_cell("points", 4, "serves", "W1;W8"), "points", 4, '"W8" came in'),
    # cells of a spreadsheet
    "formula": (as_xlsx(with_cell("stock", 2, "par", "=1+1")), "", "stock", 2, "a formula"),
    "formula for a name": (
        as_xlsx(with_cell("compartments", 2, "name", "=A1")),
        *("a.xlsx", "compartments", 2, 'a formula ("=A1")'),
    ),
    "error cell": (as_xlsx(with_cell("stock", 2, "par", "#REF!")), "", "stock", 2, "an error"),
    "time of day": (
        as_xlsx(with_cell("stock", 3, "expires", datetime(2027, 7, 31, 8, 30))),  # noqa: DTZ001 - a cell knows no zone
        *("a.xlsx", "stock", 3, '"2027-07-31T08:30:00" came in'),
    ),
    "number too exact": (
        as_xlsx(with_cell("stock", 2, "par", 1e300)),
        *("a.xlsx", "stock", 2, "a text of 301 characters"),
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_refused(name):
    """A workbook with something wrong gives no layout and says where and what."""
    source, *named, sheet, row, fragment = REFUSED[name]
    data = csv_zip(source) if isinstance(source, dict) else source

    parsed = read_workbook(data, name="".join(named))

    assert parsed.layout is None
    found = [str(each) for each in parsed.problems if (each.sheet, each.row) == (sheet, row)]
    assert any(fragment in sentence for sentence in found), [str(each) for each in parsed.problems]


ONE_CELL = {name for name, case in REFUSED.items() if isinstance(case[0], dict)}


@pytest.mark.parametrize("name", sorted(ONE_CELL))
def test_one_mistake_is_one_problem(name):
    """A single wrong cell is told once, not again through everything that leans on it."""
    sheets = REFUSED[name][0]

    problems = read_workbook(csv_zip(sheets)).problems

    assert len(problems) == 1, [str(each) for each in problems]
