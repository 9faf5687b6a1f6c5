"""Whatever the workbook may hold, the tables hold; what is longer is a line among the problems."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.apps import apps
from django.db.models import CharField, Model

from drills.demo.factories import RecipeFactory, RigFactory
from drills.engine.layout import item_key
from drills.engine.workbook import read_workbook
from drills.engine.workbook.columns import (
    ALIAS_LENGTH,
    ALIASES,
    CODE_LENGTH,
    DEPTH,
    KEY_LENGTH,
    NAME_LENGTH,
    NOTES_LENGTH,
    WORD_LENGTH,
)
from drills.people.models import Person
from drills.rigs.actions import import_layout, report_absence
from drills.rigs.models import Item, Revision
from drills.runs.actions import start_run
from tests.engine.workbook_files import Sheets, csv_zip, good, with_cell, with_row
from tests.rigs.conftest import NOW

ROOMS = ("rigs", "scenarios", "runs")
GROWS = "\N{GREEK SMALL LETTER IOTA WITH DIALYTIKA AND TONOS}"  # three letters without case

pytestmark = pytest.mark.django_db


def filled(length: int, start: object = "", letter: str = "x") -> str:
    """A text of just that length."""
    return str(start) + letter * (length - len(str(start)))


def code_at(depth: int) -> str:
    return filled(CODE_LENGTH, depth, "c")


def maximal() -> Sheets:
    """A workbook in which every text is as long as it may be, and compartments as deep."""
    sheets = good()
    columns = (*sheets["compartments"][0], "notes")
    sheets["layout"] = [
        ["key", "value"],
        ["format", "readiness-layout/1"],
        ["name", filled(NAME_LENGTH, letter=GROWS)],
        ["slug", filled(KEY_LENGTH)],
        ["body", filled(NAME_LENGTH)],
        *([key, "29.999999"] for key in ("length_m", "width_m", "height_m")),
        ["notes", filled(NOTES_LENGTH)],
    ]
    sheets["compartments"] = [list(columns), *(_compartment(depth) for depth in range(DEPTH))]
    seat, outlet = filled(CODE_LENGTH, "S"), filled(CODE_LENGTH, "O")
    sheets["points"] = [
        ["code", "kind", "name", "face", "x", "y", "serves"],
        [seat, "seat", filled(NAME_LENGTH, "S"), "interior-street", "23.999999", "5", ""],
        [outlet, "outlet", filled(NAME_LENGTH, "O", GROWS), "floor", "1", "1", code_at(0)],
    ]
    sheets["stock"] = [sheets["stock"][0], *(_line(number) for number in range(2))]
    return sheets


def _compartment(depth: int) -> list[Any]:
    rect = ["0", "0", "4", "4"] if depth == 0 else [""] * 4
    return [
        *(code_at(depth), filled(NAME_LENGTH, depth, GROWS)),
        *(code_at(depth - 1) if depth else "", "interior-street", *rect, *[""] * 5),
        *("two-hands" if depth == 0 else "no", filled(CODE_LENGTH, "S")),
        *(filled(KEY_LENGTH, depth, "p"), filled(NOTES_LENGTH)),
    ]


def _line(number: int) -> list[Any]:
    aliases = ";".join(filled(ALIAS_LENGTH, f"{each:02}") for each in range(ALIASES))
    return [
        *(code_at(DEPTH - 1), filled(NAME_LENGTH, number, GROWS), "9999"),
        *(filled(WORD_LENGTH), filled(WORD_LENGTH, letter="y"), "yes", aliases),
        *(filled(KEY_LENGTH, "1000000 mcg ", "f"), "499.999999", filled(KEY_LENGTH)),
        *("2199-12-31", filled(NOTES_LENGTH)),
    ]


def stored() -> Revision:
    layout = read_workbook(csv_zip(maximal())).layout
    assert layout is not None
    return import_layout(layout, by=None, now=NOW, publish=True)


def test_the_longest_workbook_has_no_problem() -> None:
    assert read_workbook(csv_zip(maximal())).problems == ()


def test_every_column_holds_it(hire: Person) -> None:
    revision = stored()
    thing = item_key(filled(NAME_LENGTH, 0, GROWS))
    rig = RigFactory.create(revision=revision, unit="u" * 20)
    report_absence([code_at(11)], thing=thing, rig=rig, revision=revision, by=hire, now=NOW)

    assert max(len(key) for key in Item.objects.values_list("key", flat=True)) > NAME_LENGTH
    assert list(too_long()) == []


def test_it_is_drilled(hire: Person) -> None:
    revision = stored()
    recipe = RecipeFactory.create(kinds="locate:3;contents:1")

    run = start_run(hire, recipe=recipe, revision=revision, rig=None, now=NOW)

    assert run.drill.prompts.filter(is_spare=False).count() == 4
    assert list(too_long()) == []


def test_a_place_whose_key_is_taken_still_has_room() -> None:
    """A newcomer whose code is the key of another place gets one that fits."""
    code = code_at(0)
    renamed = ["OLD", "Bin", "W1", *[""] * 12, code]
    books = [
        with_row("compartments", code, "Bin", "W1"),
        with_row("compartments", *renamed),
        with_row("compartments", "OLD", "Bin", "W1"),
    ]
    books[-1]["compartments"].append([code, "Box", "W1", *[""] * 13])

    for sheets in books:
        layout = read_workbook(csv_zip(sheets)).layout
        assert layout is not None
        revision = import_layout(layout, by=None, now=NOW, publish=True)

    assert revision.compartments.get(code="OLD").place.key == code
    assert revision.compartments.get(code=code).place.key == f"{code}+"
    assert list(too_long()) == []


@pytest.mark.parametrize(
    ("sheet", "row", "column", "longest"),
    [
        ("layout", 3, "value", NAME_LENGTH),
        ("layout", 4, "value", NAME_LENGTH),
        ("layout", 6, "value", NOTES_LENGTH),
        ("compartments", 2, "code", CODE_LENGTH),
        ("compartments", 2, "name", NAME_LENGTH),
        ("compartments", 2, "place", KEY_LENGTH),
        ("stock", 2, "item", NAME_LENGTH),
        ("stock", 2, "unit", WORD_LENGTH),
        ("stock", 2, "category", WORD_LENGTH),
        ("stock", 2, "aliases", ALIAS_LENGTH),
        ("stock", 2, "need", KEY_LENGTH),
        ("stock", 2, "notes", NOTES_LENGTH),
        ("points", 3, "code", CODE_LENGTH),
        ("points", 3, "name", NAME_LENGTH),
    ],
)
def test_one_letter_more_is_a_problem_of_that_cell(
    sheet: str, row: int, column: str, longest: int
) -> None:
    sheets = with_cell(sheet, row, column, filled(longest + 1))

    problems = read_workbook(csv_zip(sheets)).problems

    assert {(each.sheet, each.row) for each in problems} == {(sheet, row)}
    assert all(str(longest) in each.accepted for each in problems)


@pytest.mark.parametrize("form", [filled(75, letter="\u0130"), filled(74, "iu ")])
def test_a_presentation_that_grows_when_written_our_way_is_a_problem(form: str) -> None:
    text = f"1 mg {form}" if form.startswith("\u0130") else f"9999999 {form[:70]}"
    text = filled(KEY_LENGTH, text, "f")

    problems = read_workbook(csv_zip(with_cell("stock", 2, "presentation", text))).problems

    assert [(each.row, each.column) for each in problems] == [(2, "presentation")]
    assert "at most 80 characters" in problems[0].accepted


def too_long() -> Iterator[str]:
    """Every value of the rooms that its column would not hold."""
    for room in ROOMS:
        for model in apps.get_app_config(room).get_models():
            yield from _too_long_in(model)


def _too_long_in(model: type[Model]) -> Iterator[str]:
    for field in model._meta.concrete_fields:
        if isinstance(field, CharField) and field.max_length:
            for value in model._default_manager.values_list(field.name, flat=True):
                if len(str(value)) > field.max_length:
                    yield f"{field}: {len(str(value))} of {field.max_length}"
