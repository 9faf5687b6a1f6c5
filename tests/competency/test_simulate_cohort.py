"""The command that prints a simulated cohort."""

import csv
from datetime import datetime, timedelta
from io import StringIO
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from drills.engine.knowing.logs import read_log
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
        ({"people": 1_000_000_000}, "people: 1000000000 came in; 1 to 10000 would be accepted"),
        ({"items": 10_001}, "items: 10001 came in; 12 to 10000 would be accepted"),
        ({"days": 1_000_000}, "days: 1000000 came in; 1 to 3660 would be accepted"),
        (
            {"people": 2_000, "items": 600},
            "people times items: 1200000 came in; 1 to 1000000 would be accepted",
        ),
        (
            {"people": 2_000, "days": 600},
            "people times days: 1200000 came in; 1 to 1000000 would be accepted",
        ),
        ({"seed": -5}, "seed: -5 came in; a whole number of at least 0 would be accepted"),
        (
            {"start": "9999-12-31", "days": 365},
            "start: 9999-12-31 came in; a day from 1900-01-01 to 2099-01-01 would be accepted",
        ),
        ({"start": "1899-12-31"}, "start: 1899-12-31 came in; a day from 1900-01-01 to"),
        ({"truth": "/no/dir/x"}, "truth: /no/dir/x came in; a file that can be written would be"),
        ({"truth": "/"}, "truth: / came in; a file that can be written would be accepted"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(options: dict[str, Any], words: str) -> None:
    """The option that cannot be is named, and nothing is printed."""
    out = StringIO()
    arguments = [f"--{name}={value}" for name, value in options.items()]
    with pytest.raises(CommandError, match=words):
        call_command("simulate_cohort", *arguments, stdout=out)
    assert not out.getvalue()


def test_the_latest_start_is_one_that_predict_log_reads() -> None:
    """The last row of the last days that can be is one of a log that is predicted."""
    out = StringIO()
    options = ["--start=2099-12-02", "--days=30", "--people=2", "--items=12", f"--seed={10**50}"]
    call_command("simulate_cohort", *options, stdout=out)

    assert len(read_log(out.getvalue()).rows) > 0
