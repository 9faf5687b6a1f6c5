"""How problems are told: all at once, each once, in sentences; and paths that lead nowhere."""

from pathlib import Path

import openpyxl

from drills.engine.workbook import read_workbook
from tests.engine.workbook_files import as_csv, csv_zip, good, with_cell, without


def test_every_problem_at_once():
    """No problem stops the others: all sheets are read to their end."""
    sheets = with_cell("stock", 2, "par", "0")
    sheets["layout"][1][1] = "other/2"
    sheets["compartments"][1][3] = "roof"
    sheets["stock"][2][7] = "some"
    sheets["points"][1][1] = "hatch"

    problems = read_workbook(csv_zip(sheets)).problems

    places = [(each.sheet, each.row, each.column) for each in problems]
    expected = [("layout", 2, "format"), ("compartments", 2, "face"), ("stock", 2, "par")]
    expected += [("stock", 3, "presentation"), ("points", 2, "kind")]
    assert places == expected


def test_a_missing_sheet_is_told_once():
    """Where the compartments cannot be read, the stock is not blamed for naming them."""
    problems = read_workbook(csv_zip(without("compartments"))).problems

    assert [(each.sheet, each.row) for each in problems] == [("compartments", 0)]


def test_problem_is_one_plain_sentence():
    """A problem names sheet, row, column, what came in and what would be accepted."""
    (problem,) = read_workbook(csv_zip(with_cell("stock", 2, "par", "0"))).problems

    expected = (
        'Sheet stock, row 2, column par: "0" came in; '
        "accepted is a whole number of at least 1 and at most 9999."
    )
    assert str(problem) == expected


def test_problems_are_counted_beyond_ten_thousand():
    """A file with more mistakes than anybody can read ends with their number."""
    lines = [["S1", f"Item {number}", "0"] for number in range(10_007)]
    data = csv_zip({**good(), "stock": [["compartment", "item", "par"], *lines]})

    problems = read_workbook(data).problems

    assert len(problems) == 10_001
    assert "7 more problems" in str(problems[-1])


def test_xml_is_read_with_the_hardened_reader():
    """The spreadsheet library reads XML through the reader that refuses entities."""
    assert openpyxl.DEFUSEDXML is True


def test_paths_that_lead_nowhere(tmp_path):
    """A path that is no file, or links inside a folder, are refused without being followed."""
    secret = tmp_path / "secret.txt"
    secret.write_text("compartment,item,par\n")
    folder = tmp_path / "folder"
    folder.mkdir()
    for name, data in as_csv(without("stock")).items():
        (folder / name).write_bytes(data)
    (folder / "stock.csv").symlink_to(secret)

    nowhere = read_workbook(tmp_path / "none.xlsx")
    linked = read_workbook(folder)
    unopened = read_workbook(Path("x" * 5_000))

    assert "no file or folder" in str(nowhere.problems[0])
    assert "cannot be opened" in str(unopened.problems[0])
    assert any("a link" in str(each) for each in linked.problems)


def test_large_files_of_a_folder_are_not_read_whole(tmp_path):
    """A file of a folder is read to the limit of a sheet and no further."""
    for name, data in as_csv(without("stock")).items():
        (tmp_path / name).write_bytes(data)
    with (tmp_path / "stock.csv").open("wb") as target:
        target.truncate(40_000_000_000)

    problems = read_workbook(tmp_path).problems

    assert [each.sheet for each in problems] == ["stock"]
    assert "at most 10 MB" in str(problems[0])


def test_a_folder_of_too_many_or_double_files(tmp_path):
    """A folder is no archive of everything: it holds each sheet once, among few files."""
    for name, data in as_csv(good()).items():
        (tmp_path / name).write_bytes(data)
    (tmp_path / "STOCK.csv").write_bytes(b"")

    double = read_workbook(tmp_path)
    for number in range(200):
        (tmp_path / f"{number}.txt").touch()
    many = read_workbook(tmp_path)

    assert "two files of this sheet" in str(double.problems[0])
    assert "a folder of more files" in str(many.problems[0])
