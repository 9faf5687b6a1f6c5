"""Writing a layout and reading it back: nothing changes, and the bytes are always the same."""

import re
from dataclasses import replace
from io import BytesIO
from zipfile import ZipFile

import pytest
from hypothesis import HealthCheck, given, settings
from openpyxl import load_workbook

from drills.engine.workbook import read_workbook, to_csv, to_xlsx, to_zip
from tests.engine.workbook_files import DEMO, LAYOUTS, as_zip, csv_zip, good, parts_of, with_cell
from tests.engine.workbook_layouts import readable_layouts


@settings(
    max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
@given(readable_layouts())
def test_reading_what_was_written_changes_nothing(layout):
    """Whatever form a layout is written in, reading it gives back an equal layout."""
    written = [to_zip(layout), to_xlsx(layout)]

    read = [read_workbook(data) for data in written]

    assert [[str(each) for each in parsed.problems] for parsed in read] == [[], []]
    assert [parsed.layout for parsed in read] == [layout, layout]


@pytest.mark.parametrize("name", DEMO)
def test_demonstration_layouts_come_back(name, tmp_path):
    """The demonstration layouts survive every form, a folder among them."""
    layout = read_workbook(LAYOUTS / name).layout
    assert layout is not None
    for file_name, data in to_csv(layout).items():
        (tmp_path / file_name).write_bytes(data)

    read = [read_workbook(source) for source in (tmp_path, to_zip(layout), to_xlsx(layout))]

    assert [parsed.layout for parsed in read] == [layout] * 3


@pytest.mark.parametrize("write", [to_zip, to_xlsx])
def test_the_same_layout_gives_the_same_bytes(write):
    """Nothing of the moment of writing is in the file."""
    layout = read_workbook(csv_zip(good())).layout
    assert layout is not None

    written = write(layout)

    with ZipFile(BytesIO(written)) as archive:
        stamps = {entry.date_time for entry in archive.infolist()}
    moments = re.findall(rb">(\d{4}-\d\d-\d\dT[^<]*)<", b"".join(parts_of(written).values()))
    assert stamps == {(1980, 1, 1, 0, 0, 0)}
    assert set(moments) == ({b"2000-01-01T00:00:00Z"} if write is to_xlsx else set())
    assert written == write(layout)


@pytest.mark.parametrize("name", ["=1+1", "+cmd", "-2", "@a", "'=1"])
def test_no_cell_is_a_formula(name):
    """Text that a spreadsheet would work out is written as text in both forms."""
    layout = read_workbook(csv_zip(with_cell("stock", 2, "item", f"'{name}"))).layout
    assert layout is not None

    cell = load_workbook(BytesIO(to_xlsx(layout)))["stock"]["B2"]
    line = to_csv(layout)["stock.csv"].splitlines()[1].decode()

    assert (cell.value, cell.data_type, cell.quotePrefix) == (name, "s", True)
    assert line.startswith(f"S1,'{name},")


def test_numbers_are_written_as_numbers():
    """Par, weights and grid places are figures in the spreadsheet, not text."""
    layout = read_workbook(csv_zip(good())).layout
    assert layout is not None

    stock_sheet = load_workbook(BytesIO(to_xlsx(layout)))["stock"]

    assert [cell.value for cell in stock_sheet["C"]] == ["par", 1, 2, 6]
    assert stock_sheet["I2"].value == 3.2


def test_a_layout_without_points_has_no_such_file():
    """Where points are assumed they are not written, so that they stay assumed."""
    layout = read_workbook(csv_zip(good())).layout
    assert layout is not None
    bare = replace(layout, points=())

    assert sorted(to_csv(layout)) == ["compartments.csv", "layout.csv", "points.csv", "stock.csv"]
    assert sorted(to_csv(bare)) == ["compartments.csv", "layout.csv", "stock.csv"]
    assert read_workbook(as_zip(to_csv(bare))).layout == bare
