"""A layout goes out and comes back the same, and goes out again in the same bytes."""

import datetime as clock
import os
import subprocess
import sys
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import given, settings

from drills.engine.layout import FACES, Rect
from drills.engine.workbook import SAMPLE, read_workbook, to_xlsx, to_zip
from tests.bench.big import big_layout
from tests.engine.workbook_files import DEMO, LAYOUTS
from tests.strategies import layouts

FOREIGN = Path(__file__).parents[1] / "data" / "foreign_van"
WRITERS = (to_xlsx, to_zip)
NAMED = (*(LAYOUTS / name for name in DEMO), FOREIGN)
WRITE = """
import hashlib
from drills.engine.workbook import SAMPLE, to_xlsx, to_zip
print(*(hashlib.sha256(write(SAMPLE)).hexdigest() for write in (to_xlsx, to_zip)))
"""


def read(source):
    parsed = read_workbook(source)
    assert parsed.layout is not None, parsed.problems
    return parsed.layout


def in_slots(layout):
    """The drawn rig with a strip of the face for each place, so that our reader takes it."""
    placed = tuple(
        replace(each, rect=Rect(slot * 2, 0, 2, 12))
        for slot, each in enumerate(layout.compartments)
    )
    served = tuple(replace(each, serves=(placed[0].code,)) for each in layout.points)
    return replace(layout, compartments=placed, points=served)


def test_the_big_rig_is_one_that_our_own_reader_takes():
    """What is measured with is a workbook like any other, and as large as it says."""
    big = big_layout()

    parsed = read_workbook(to_zip(big))

    assert (parsed.problems, parsed.remarks) == ((), ())
    assert parsed.layout == big
    assert (len(big.compartments), len(big.stock)) == (400, 5_000)
    assert len({line.key for line in big.stock}) == 1_500
    assert {big.face_of(each.code) for each in big.compartments} == set(FACES)
    assert max(len(big.chain(each.code)) for each in big.compartments) == 5


@pytest.mark.parametrize("write", WRITERS)
@pytest.mark.parametrize("path", NAMED, ids=lambda path: path.name)
def test_what_came_in_goes_out_and_comes_in_the_same(path, write):
    """A workbook of each kind of hand is the same layout after a round, in the same bytes."""
    layout = read(path)

    written = write(layout)

    assert read(written) == layout
    assert write(read(written)) == written


@pytest.mark.parametrize("write", WRITERS)
def test_the_big_rig_comes_back_the_same(write):
    """Size changes nothing of it."""
    written = write(big_layout())

    assert read(written) == big_layout()
    assert write(read(written)) == written


@settings(max_examples=40, deadline=None, derandomize=True)
@given(layouts())
def test_rows_in_any_order_keep_their_order(layout):
    """Bags in bags, what lies in another before it, doubles: all come back as they lay."""
    rig = in_slots(layout)

    for write in WRITERS:
        assert read(write(rig)) == read(write(read(write(rig))))
        assert [each.code for each in read(write(rig)).compartments] == [
            each.code for each in rig.compartments
        ]
        assert read(write(rig)).stock == rig.stock


@pytest.mark.parametrize("write", WRITERS)
def test_another_day_gives_the_same_bytes(write, monkeypatch):
    """Nothing of the clock is in the file, whatever the writing library puts there."""
    today = write(SAMPLE)

    class Later(clock.datetime):
        @classmethod
        def now(cls, tz=None):
            return cls(2031, 2, 3, 4, 5, 6, tzinfo=tz)

    later = SimpleNamespace(datetime=Later, timezone=clock.timezone)
    monkeypatch.setattr("openpyxl.packaging.core.datetime", later)
    monkeypatch.setattr("openpyxl.writer.excel.datetime", later)
    monkeypatch.setattr("time.localtime", lambda *_: (2031, 2, 3, 4, 5, 6, 0, 34, 0))

    assert write(SAMPLE) == today


def test_another_process_gives_the_same_bytes():
    """Neither the seed of hashes nor the zone of the machine is in the file."""
    here = [sha256(write(SAMPLE)).hexdigest() for write in WRITERS]

    elsewhere = [
        subprocess.run(
            [sys.executable, "-c", WRITE],
            capture_output=True,
            check=True,
            text=True,
            env={**os.environ, "PYTHONHASHSEED": seed, "TZ": zone},
        ).stdout.split()
        for seed, zone in (("1", "Pacific/Kiritimati"), ("2", "America/Phoenix"))
    ]

    assert elsewhere == [here, here]
