"""The workbook of call types: what goes out comes back, and every mistake is named."""

import json

import pytest

from drills.engine.arriving.tables import HAZARDS, RESOURCES
from drills.engine.calls_workbook import (
    ABOUT,
    NEEDS,
    PATIENTS,
    PHRASES,
    Kept,
    Known,
    cells_of,
    judged,
    read_calls,
    to_xlsx,
    to_zip,
)
from drills.engine.calls_workbook.write import sheets_of
from drills.engine.workbook.archive import pack
from drills.engine.workbook.csvtext import write_files
from tests.layouts import FIXTURES
from tests.reference import need_index

LEVELS = ("emt", "advanced-emt", "paramedic")


def rows(name: str, model: str) -> list[Kept]:
    found = json.loads((FIXTURES / name).read_text())
    return [each["fields"] for each in found if each["model"] == model]


BANDS = rows("localities.json", "scenarios.ageband")
KNOWN = Known(
    need_of=need_index().called,
    problems=frozenset(each["slug"] for each in rows("problems.json", "scenarios.problem")),
    bands=tuple(each["key"] for each in BANDS),
    sizes=("adult", "child", "infant"),
    levels=LEVELS,
)
OF_THE_RELEASE = ("slug", "version", "reviewed_by")
CALLS: dict[str, Kept] = {
    each["slug"]: {column: each[column] for column in each if column not in OF_THE_RELEASE}
    for each in rows("call_types.json", "scenarios.calltype")
}
NEED = {"need": "burn-sheet", "grade": "must", "quantity": "2", "per": "patient"}
PHRASE = {"phrase": "{patient} at {place}."}
PATIENT = {"problem": "limb-bleed", "age_bands": "adult 5; older 2", "severities": "2; 3"}
IT = {
    "name": "Bleeding",
    "priority": "emergency",
    "patients_least": "1",
    "patients_most": "2",
    "scene": "home",
    "size_up": "One bleeding",
    "road_kinds": "county",
    "source": "common practice, no source",
    "owner": "the office",
    "date": "2026-11-28",
}


@pytest.mark.parametrize(("write", "name"), [(to_xlsx, "c.xlsx"), (to_zip, "c.zip")])
def test_every_call_type_comes_back_as_it_went_out(write: object, name: str) -> None:
    """Of the whole product, in both kinds of file, to the last word and its order."""
    read = read_calls(write(CALLS), KNOWN, name=name)  # type: ignore[operator]  # one of two writers
    assert read.problems == ()
    assert dict(read.calls) == CALLS


def test_every_hazard_and_every_crew_may_stand_in_one_row() -> None:
    """However many there are, and in the order of their table whatever came in."""
    given = {"hazards_here": "; ".join(reversed(HAZARDS)), "asks_for": "; ".join(RESOURCES)}
    kept, problems = judged(ABOUT, IT | given, KNOWN)
    assert problems == ()
    assert kept["hazards_here"] == list(HAZARDS)
    assert kept["asks_for"] == list(RESOURCES)
    assert kept["hazards_possible"] == kept["may_ask_for"] == []


@pytest.mark.parametrize(
    ("sheet", "cells"), [(ABOUT, IT), (PHRASES, PHRASE), (PATIENTS, PATIENT), (NEEDS, NEED)]
)
def test_a_row_that_is_right_is_kept_and_written_back(sheet: str, cells: dict[str, str]) -> None:
    """What is kept says the same cells again."""
    kept, problems = judged(sheet, cells, KNOWN)
    assert problems == ()
    assert cells_of(sheet, kept).items() >= cells.items()


@pytest.mark.parametrize(
    ("sheet", "cells", "column", "came"),
    [
        (NEEDS, NEED | {"need": "unicorn horn"}, "need", '"unicorn horn"'),
        (NEEDS, NEED | {"grade": "maybe"}, "grade", '"maybe"'),
        (NEEDS, NEED | {"grade": ""}, "grade", "no value"),
        (NEEDS, NEED | {"quantity": "0"}, "quantity", '"0"'),
        (NEEDS, NEED | {"quantity": "two"}, "quantity", '"two"'),
        (NEEDS, NEED | {"per": "rig"}, "per", '"rig"'),
        (NEEDS, NEED | {"size": "huge"}, "size", '"huge"'),
        (NEEDS, NEED | {"level": "wizard"}, "level", '"wizard"'),
        (NEEDS, NEED | {"problem": "boredom"}, "problem", '"boredom"'),
        (NEEDS, NEED | {"severities": "1; 4"}, "severities", '"4"'),
        (NEEDS, NEED | {"serves_instead": "unicorn horn"}, "serves_instead", '"unicorn horn"'),
        (NEEDS, NEED | {"serves_instead": "burn-sheet"}, "serves_instead", '"burn-sheet"'),
        (NEEDS, NEED | {"need": "oxygen-cylinder-main"}, "need", '"oxygen-cylinder-main"'),
        (
            NEEDS,
            NEED | {"serves_instead": "suction-unit-fixed"},
            "serves_instead",
            '"suction-unit-fixed"',
        ),
        (
            NEEDS,
            NEED | {"serves_instead": "blanket", "wrong_grab": "blanket"},
            "wrong_grab",
            '"blanket"',
        ),
        (PHRASES, {"phrase": ""}, "phrase", "no value"),
        (PHRASES, {"phrase": "{name} fell."}, "phrase", '"{name}"'),
        (PHRASES, {"phrase": "{patient fell."}, "phrase", '"{{patient fell.}"'),
        (PHRASES, PHRASE | {"age_bands": "teen"}, "age_bands", '"teen"'),
        (PHRASES, PHRASE | {"problems": "boredom"}, "problems", '"boredom"'),
        (PATIENTS, PATIENT | {"problem": ""}, "problem", "no value"),
        (PATIENTS, PATIENT | {"age_bands": ""}, "age_bands", "no value"),
        (PATIENTS, PATIENT | {"age_bands": "adult"}, "age_bands", '"adult"'),
        (PATIENTS, PATIENT | {"age_bands": "adult 0"}, "age_bands", '"adult 0"'),
        (PATIENTS, PATIENT | {"age_bands": "adult 1; adult 2"}, "age_bands", '"adult"'),
        (PATIENTS, PATIENT | {"age_from_y": "30", "age_to_y": "20"}, "age_to_y", "20"),
        (PATIENTS, PATIENT | {"female_share": "2"}, "female_share", '"2"'),
        (PATIENTS, PATIENT | {"presence": "sometimes"}, "presence", '"sometimes"'),
        (PATIENTS, PATIENT | {"severities": ""}, "severities", "no value"),
        (ABOUT, IT | {"patients_least": "3"}, "patients_most", "2"),
        (ABOUT, IT | {"priority": "soon"}, "priority", '"soon"'),
        (ABOUT, IT | {"road_kinds": "canal"}, "road_kinds", '"canal"'),
        (ABOUT, IT | {"hazards_here": "dragon"}, "hazards_here", '"dragon"'),
        (ABOUT, IT | {"hazards_possible": "fire; dragon"}, "hazards_possible", '"dragon"'),
        (
            ABOUT,
            IT | {"hazards_here": "fire; dog", "hazards_possible": "dog"},
            "hazards_possible",
            '"dog"',
        ),
        (ABOUT, IT | {"asks_for": "wizard"}, "asks_for", '"wizard"'),
        (ABOUT, IT | {"asks_for": "fire", "may_ask_for": "fire"}, "may_ask_for", '"fire"'),
        (ABOUT, IT | {"source": ""}, "source", "no value"),
        (ABOUT, IT | {"owner": ""}, "owner", "no value"),
        (ABOUT, IT | {"date": ""}, "date", "no value"),
        (ABOUT, IT | {"date": "yesterday"}, "date", '"yesterday"'),
    ],
)
def test_what_is_wrong_in_a_row_is_named(
    sheet: str, cells: dict[str, str], column: str, came: str
) -> None:
    """With its column and what came in, and nothing beside it is called wrong."""
    _, problems = judged(sheet, cells, KNOWN)
    assert [each.column for each in problems] == [column]
    assert problems[0].got.startswith(came)
    assert problems[0].accepted


def test_a_need_may_be_given_by_its_name() -> None:
    """As by its key, whatever it serves."""
    named = NEED | {"need": "Blanket, wool", "serves_instead": "Wheeled cot; cot"}
    kept, problems = judged(NEEDS, named, KNOWN)
    assert problems == ()
    assert (kept["need"], kept["serves_instead"]) == ("blanket", ["cot"])


def changed(sheet: str, row: int, column: str, value: str) -> bytes:
    """The workbook of one call type with one cell other than it was."""
    sheets = sheets_of({"burns": CALLS["burns"]})
    header, *below = sheets[sheet]
    cells = list(below[row])
    cells[header.index(column)] = value
    sheets[sheet] = [header, *below[:row], tuple(cells), *below[row + 1 :]]
    return pack(write_files(sheets))


@pytest.mark.parametrize(
    ("sheet", "column", "value", "got"),
    [
        ("book", "value", "readiness-calls/9", '"readiness-calls/9"'),
        ("calls", "call_type", "Burns!", '"Burns!"'),
        ("calls", "call_type", "import", '"import"'),
        ("phrases", "call_type", "scalds", '"scalds"'),
        ("needs", "need", "unicorn horn", '"unicorn horn"'),
    ],
)
def test_a_workbook_with_one_wrong_cell_gives_nothing(
    sheet: str, column: str, value: str, got: str
) -> None:
    """Its problem has the sheet and the row that a person sees."""
    read = read_calls(changed(sheet, 0, column, value), KNOWN, name="c.zip")
    assert dict(read.calls) == {}
    named = "format" if sheet == "book" else column
    assert (sheet, 2, named, got) in {
        (each.sheet, each.row, each.column, each.got) for each in read.problems
    }


def test_every_problem_of_a_workbook_is_told_at_once() -> None:
    """One in each of three sheets."""
    sheets = sheets_of({"burns": CALLS["burns"]})
    for sheet, at in (("calls", 2), ("phrases", 2), ("needs", 5)):
        header, first, *below = sheets[sheet]
        cells = [*first[:at], "never", *first[at + 1 :]]
        sheets[sheet] = [header, tuple(cells), *below]
    read = read_calls(pack(write_files(sheets)), KNOWN, name="c.zip")
    assert [each.sheet for each in read.problems] == ["calls", "phrases", "needs"]


def test_a_row_and_a_call_type_stand_once() -> None:
    """The second is named with the first."""
    sheets = sheets_of({"burns": CALLS["burns"]})
    for sheet in ("calls", "needs"):
        sheets[sheet].append(sheets[sheet][1])
    read = read_calls(pack(write_files(sheets)), KNOWN, name="c.zip")
    assert [(each.sheet, each.got) for each in read.problems] == [
        ("calls", '"burns" for the second time'),
        ("needs", "the same as row 2"),
    ]


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 nothing", b"\xff\xfe"])
def test_whatever_comes_in_is_refused_with_words(content: bytes) -> None:
    """Nothing is raised, and nothing is read of it."""
    read = read_calls(content, KNOWN, name="c.xlsx")
    assert read.problems
    assert dict(read.calls) == {}
