"""The command that prints a simulated cohort."""

import csv
from datetime import datetime, timedelta
from io import StringIO
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from drills.engine.simulated import scenario_of, simulate_crews

COLUMNS = ["time", "person", "item", "layout", "modality", "outcome", "seconds", "chosen"]
BEYOND = ["place", "kind", "choices", "step", "category"]


def printed(**options: Any) -> list[dict[str, str]]:
    out = StringIO()
    call_command("simulate_cohort", people=5, items=20, days=60, stdout=out, **options)
    return list(csv.DictReader(StringIO(out.getvalue())))


def test_rows_have_the_columns_and_words_of_a_log() -> None:
    """The columns come in their order, times with their zone and none before the last one, and
    every word is one that is promised."""
    rows = printed(scenario="time-outs", seed=4)

    assert list(rows[0]) == COLUMNS + BEYOND
    times = [datetime.fromisoformat(row["time"]) for row in rows]
    assert all(later >= sooner for sooner, later in pairwise(times))
    assert all(time.utcoffset() == timedelta(0) for time in times)
    assert {row["outcome"] for row in rows} == {"right", "wrong", "timed-out"}
    assert {row["modality"] for row in rows} <= {"screen", "hands-on"}
    assert {row["chosen"] for row in rows} == {"probe", "assigned"}
    assert {row["step"] for row in rows} == {"item", "bag"}
    assert all(row["item"].startswith(row["step"]) for row in rows)
    assert all(0 < float(row["seconds"]) <= 15 for row in rows)


def test_rows_are_those_of_the_simulator() -> None:
    """What is printed is what was lived through, row by row."""
    rows = printed(law="F", seed=9, scenario="moved")
    found = simulate_crews(scenario_of("moved", law="F", people=5, items=20, days=60), seed=9)

    assert [row["outcome"] == "right" for row in rows] == list(found.log.is_right)
    assert [int(row["person"].split("-")[1]) - 1 for row in rows] == list(found.log.person)


def test_the_truth_goes_to_a_file_of_its_own(tmp_path: Path) -> None:
    """It has a chance for each row, in the same order, and no row printed tells it."""
    rows = printed(seed=2, truth=tmp_path / "truth.csv")
    with (tmp_path / "truth.csv").open(encoding="utf-8", newline="") as file:
        truth = list(csv.DictReader(file))

    shared = ["time", "person", "item", "layout"]
    assert [[row[name] for name in shared] for row in rows] == [
        [row[name] for name in shared] for row in truth
    ]
    assert all(0 < float(row["chance"]) < 1 for row in truth)
    assert "chance" not in rows[0]


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"people": 0}, "people"),
        ({"items": 4}, "items"),
        ({"scenario": "nowhere"}, "nowhere"),
        ({"start": "yesterday"}, "yesterday"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(options: dict[str, Any], words: str) -> None:
    """The option that cannot be is named, and nothing is printed."""
    out = StringIO()
    arguments = [f"--{name}={value}" for name, value in options.items()]
    with pytest.raises(CommandError, match=words):
        call_command("simulate_cohort", *arguments, stdout=out)
    assert not out.getvalue()
