"""The chapter of the manual on the formulary workbook says what the reader goes by."""

import re

import pytest
from django.urls import reverse

from drills.boards.guide import FOLDER
from drills.engine.formulary_workbook import guide
from drills.engine.formulary_workbook.columns import (
    COLUMNS,
    FORMAT,
    MOST_MEDICINES,
    MOST_PRESENTATIONS,
    MOST_RULES,
)
from drills.engine.workbook.archive import MAX_UPLOAD, MEGABYTE
from drills.engine.workbook.guide import Sheet
from drills.formulary.models import FormularyRevision
from drills.people.models import Person
from tests.formulary.conftest import ClientOf

TEXT = (FOLDER / "formulary-workbook.md").read_text(encoding="utf-8")
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
        (each.name, each.is_needed, each.meaning, each.accepted) for each in sheet.columns
    ]
    assert told.startswith(f"\n{sheet.about}\n")


def test_the_guide_leaves_no_column_out() -> None:
    told = {sheet.name: tuple(each.name for each in sheet.columns) for sheet in guide()}

    assert told | {"formulary": ("key", "value")} == COLUMNS


def test_every_limit_is_the_one_that_holds() -> None:
    told = re.findall(r"\d[\d,]*", section("Limits"))

    assert [int(each.replace(",", "")) for each in told] == [
        *(MAX_UPLOAD // MEGABYTE, MOST_MEDICINES, MOST_PRESENTATIONS, MOST_RULES),
    ]


def test_the_form_and_its_sheets_are_named() -> None:
    assert f"`{FORMAT}`" in TEXT
    assert re.findall(r"^### (\w+)$", TEXT, re.MULTILINE) == list(COLUMNS)


@pytest.mark.parametrize("which", ["blank", "sample"])
def test_it_leads_to_the_workbooks_to_start_from(
    demo: FormularyRevision, client_of: ClientOf, educator: Person, which: str
) -> None:
    url = reverse("formulary:start_workbook", args=[which])
    chapter = reverse("boards:chapter", args=["formulary-workbook"])
    page = client_of(educator).get(chapter).content.decode()

    assert f'href="{url}"' in page
    assert client_of(educator).get(url).status_code == 200
