"""A change of what the model says is seen, and its number raised with it."""

import csv

import numpy as np
import pytest

from drills.engine.knowing import history
from tests.engine.model_log import FILE, SAID, what_it_says

NEAR = 1e-9
TO_DO = (
    "The model says {} of tests/data/model_log.csv than is kept. Raise {} in "
    "drills/engine/knowing/__init__.py, which marks what the manual prints as of an earlier model, "
    "write the file anew (python -m tests.engine.model_log), and measure that anew "
    "(python -m tests.bench.competency)."
)


def apart() -> dict[str, float]:
    """By how much what is said now and what is kept differ at most."""
    text = FILE.read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    said = what_it_says(text)
    kept = {name: np.array([float(row[name]) for row in rows]) for name in SAID}
    return {name: float(np.abs(said[name] - kept[name]).max()) for name in SAID}


def test_chances_of_the_kept_log_are_what_they_were() -> None:
    """Whoever changes them raises their number, so that older figures are known as such."""
    assert apart()["chance"] < NEAR, TO_DO.format("other chances", "CHANCES")


def test_doubt_of_the_kept_log_is_what_it_was() -> None:
    """Whoever changes how sure they are raises that number."""
    found = apart()
    most = max(found[name] for name in SAID[1:])
    assert most < NEAR, TO_DO.format("another doubt", "DOUBT")


def test_a_change_under_the_same_names_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """Windows of other days have the same names of coefficients, and are another model."""
    monkeypatch.setattr(history, "WINDOWS", tuple(days * 1.01 for days in history.WINDOWS))

    assert apart()["chance"] > NEAR
