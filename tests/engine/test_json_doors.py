"""Whatever comes in by JSON has an answer, or is refused by the name of its field."""

import json
from collections.abc import Callable, Mapping
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from drills.engine.door import NOT_UNDERSTOOD, UNDERSTOOD, answer
from drills.engine.items import told_fit
from drills.engine.layout import Compartment, Layout, Rect, StockLine
from drills.engine.optimum.door import told_plan
from drills.engine.triage import CHARTS, triage
from drills.engine.triage.field import READERS as CRITERIA
from drills.engine.triage.field import field_triage
from drills.engine.triage.findings import READERS as FINDINGS

HUGE = 10**400
FIGURES = (
    *(0, 1, 2, 2.1, 15, 30, 31, 45, 200, 201, -1, 0.5),
    *(HUGE, -HUGE, 1e-320, 1e308, float("inf"), float("nan")),
)
WORDS = ("", "1", "\0", "\ud800", "A", "u", "radial", "rear", "curb", "pelvis", "x" * 500)
PLAIN = st.none() | st.booleans() | st.sampled_from(FIGURES) | st.sampled_from(WORDS) | st.text()
ANYTHING = st.recursive(
    PLAIN, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3)
)
BAG = Compartment("B", "Bag", face="curb", rect=Rect(0, 0, 4, 4), closure="zip", carried="one-hand")
BOX = Compartment("A", "Box", face="rear", rect=Rect(0, 0, 4, 4), closure="lid")
CART = Layout(
    name="Cart",
    slug="cart",
    compartments=(BAG, BOX),
    stock=(StockLine("B", "mask", 3), StockLine("A", "mask", 2), StockLine("A", "vest", 1)),
)
KITS = st.dictionaries(st.sampled_from(["mask", "vest", "MASK", ""]), st.just(1) | ANYTHING)
METRES = st.just(6) | ANYTHING
PATIENTS = st.fixed_dictionaries({}, optional={"side": ANYTHING, "metres": METRES})
ASKED = st.fixed_dictionaries(
    {"kit": KITS | ANYTHING},
    optional={
        "people": st.sampled_from([1, 2]) | ANYTHING,
        "patient": PATIENTS | ANYTHING,
        "begin": st.sampled_from(["patient", "cab"]) | ANYTHING,
        "hands": st.sampled_from([1, 4, None]) | ANYTHING,
    },
)


def findings(names: Mapping[str, Any]) -> st.SearchStrategy[dict[str, Any]]:
    told = {name: st.booleans() | ANYTHING for name in names}
    return st.fixed_dictionaries({}, optional=told) | st.dictionaries(st.text(), ANYTHING)


def is_answered(asked: Any, told: Callable[[Any], dict[str, Any]]) -> bool:
    """Whether it was, or else was refused in words that can be read and name a field first."""
    code, line = answer(lambda: json.dumps(asked), told)
    printed = json.loads(line)
    if code == UNDERSTOOD:
        return True
    assert code == NOT_UNDERSTOOD
    assert set(printed) == {"error"}
    assert ": " in printed["error"]
    assert len(printed["error"]) < 1000
    return False


def triage_of(given: dict[str, Any]) -> dict[str, Any]:
    return {"category": triage("start", given).category}


@given(asked=findings(FINDINGS), scheme=st.sampled_from(list(CHARTS)))
def test_any_findings_have_a_category_or_are_refused(asked: dict[str, Any], scheme: str) -> None:
    def told(given: Any) -> dict[str, Any]:
        found = triage(scheme, given)
        assert (found.category is None) != (found.needs is None)
        return {"category": found.category}

    is_answered(asked, told)


@given(asked=findings(CRITERIA))
def test_any_criteria_have_a_level_or_are_refused(asked: dict[str, Any]) -> None:
    def told(given: Any) -> dict[str, Any]:
        found = field_triage(given)
        assert (found.category is None) != (found.needs is None)
        return {"category": found.category}

    is_answered(asked, told)


@settings(max_examples=200)
@given(asked=ASKED | ANYTHING)
def test_any_kit_has_a_plan_or_is_refused(asked: Any) -> None:
    """And where it has one, the second person never makes it slower."""

    def told(given: Any) -> dict[str, Any]:
        return told_plan(CART, given, is_explained=True)

    if is_answered(asked, told):
        alone, two = (told({**asked, "people": people})["seconds"] for people in (1, 2))
        assert 0 < two <= alone


PATTERNS = st.dictionaries(
    st.text("01", min_size=2, max_size=3), st.integers(0, 9) | ANYTHING, max_size=8
)


@given(patterns=PATTERNS | ANYTHING, model=st.just("one_slope") | ANYTHING)
def test_any_patterns_have_a_fit_or_are_refused(patterns: Any, model: Any) -> None:
    def told(given: Any) -> dict[str, Any]:
        found = told_fit(given)
        assert found["slope"] >= 0
        assert found["log_likelihood"] <= 0
        return found

    is_answered({"patterns": patterns, "model": model}, told)


def test_a_number_too_long_to_write_out_is_named() -> None:
    """It is shown as a long number, and not by its digits."""
    code, line = answer(lambda: json.dumps({"rate": HUGE}), triage_of)

    assert code == NOT_UNDERSTOOD
    assert json.loads(line)["error"] == (
        "rate: a long number came in; a number from 0 to 200 a minute is accepted."
    )
