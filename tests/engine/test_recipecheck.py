"""The settings of a recipe as a form writes them: read back as they were, or refused by field."""

from typing import Any

import pytest

from drills.engine.recipecheck import read_settings, written
from drills.engine.recipes import BUILT_FOCUSES, BUILT_KINDS
from tests.reference import fixture

CALLS = tuple(fields["slug"] for fields in fixture("call_types.json"))
FIXED = ("by compartment", "moved first", "seat by seat")
PLAIN: dict[str, list[str]] = {
    "name": ["Ten things"],
    "mode": ["practice"],
    "n_locate": ["10"],
    "difficulty": ["2"],
    "layout_rule": ["rig today"],
    "depth": ["pocket"],
    "order": ["mixed"],
    "minutes": ["4"],
}


def read(**changes: str) -> tuple[dict[str, Any], dict[str, str]]:
    typed = PLAIN | {name: [value] for name, value in changes.items()}
    return read_settings(typed, call_types=CALLS)


def test_the_plainest_recipe_is_accepted_and_has_no_cut_off() -> None:
    """What is left empty is not set."""
    given, faults = read()

    assert faults == {}
    assert given["kinds"] == "locate:10"
    assert given["cut_off_s"] is None
    assert not given["no_unsafe_dose"]


def kinds_in(kept: dict[str, Any]) -> list[str]:
    return [part.partition(":")[0] for part in kept["kinds"].split(";")]


BUILT = [
    fields
    for fields in fixture("recipes.json")
    if {*kinds_in(fields)} <= {*BUILT_KINDS} and {*fields["focus"]} <= {*BUILT_FOCUSES}
]


@pytest.mark.parametrize("kept", BUILT, ids=[fields["slug"] for fields in BUILT])
def test_a_ready_made_recipe_reads_as_it_was_written(kept: dict[str, Any]) -> None:
    """Every setting comes back, lists in the form's order; of a fixed order its beginning alone."""
    typed = written({"marks_writing": False} | kept)

    given, faults = read_settings(typed, call_types=CALLS, order_of_kinds=kinds_in(kept))

    assert faults == {}
    assert given["kinds"] == kept["kinds"]
    assert given["order"] == kept["order"] or kept["order"].startswith(FIXED)
    again = written(kept | given)
    assert {name: sorted(values) for name, values in again.items()} == {
        name: sorted(values) for name, values in (typed | {"notes": again["notes"]}).items()
    }
    assert again["notes"] == [kept["notes"].rstrip(".")]


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("name", " ", "nothing came in; a name of at most 80 letters is accepted."),
        ("name", "x" * 81, "81 letters came in; at most 80 are accepted."),
        ("mode", "exam", "“exam” came in; one of practice, assessed is accepted."),
        ("n_locate", "31", "“31” came in; a whole number from 0 to 30 is accepted."),
        ("n_locate", "all", "“all” came in; a whole number from 0 to 30 is accepted."),
        ("n_dose", "11", "“11” came in; a whole number from 0 to 10 is accepted."),
        ("n_field", "11", "“11” came in; a whole number from 0 to 10 is accepted."),
        ("n_moved", "-1", "“-1” came in; a whole number from 0 to 30 is accepted, or “all”."),
        ("difficulty", "", "nothing came in; a whole number from 1 to 5 is accepted."),
        ("difficulty", "6", "“6” came in; a whole number from 1 to 5 is accepted."),
        ("focus", "what I like", "“what I like” came in; any of what I miss, "),
        ("faces", "roof", "“roof” came in; any of street, curb, "),
        ("call_types", "picnic", "“picnic” came in; any of "),
        ("depth", "cellar", "“cellar” came in; one of door, shelf, pocket is accepted."),
        ("probes", "101", "“101” came in; a whole number from 0 to 100 is accepted."),
        ("limit_over_baseline_s", "soon", "“soon” came in; seconds from 1 to 600 are accepted."),
        ("minutes", "0", "“0” came in; a whole number from 1 to 240 is accepted."),
        ("pass_marks_percent", "٨٠", "“٨٠” came in; a whole number from 0 to 100 is accepted."),
    ],
)
def test_what_is_wrong_is_said_of_its_field(field: str, text: str, said: str) -> None:
    """What came in, and what is accepted."""
    _, faults = read(**{field: text})

    assert list(faults) == [field]
    assert faults[field].startswith(said)


def test_everything_that_is_wrong_is_said_at_once() -> None:
    """Nobody mends one field to hear of the next."""
    _, faults = read(name="", minutes="x", n_locate="")

    assert set(faults) == {"name", "minutes", "kinds"}


@pytest.mark.parametrize(
    ("changes", "accepted"),
    [
        ({"mode": "assessed", "cut_off_s": "20"}, True),
        ({"mode": "assessed", "cut_off_s": "19.9"}, False),
        ({"mode": "assessed", "cut_off_s": "30", "limit_over_baseline_s": "15"}, True),
        ({"mode": "assessed", "cut_off_s": "29,9", "limit_over_baseline_s": "15"}, False),
        ({"mode": "practice", "cut_off_s": "60"}, False),
        ({"mode": "assessed", "cut_off_s": "60", "n_locate": "", "n_dose": "3"}, False),
    ],
)
def test_a_cut_off_is_never_under_twice_the_limit(
    changes: dict[str, str], *, accepted: bool
) -> None:
    """Without a limit of its own the limit is ten seconds; practice and figures have no cut-off."""
    _, faults = read(**changes)

    assert ("cut_off_s" not in faults) is accepted
    assert set(faults) <= {"cut_off_s"}


def test_the_fewest_patients_are_not_more_than_the_most() -> None:
    """Both are told where they cross."""
    _, faults = read(patients_least="4", patients_most="3")

    assert faults == {"patients_most": "“3” came in; it is 4 or more, the fewest there are."}


def test_an_order_of_calls_takes_something_from_calls() -> None:
    """As a call runs, and rising, are orders of what comes from calls."""
    _, faults = read(order="as a call runs")
    _, none = read(order="as a call runs", n_stage="1")

    assert list(faults) == ["order"]
    assert none == {}


def test_injured_patients_come_from_no_call_and_have_no_limit() -> None:
    """Nor has a drill of them alone an order of calls, or a cut-off."""
    given, faults = read(n_locate="", n_field="8")
    _, of_calls = read(n_locate="", n_field="8", order="as a call runs")
    _, cut_off = read(n_locate="", n_field="8", mode="assessed", cut_off_s="60")

    assert (given["kinds"], faults) == ("field:8", {})
    assert "nothing of it comes from calls" in of_calls["order"]
    assert "nothing of it has a limit" in cut_off["cut_off_s"]


def test_kinds_stand_as_they_were_and_new_ones_as_on_a_call() -> None:
    """As a call runs they are asked in the order in which they stand."""
    typed = PLAIN | {"n_dose": ["1"], "n_stage": ["2"], "n_triage": ["all"]}

    anew, _ = read_settings(typed, call_types=CALLS)
    kept, _ = read_settings(typed, call_types=CALLS, order_of_kinds=["dose", "locate"])

    assert anew["kinds"] == "locate:10;triage:auto;stage:2;dose:1"
    assert kept["kinds"] == "dose:1;locate:10;triage:auto;stage:2"
