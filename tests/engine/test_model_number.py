"""A change of what the model says is seen, and its number raised with it."""

import csv

import numpy as np
import pytest

from drills.engine.evaluated.page import figures
from drills.engine.knowing import MODEL, history
from tests.engine.model_log import FILE, SAID, what_it_says

NEAR = 1e-9
TO_DO = (
    "The model says something else of tests/data/model_log.csv. Raise MODEL in "
    "drills/engine/knowing/__init__.py, write the file anew (python -m tests.engine.model_log), "
    "and measure anew what the manual prints (python -m tests.bench.competency)."
)


def apart() -> dict[str, float]:
    """By how much what is said now and what is kept differ at most."""
    text = FILE.read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    said = what_it_says(text)
    kept = {name: np.array([float(row[name]) for row in rows]) for name in SAID}
    return {name: float(np.abs(said[name] - kept[name]).max()) for name in SAID}


def test_it_says_of_the_kept_log_what_it_said() -> None:
    """Whoever changes what it says raises its number, so that older figures are known as such."""
    assert max(apart().values()) < NEAR, TO_DO


def test_what_is_printed_was_measured_of_this_model() -> None:
    """What was measured of the model before is kept only where it is marked as such."""
    assert figures()["model"] == MODEL


def test_a_change_under_the_same_names_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """Windows of other days have the same names of coefficients, and are another model."""
    monkeypatch.setattr(history, "WINDOWS", tuple(days * 1.01 for days in history.WINDOWS))

    assert apart()["chance"] > NEAR
