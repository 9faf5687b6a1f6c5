"""Bytes, a file or a folder to the tables of a workbook, whatever form they came in."""

from collections.abc import Iterable, Mapping
from itertools import islice
from pathlib import Path, PurePosixPath

from drills.engine.workbook.archive import (
    MAX_ENTRIES,
    MAX_UPLOAD,
    MEGABYTE,
    too_many_entries,
    unpack,
)
from drills.engine.workbook.cells import Cell, Table
from drills.engine.workbook.columns import LAST_ROW, MAX_COLUMNS, MAX_ROWS
from drills.engine.workbook.csvtext import read_rows
from drills.engine.workbook.parts import TooLargeError
from drills.engine.workbook.problems import Report, quote
from drills.engine.workbook.sheets import opened

MAX_SHEET = 10 * MEGABYTE  # one CSV file; the longest sheet that is read is about half of it

# A sheet that is there but could not be read stands as None: its problem is already noted.
Tables = Mapping[str, Table | None]


def read_tables(source: Path | bytes, name: str, report: Report) -> Tables | None:
    """The tables of a workbook by sheet; None and a problem where the whole file is refused."""
    if isinstance(source, bytes):
        return _from_bytes(source, name, report)
    try:
        if source.is_dir():
            return _from_folder(source, report)
        if not source.is_file():
            report.refuse_file(
                f"no file or folder of this name ({quote(source.name)})", report.form.file
            )
            return None
        return _from_bytes(_start_of(source, MAX_UPLOAD), name or source.name, report)
    except (OSError, ValueError):  # ValueError: a null byte in the path
        report.refuse_file(
            f"something that cannot be opened ({quote(source.name)})", report.form.file
        )
        return None


def _from_bytes(data: bytes, name: str, report: Report) -> Tables | None:
    suffix = PurePosixPath(name).suffix.lower()
    if suffix not in ("", ".xlsx", ".zip"):
        report.refuse_file(f"a file of another kind ({quote(name)})", report.form.file)
    elif len(data) > MAX_UPLOAD:
        report.refuse_file("a larger file", f"a file of at most {MAX_UPLOAD // MEGABYTE} MB")
    elif not data:
        report.refuse_file("an empty file", report.form.file)
    elif too_many_entries(data):
        report.refuse_file("an archive of more files", f"at most {MAX_ENTRIES} files")
    else:
        return _from_archive(data, report)
    return None


def _from_archive(data: bytes, report: Report) -> Tables | None:
    before = report.count
    files = unpack(data, report)
    if files is None or report.count > before:
        return None
    if "[Content_Types].xml" in files:
        return _from_spreadsheet(files, report)
    if b"opendocument" in files.get("mimetype", b""):
        report.refuse_file("an OpenDocument file, such as .ods", report.form.file)
        return None
    return _from_csv(_sheet_files(files, report), report)


def _from_spreadsheet(files: Mapping[str, bytes], report: Report) -> Tables | None:
    if b"macroEnabled" in files["[Content_Types].xml"]:
        report.refuse_file("a workbook with macros", report.form.file)
        return None
    tables: dict[str, Table | None] = {}
    try:
        with opened(files) as sheets:
            for title, rows in sheets:
                _take(title, rows, tables, report)
    except TooLargeError as refused:
        report.refuse_file(refused.got, refused.accepted)
        return None
    except Exception:  # noqa: BLE001 - the library raises anything at all on files bent on purpose
        report.refuse_file("a workbook that cannot be read", report.form.file)
        return None
    return tables


def _take(
    title: str,
    rows: Iterable[tuple[int, list[Cell]]],
    tables: dict[str, Table | None],
    report: Report,
) -> None:
    sheet = title.strip().casefold()
    if sheet not in report.form.columns:
        report.remark("", 0, "", f"the sheet {quote(title)} is not known and is kept out")
    elif sheet in tables:
        report.refuse(sheet, 0, "", "two sheets of this name", "each sheet once")
    else:
        tables[sheet] = _table(sheet, rows, report)


def _sheet_files(files: Mapping[str, bytes], report: Report) -> dict[str, bytes]:
    """The CSV files among the files of an archive, by sheet; the rest is remarked."""
    found: dict[str, bytes] = {}
    for name, data in files.items():
        parts = PurePosixPath(name.lower()).parts
        sheet = (
            _sheet_of(parts[-1], report) if len(parts) <= 2 and "__macosx" not in parts else None
        )
        if sheet is None:
            report.remark("", 0, "", f"the file {quote(name)} is not known and is kept out")
        elif sheet in found:
            report.refuse(sheet, 0, "", f"two files of this sheet ({quote(name)})", "one of each")
        else:
            found[sheet] = data
    return found


def _sheet_of(name: str, report: Report) -> str | None:
    """The sheet that a file of this name holds, None for any other file."""
    sheet = name.removesuffix(".csv")
    return sheet if sheet != name and sheet in report.form.columns else None


def _from_folder(folder: Path, report: Report) -> Tables | None:
    inside = list(islice(folder.iterdir(), MAX_ENTRIES + 1))
    if len(inside) > MAX_ENTRIES:
        report.refuse_file("a folder of more files", f"at most {MAX_ENTRIES} files")
        return None
    files: dict[str, bytes] = {}
    for path in sorted(inside):
        sheet = _sheet_of(path.name.lower(), report)
        if sheet is None:
            report.remark("", 0, "", f"the file {quote(path.name)} is not known and is kept out")
        elif path.is_symlink() or not path.is_file():
            report.refuse(sheet, 0, "", "a link or something else than a file", "a plain file")
        elif sheet in files:
            report.refuse(
                sheet, 0, "", f"two files of this sheet ({quote(path.name)})", "one of each"
            )
        else:
            files[sheet] = _start_of(path, MAX_SHEET)
    return _from_csv(files, report)


def _from_csv(files: Mapping[str, bytes], report: Report) -> Tables:
    tables: dict[str, Table | None] = {}
    for sheet, data in files.items():
        if len(data) > MAX_SHEET:
            accepted = f"a file of at most {MAX_SHEET // MEGABYTE} MB"
            report.refuse(sheet, 0, "", "a larger file", accepted)
            tables[sheet] = None
        else:
            tables[sheet] = _table(sheet, read_rows(sheet, data, report), report)
    return tables


def _table(sheet: str, rows: Iterable[tuple[int, Iterable[Cell]]], report: Report) -> Table | None:
    """The rows that hold anything, up to the limit; None where the sheet has a problem."""
    before = report.count
    kept: list[tuple[int, tuple[Cell, ...]]] = []
    for number, row in rows:
        cells = tuple(row)
        if not _is_blank(cells):
            kept.append((number, cells))
        if len(kept) > MAX_ROWS + 1 or number > LAST_ROW:
            report.refuse(sheet, number, "", "more rows", f"at most {MAX_ROWS} under the header")
            return None
        if any(cells[MAX_COLUMNS:]):
            report.refuse(sheet, number, "", "more columns", f"at most {MAX_COLUMNS}")
            return None
    return Table(sheet, tuple(kept)) if report.count == before else None


def _is_blank(cells: tuple[Cell, ...]) -> bool:
    return all(cell == "" or str(cell).isspace() for cell in cells)


def _start_of(path: Path, limit: int) -> bytes:
    """The content of a file, cut one byte over the limit so that it is seen to be too long."""
    with path.open("rb") as source:
        return source.read(limit + 1)
