"""Workbooks made to harm whoever reads them: each by name, with how it is made and what is said.

They are made when asked for, since the larger ones take longer to make than to refuse. What is
merely wrong, cell by cell, is in `test_workbook_refused`.
"""

import gzip
import stat
import warnings
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO
from random import Random

from tests.engine.workbook_files import (
    as_csv,
    as_xlsx,
    as_zip,
    csv_zip,
    good,
    parts_of,
    with_cell,
    with_part,
)

TYPES, STYLES, BOOK = "[Content_Types].xml", "xl/styles.xml", "xl/workbook.xml"
SHEET, STRINGS, LINKS = (
    "xl/worksheets/sheet3.xml",
    "xl/sharedStrings.xml",
    "xl/_rels/workbook.xml.rels",
)
MAIN = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
SHARED_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
LONG_CELL = f'<c t="str"><v>{"a" * 190_000}</v></c>'
MERGED = '<mergeCells><mergeCell ref="A1:XFD9"/></mergeCells>'
MILLION = 1_000_000


@dataclass(frozen=True, slots=True)
class Hostile:
    """A file that must be refused. `said` are words of the problem, told of `sheet`."""

    make: Callable[[], bytes]
    said: str
    sheet: str = ""
    name: str = "rig.xlsx"


def xlsx(name: str, content: str | bytes) -> bytes:
    """The good spreadsheet with one of its parts put in place of its own.

    It is padded with noise, so that it does not unpack to more than a hundred times its size.
    """
    data = content if isinstance(content, bytes) else content.encode()
    noise = Random(1).randbytes(len(data) // 90)  # noqa: S311  # only so that it does not shrink
    return as_zip({**parts_of(as_xlsx(good())), name: data, "docProps/noise.bin": noise})


def sheet(rows: str, *, before: str = "", after: str = "", encoding: str = "utf-8") -> bytes:
    """The good spreadsheet with other rows for its stock."""
    start = f'<?xml version="1.0" encoding="{encoding}"?>'
    rest = f"<worksheet {MAIN}><sheetData>{rows}</sheetData>{after}</worksheet>"
    return xlsx(SHEET, (start + before + rest).encode(encoding))


def shared(content: str) -> bytes:
    """The good spreadsheet with texts that its cells share."""
    override = f'<Override PartName="/{STRINGS}" ContentType="{SHARED_TYPE}"/></Types>'
    data = xlsx(STRINGS, f"<sst {MAIN}>{content}</sst>")
    return with_part(data, TYPES, b"</Types>", override.encode())


def styled(content: str, before: bytes = b"</cellXfs>") -> bytes:
    part = parts_of(as_xlsx(good()))[STYLES]
    return xlsx(STYLES, part.replace(before, content.encode() + before))


def changed(name: str, old: bytes, new: bytes) -> bytes:
    return with_part(as_xlsx(good()), name, old, new)


def stock_csv(content: bytes) -> bytes:
    """The good archive with another stock file, padded as a spreadsheet is."""
    noise = Random(1).randbytes(len(content) // 90)  # noqa: S311  # the same
    return as_zip({**as_csv(good()), "stock.csv": content, "noise": noise})


def cell(sheet_name: str, column: str, value: object, row: int = 2) -> bytes:
    return csv_zip(with_cell(sheet_name, row, column, value))


def xlsx_cell(value: str, kind: str = "", row: int = 2) -> bytes:
    """The good spreadsheet whose first par, C2 of the stock, is written by hand."""
    part = parts_of(as_xlsx(good()))[SHEET].decode()
    at = part.index('<c r="C2"')
    end = part.index("</c>", at) + len("</c>")
    return xlsx(SHEET, f'{part[:at]}<c r="C{row}"{kind}>{value}</c>{part[end:]}')


def member(name: str, data: bytes, *, attributes: int = 0) -> bytes:
    """The good archive with one member more, or the same one twice."""
    target = BytesIO(csv_zip(good()))
    with warnings.catch_warnings(), zipfile.ZipFile(target, "a") as archive:
        warnings.simplefilter("ignore")  # about a name that is there already
        entry = zipfile.ZipInfo(name)
        entry.external_attr = attributes
        archive.writestr(entry, data)
    return target.getvalue()


def wrong_sum() -> bytes:
    """The good archive with one byte of its stock changed, and the sum over it not."""
    data = bytearray(as_zip({**as_csv(good()), "noise": b""}))
    with zipfile.ZipFile(BytesIO(data)) as archive:
        entry = archive.getinfo("stock.csv")
    data[entry.header_offset + 14] ^= 1
    data[data.index(b"PK\x01\x02", data.index(b"PK\x01\x02") + 4) + 16] ^= 1
    return bytes(data)


def rows_more(sheet_name: str, rows: list[list[object]]) -> bytes:
    sheets = good()
    width = len(sheets[sheet_name][0])
    sheets[sheet_name] += [[*row, *[""] * (width - len(row))] for row in rows]
    return csv_zip(sheets)


def places(count: int, inside: Callable[[int], str], **at: int) -> bytes:
    """The good archive with that many compartments more, in what `inside` says."""
    rect = [at[side] for side in "xywh"] if at else [""] * 4
    return rows_more(
        "compartments", [[f"N{n}", "Pouch", inside(n), "", *rect] for n in range(count)]
    )


ARCHIVES = {
    "half an archive": Hostile(lambda: csv_zip(good())[:900], "a damaged one", name="a.zip"),
    "wrong sum": Hostile(wrong_sum, "a damaged one", name="a.zip"),
    "archive behind a program": Hostile(lambda: b"MZ" * 99 + csv_zip(good()), "no archive"),
    "old binary workbook": Hostile(
        lambda: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(4_000), "no archive"
    ),
    "text by the name of a workbook": Hostile(lambda: as_csv(good())["stock.csv"], "no archive"),
    "web page by the name of a workbook": Hostile(lambda: b"<html><table></html>", "no archive"),
    "another packing": Hostile(lambda: gzip.compress(csv_zip(good())), "no archive", name="a.zip"),
    "open document": Hostile(
        lambda: as_zip(
            {"mimetype": b"application/vnd.oasis.opendocument.spreadsheet", "content.xml": b"<a/>"}
        ),
        "an OpenDocument file, such as .ods",
    ),
    "binary workbook": Hostile(
        lambda: as_zip({TYPES: b"<Types/>", "xl/workbook.bin": bytes(99)}), "cannot be read"
    ),
    "macro workbook": Hostile(
        lambda: as_xlsx(good()), 'a file of another kind ("a.xlsm")', name="a.xlsm"
    ),
    "nothing in it": Hostile(lambda: as_zip({}), "no such sheet", "stock", "a.zip"),
    "folders alone": Hostile(
        lambda: as_zip({"stock.csv/": b"", "layout.csv/": b""}), "no such sheet", "stock", "a.zip"
    ),
    "five thousand members": Hostile(
        lambda: as_zip({f"{n}/stock.csv": b"" for n in range(5_000)}), "more files", name="a.zip"
    ),
    "same member twice": Hostile(
        lambda: member("stock.csv", b"x"), 'two files of one name ("stock.csv")', name="a.zip"
    ),
    "link to a file outside": Hostile(
        lambda: member("points.csv", b"/etc/hosts", attributes=(stat.S_IFLNK | 0o777) << 16),
        *("a link to another file", "", "a.zip"),
    ),
    "path upwards the other way": Hostile(
        lambda: member("..\\..\\stock.csv", b"x"), "an unsafe file name", name="a.zip"
    ),
    "path of another machine": Hostile(
        lambda: member("//host/share/stock.csv", b"x"), "an unsafe file name", name="a.zip"
    ),
    "active control": Hostile(lambda: xlsx("xl/activeX/activeX1.xml", "<a/>"), "a macro"),
    "connection": Hostile(lambda: xlsx("xl/connections.xml", "<a/>"), "a link to another file"),
    "query": Hostile(lambda: xlsx("xl/queryTables/q.xml", "<a/>"), "a link to another file"),
}
DOCTYPE = '<!DOCTYPE worksheet [<!ENTITY x SYSTEM "file:///etc/hosts">]>'
PARTS = {
    "entity from a file": Hostile(
        lambda: sheet("<row><c><v>&x;</v></c></row>", before=DOCTYPE), "entities of its own"
    ),
    "document type from elsewhere": Hostile(
        lambda: sheet("", before='<!DOCTYPE worksheet SYSTEM "http://host.invalid/a.dtd">'),
        "a document type",
    ),
    "entities in shared texts": Hostile(
        lambda: xlsx(STRINGS, f'<!DOCTYPE s [<!ENTITY a "a">]><sst {MAIN}/>'), "entities of its own"
    ),
    "two bytes a letter": Hostile(lambda: sheet("", encoding="utf-16"), "another encoding"),
    "letters of a mainframe": Hostile(
        lambda: changed(BOOK, b"<workbook", b'<?xml version="1.0" encoding="cp037"?><workbook'),
        "another encoding",
    ),
    "a million rows": Hostile(lambda: sheet("<row/>" * MILLION), "more rows"),
    "a million cells": Hostile(lambda: sheet(f"<row>{'<c/>' * MILLION}</row>"), "more cells"),
    "a million cells by another prefix": Hostile(
        lambda: sheet(f'<row xmlns:q="q">{"<q:c/>" * MILLION}</row>'), "more cells"
    ),
    "a million shared texts": Hostile(lambda: shared("<si><t>ab</t></si>" * MILLION), "more texts"),
    "a million pieces of text": Hostile(
        lambda: sheet(f'<row><c t="inlineStr"><is>{"<t/>" * MILLION}</is></c></row>'), "more values"
    ),
    "last column of every row": Hostile(
        lambda: sheet('<row><c r="XFD1"/></row>' * 9_000), "cells too far to the right"
    ),
    "a value in the last column": Hostile(
        lambda: sheet('<row><c r="XFD1"><v>1</v></c></row>'), "more columns", "stock"
    ),
    "a cell of forty megabytes": Hostile(
        lambda: sheet(f'<row><c t="inlineStr"><is><t>{"a" * 40 * MILLION}</t></is></c></row>'),
        "a text of more than 200000 bytes",
    ),
    "a cell of 32,000 letters": Hostile(
        lambda: sheet(f'<row><c t="inlineStr"><is><t>{"a" * 32_000}</t></is></c></row>'),
        *("no such column", "stock"),
    ),
    "all the cells that are read, in one row": Hostile(
        lambda: sheet(f"<row>{'<c/>' * 299_000}</row>"), "an empty sheet", "stock"
    ),
    "all the text that is read, in one row": Hostile(
        lambda: sheet("<row>" + LONG_CELL * 255 + "</row>"),
        *("more columns", "stock"),
    ),
    "fifty thousand styles": Hostile(lambda: styled("<xf/>" * 50_000), "too many styles"),
    "fifty thousand merged cells": Hostile(
        lambda: sheet("", after=MERGED * 50_000),
        "too many styles, rules",
    ),
    "fifty thousand names": Hostile(
        lambda: changed(BOOK, b"</sheets>", b"</sheets>" + b"<definedName/>" * 50_000),
        "too many styles, rules or names",
    ),
    "marks in marks": Hostile(
        lambda: sheet(f"{'<a>' * 30_000}{'</a>' * 30_000}"), "too many styles"
    ),
    "sheet on another machine": Hostile(
        lambda: changed(LINKS, b"/xl/worksheets/sheet3.xml", b"http://host.invalid/sheet3.xml"),
        *("no such sheet", "stock"),
    ),
    "sheet outside the archive": Hostile(
        lambda: changed(LINKS, b"/xl/worksheets/sheet3.xml", b"../../../../etc/hosts"),
        *("no such sheet", "stock"),
    ),
    "shared text that is not there": Hostile(
        lambda: xlsx_cell("<v>999999</v>", ' t="s"'), "cannot be read"
    ),
    "command in a formula": Hostile(
        lambda: xlsx_cell("<f>cmd|'/C calc'!A0</f><v>1</v>"), "a formula", "stock"
    ),
    "formula of many cells": Hostile(
        lambda: xlsx_cell('<f t="array" ref="C2:C9">A1</f><v>1</v>'), "a formula", "stock"
    ),
    "link as a formula": Hostile(
        lambda: as_xlsx(with_cell("stock", 2, "item", '=HYPERLINK("http://host.invalid")')),
        *("a formula", "stock"),
    ),
    "number without end": Hostile(lambda: xlsx_cell("<v>1e999</v>"), '"inf" came in', "stock"),
    "no number": Hostile(lambda: xlsx_cell("<v>nan</v>"), "cannot be read"),
}
CELLS = {
    "null bytes": Hostile(lambda: cell("stock", "item", "Bar\x00"), "\\u0000", "stock", "a.zip"),
    "overlong letters": Hostile(
        lambda: stock_csv(b"compartment,item,par\nS1,\xc0\x80,1\n"), "0xc0", "stock", "a.zip"
    ),
    "half a pair": Hostile(
        lambda: stock_csv(b"compartment,item,par\nS1,\xed\xa0\x80,1\n"), "0xed", "stock", "a.zip"
    ),
    "a million quotes": Hostile(
        lambda: stock_csv(b'compartment,item,par\nS1,"' + b'"' * MILLION + b",1\n"),
        *("cannot be split", "stock", "a.zip"),
    ),
    "a line of a million letters": Hostile(
        lambda: stock_csv(b"compartment,item,par\nS1," + b"a" * MILLION + b",1\n"),
        *("cannot be split", "stock", "a.zip"),
    ),
    "ten million empty cells": Hostile(
        lambda: stock_csv(b"," * 9_900_000 + b"item"), "more columns", "stock", "a.zip"
    ),
    "ten million empty lines": Hostile(
        lambda: stock_csv(b"\n" * 9_900_000), "more rows", "stock", "a.zip"
    ),
    "eleven megabytes of text": Hostile(
        lambda: stock_csv(b"a,b\n" * 2_800_000), "a larger file", "stock", "a.zip"
    ),
    "x of 1e400": Hostile(
        lambda: cell("compartments", "x", "1e400"), '"1e400" came in', "compartments", "a.zip"
    ),
    "par of other signs": Hostile(
        lambda: cell("stock", "par", "0x10"), '"0x10" came in', "stock", "a.zip"
    ),
    "day of the year 9999": Hostile(
        lambda: cell("stock", "expires", "9999-12-31"), '"9999-12-31"', "stock", "a.zip"
    ),
    "day before the calendar": Hostile(
        lambda: cell("stock", "expires", "-0001-01-01"), '"-0001-01-01"', "stock", "a.zip"
    ),
    "code in the alphabet of another": Hostile(
        lambda: cell("compartments", "code", "\u04051", 3), "looks like S1", "compartments", "a.zip"
    ),
    "code with what nobody sees": Hostile(
        lambda: cell("compartments", "code", "S\u200b1", 3), "\\u200b", "compartments", "a.zip"
    ),
    "name with what nobody sees": Hostile(
        lambda: cell("stock", "item", "Pry bar\U000e0041"), "\\ue0041", "stock", "a.zip"
    ),
    "code written backwards": Hostile(
        lambda: cell("compartments", "code", "\u202e1S", 3), "\\u202e", "compartments", "a.zip"
    ),
    "slug that is a path": Hostile(
        lambda: rows_more("layout", [["slug", "../../etc"]]), '"../../etc"', "layout", "a.zip"
    ),
    "fifteen thousand in one another": Hostile(
        lambda: places(15_000, lambda n: f"N{n - 1}" if n else "BAG"),
        *("inside 12 others", "compartments", "a.zip"),
    ),
    "a circle of fifteen thousand": Hostile(
        lambda: places(15_000, lambda n: f"N{(n + 1) % 15_000}"),
        *("a circle", "compartments", "a.zip"),
    ),
    "five thousand on one spot": Hostile(
        lambda: places(5_000, lambda _: "W1", x=0, y=0, w=12, h=6),
        *("shares area with", "compartments", "a.zip"),
    ),
}
CORPUS = ARCHIVES | PARTS | CELLS
