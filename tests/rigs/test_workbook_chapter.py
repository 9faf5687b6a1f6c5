"""The chapter of the manual on the workbook says what the reader goes by, and nothing else."""

import re

import pytest
from django.urls import reverse

from drills.boards.guide import FOLDER
from drills.engine.layout import GRID_HEIGHT, GRID_WIDTH
from drills.engine.workbook import guide
from drills.engine.workbook.archive import (
    MAX_ENTRIES,
    MAX_RATIO,
    MAX_UNPACKED,
    MAX_UPLOAD,
    MEGABYTE,
)
from drills.engine.workbook.columns import (
    DEPTH,
    FORMAT,
    MAX_COLUMNS,
    MAX_ROWS,
    RESERVED_SLUGS,
    SHEETS,
)
from drills.engine.workbook.guide import Sheet
from drills.engine.workbook.parts import MAX_CELLS, MAX_ROWS_WRITTEN, MAX_SHARED
from drills.engine.workbook.tables import MAX_SHEET
from drills.people.models import Person
from tests.rigs.conftest import ClientOf

TEXT = (FOLDER / "workbook.md").read_text(encoding="utf-8")
# The page names them one by one; here they would change with every new address.
WORDS = ": " + ", ".join(RESERVED_SLUGS)
OWN_WORDS = " the site's own words"
ROW = re.compile(r"^\| (\*\*)?`(\w+)`(?:\*\*)? \| (.*) \| (.*) \|$", re.MULTILINE)


def section(name: str) -> str:
    """The text under a heading, up to the next one."""
    (found,) = re.findall(rf"^#+ {name}\n(.*?)(?=^#|\Z)", TEXT, re.MULTILINE | re.DOTALL)
    return str(found)


@pytest.mark.parametrize("sheet", guide(), ids=lambda sheet: sheet.name)
def test_every_column_stands_as_it_is_read(sheet: Sheet) -> None:
    told = section(sheet.name)

    rows = [(name, bool(bold), meaning, takes) for bold, name, meaning, takes in ROW.findall(told)]

    assert rows == [
        (each.name, each.is_needed, each.meaning, each.accepted.replace(WORDS, OWN_WORDS))
        for each in sheet.columns
    ]
    assert told.startswith(f"\n{sheet.about}\n")


def test_every_limit_is_the_one_that_holds() -> None:
    told = section("Limits")

    assert [int(each.replace(",", "")) for each in re.findall(r"\d[\d,]*", told)] == [
        *(MAX_UPLOAD // MEGABYTE, MAX_UNPACKED // MEGABYTE, MAX_RATIO, MAX_ENTRIES),
        *(MAX_SHEET // MEGABYTE, MAX_ROWS, MAX_COLUMNS),
        *(MAX_ROWS_WRITTEN, MAX_CELLS, MAX_SHARED, DEPTH, GRID_WIDTH, GRID_HEIGHT),
    ]


def test_the_form_and_its_sheets_are_named() -> None:
    assert f"`{FORMAT}`" in TEXT
    assert re.findall(r"^### (\w+)$", TEXT, re.MULTILINE) == list(SHEETS)


@pytest.mark.parametrize("which", ["blank", "sample"])
def test_it_leads_to_the_workbooks_to_start_from(
    client_of: ClientOf, keeper: Person, which: str
) -> None:
    url = reverse("rigs:start_workbook", args=[which])
    page = client_of(keeper).get(reverse("boards:chapter", args=["workbook"])).content.decode()

    assert f'href="{url}"' in page
    assert client_of(keeper).get(url).status_code == 200
