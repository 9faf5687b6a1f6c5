"""Files that mean harm or are mistaken: every fault is told, and nothing of them is stored."""

import io
import json
import zipfile
from collections.abc import Callable
from html import unescape
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse
from openpyxl import Workbook, load_workbook

from drills.engine.formulary_workbook import to_xlsx
from drills.engine.formulary_workbook.write import to_csv
from drills.formulary.models import DoseRule, FormularyRevision, Medicine, Presentation
from drills.formulary.workbook.told import book_of
from drills.people.models import AuditEntry, Person
from tests.formulary.conftest import ClientOf
from tests.formulary.test_import_page import sent
from tests.formulary.test_index import said

Change = Callable[[Workbook], object]


def put(**cells: str) -> Change:
    """Values for the first rule, by column."""

    def change(book: Workbook) -> None:
        sheet = book["rules"]
        header = [cell.value for cell in sheet[1]]
        for column, value in cells.items():
            sheet.cell(2, header.index(column) + 1).value = value

    return change


def many(book: Workbook) -> None:
    row = [cell.value for cell in book["rules"][2]]
    for number in range(5_000):
        book["rules"].append([f"X{number}", *row[1:]])


def without(name: str) -> Change:
    return lambda book: book.remove(book[name])


def edited(content: bytes, change: Change) -> bytes:
    book, out = load_workbook(io.BytesIO(content)), io.BytesIO()
    change(book)
    book.save(out)
    return out.getvalue()


def bomb() -> bytes:
    """Half a megabyte that would be 600."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("rules.csv", b"0" * 600_000_000)
    return out.getvalue()


def counts() -> list[int]:
    kept = (FormularyRevision, DoseRule, Presentation, Medicine, AuditEntry)
    return [each.objects.count() for each in kept]


def refused_by_both(
    content: bytes, person: Person, client_of: ClientOf, folder: Path
) -> tuple[str, list[dict[str, object]]]:
    """The words of the page and the problems of the command; nothing is stored by either."""
    before, path, out = counts(), folder / "formulary.xlsx", io.StringIO()
    page = client_of(person).post(reverse("formulary:import"), sent(content))
    assert page.status_code == 422
    path.write_bytes(content)
    with pytest.raises(CommandError, match="Nothing is stored"):
        call_command("import_formulary", path, stdout=out, stderr=io.StringIO())
    assert counts() == before
    problems: list[dict[str, object]] = json.loads(out.getvalue())["problems"]
    return said(unescape(page.content.decode())), problems


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (put(maximum="=1+1", dose='=HYPERLINK("x")'), ("a formula (", 2)),
        (without("rules"), ("no such sheet", 1)),
        (put(dose="0.1 mg/lb", maximum="-1 mg"), ("0.1 mg/lb", 2)),
        (put(dose="1.000,5 mg/kg"), ("1.000,5", 1)),
        (many, ("5001 rows", 1)),
    ],
    ids=["formulas", "no sheet", "units", "two decimal marks", "5,000 rows"],
)
def test_a_bad_workbook_is_refused_whole(
    change: Change,
    told: tuple[str, int],
    own: FormularyRevision,
    educator: Person,
    client_of: ClientOf,
    tmp_path: Path,
) -> None:
    content = edited(to_xlsx(book_of(own)), change)

    page, problems = refused_by_both(content, educator, client_of, tmp_path)

    words, count = told
    assert words in page
    assert len(problems) == count
    assert all(each["accepted"] for each in problems)


@pytest.mark.parametrize(
    ("content", "words"),
    [(None, "no archive"), (bomb, "600 MB once unpacked"), (lambda: b"hello", "no archive")],
    ids=["a CSV by another name", "bomb", "text"],
)
def test_what_is_no_workbook_is_refused(
    content: Callable[[], bytes] | None,
    words: str,
    own: FormularyRevision,
    educator: Person,
    client_of: ClientOf,
    tmp_path: Path,
) -> None:
    given = content() if content else to_csv(book_of(own))["rules.csv"]

    page, problems = refused_by_both(given, educator, client_of, tmp_path)

    assert words in page
    assert len(problems) == 1


def test_a_decimal_comma_is_read(
    own: FormularyRevision, educator: Person, client_of: ClientOf
) -> None:
    content = edited(to_xlsx(book_of(own)), put(dose="0,1 mg/kg"))

    page = client_of(educator).post(reverse("formulary:import"), sent(content))

    assert page.status_code == 200
    assert "0.1 mg/kg" in said(unescape(page.content.decode()))
