"""A workbook that goes through the tables comes out as it went in, in the same bytes."""

from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from hypothesis import given, settings

from drills.engine.layout import Layout as EngineLayout
from drills.engine.merging import settle
from drills.engine.workbook import SAMPLE, read_workbook, to_xlsx, to_zip
from drills.people.models import Person
from drills.rigs.actions import discard_draft, import_layout
from drills.rigs.models import Layout
from drills.rigs.reading import layout_of
from tests.bench.big import big_layout
from tests.engine.test_workbook_round_trip import NAMED, in_slots
from tests.engine.workbook_layouts import readable_layouts
from tests.rigs.conftest import NOW
from tests.strategies import layouts

Writer = Callable[[EngineLayout], bytes]
WRITERS: tuple[Writer, ...] = (to_xlsx, to_zip)

pytestmark = pytest.mark.django_db


def read(source: Path | bytes) -> EngineLayout:
    parsed = read_workbook(source)
    assert parsed.layout is not None, parsed.problems
    return parsed.layout


def stored(layout: EngineLayout) -> EngineLayout:
    """What the tables say of a layout that is stored in them for the first time."""
    person = Person.objects.first() or Person.objects.create(employee_number="KEEPER")
    revision = import_layout(layout, by=person, now=NOW)
    found = layout_of(revision)
    discard_draft(revision, by=person, now=NOW)
    assert not Layout.objects.exists()
    return found


def assert_the_same_twice(layout: EngineLayout, writers: Sequence[Writer] = WRITERS) -> None:
    """In, out, in and out again: the same values, and the same bytes in both forms."""
    once = stored(layout)
    for write in writers:
        out = write(once)
        assert read(out) == once
        assert write(stored(read(out))) == out
    # What a workbook leaves to its reader, the keys of places and terms of items, is filled in.
    assert once == settle(layout, {})


@pytest.mark.parametrize("path", NAMED, ids=lambda path: path.name)
def test_every_workbook_we_have(path: Path) -> None:
    assert_the_same_twice(read(path))


def test_the_sample() -> None:
    assert_the_same_twice(SAMPLE)


def test_the_big_rig() -> None:
    assert_the_same_twice(big_layout(), [to_zip])


@settings(max_examples=12, deadline=None, derandomize=True)
@given(readable_layouts())
def test_whatever_can_be_read(layout: EngineLayout) -> None:
    assert_the_same_twice(layout)


@settings(max_examples=12, deadline=None, derandomize=True)
@given(layouts())
def test_rows_in_any_order(layout: EngineLayout) -> None:
    assert_the_same_twice(in_slots(layout))
