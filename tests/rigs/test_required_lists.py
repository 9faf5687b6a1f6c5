"""The demonstration's ambulances against the published lists of what an ambulance must carry.

One list was read in full (type A, B and C of one country, as the table says); of others there are
fragments. Which of our needs answers which published line is our own reading.
"""

import re
from collections import Counter
from functools import cache

import pytest

from tests.layouts import demo_layout
from tests.reference import fixture, need_index, table

CONFIRMED, AFTER, LEFT_OUT = "confirmed", "after confirmation", "left out"
PUBLISHED = {row["row"]: row for row in table("required_equipment.csv")}
ANSWERS = {row["row"]: row for row in table("required_mapping.csv")}
COLUMNS = {"mesa-box": "mesa_box", "mesa-box-rev2": "mesa_box", "arroyo-van": "arroyo_van"}
IN_BOXES = {"30", "139", "140"}  # a hundred gloves are one box


@cache
def aboard(layout: str, *, confirmed: bool) -> Counter[str]:
    """Par by need, of the items tied by rule, and if `confirmed` of those a keeper must confirm."""
    suggested = {
        row["item"]: row["suggested_need"]
        for row in table("to_confirm.csv")
        if layout in row["layouts"].split(";")
    }
    found: Counter[str] = Counter()
    for line in demo_layout(layout).stock:
        need = need_index().tie(
            given=line.need, name=line.item, aliases=line.aliases, presentation=line.presentation
        )
        if not need and confirmed:
            need = suggested[line.item]
        found[need] += line.par
    return found


def is_met(needs: str, stock: Counter[str]) -> bool:
    """`a >= 1; b >= 2` wants both, `a >= 1 or b >= 1` either."""
    wanted = [each.split("; ") for each in needs.split(" or ")]
    return any(all(_is_aboard(part, stock) for part in parts) for parts in wanted)


def _is_aboard(part: str, stock: Counter[str]) -> bool:
    need, _, quantity = part.partition(" >= ")
    return stock[need] >= int(quantity)


def answer(row: dict[str, str], layout: str) -> str:
    """How a layout answers a published line, from its own stock."""
    if not row["needs"]:
        return LEFT_OUT
    if is_met(row["needs"], aboard(layout, confirmed=False)):
        return CONFIRMED
    return AFTER if is_met(row["needs"], aboard(layout, confirmed=True)) else "not met"


@pytest.mark.parametrize("layout", COLUMNS)
def test_every_line_is_answered_as_written(layout: str) -> None:
    found = {row: answer(each, layout) for row, each in ANSWERS.items()}

    assert found == {row: each[COLUMNS[layout]] for row, each in ANSWERS.items()}


@pytest.mark.parametrize(
    ("layout", "expected"),
    [
        ("mesa-box", {CONFIRMED: 280, LEFT_OUT: 16}),
        ("mesa-box-rev2", {CONFIRMED: 280, LEFT_OUT: 16}),
        ("arroyo-van", {CONFIRMED: 244, AFTER: 36, LEFT_OUT: 16}),
    ],
)
def test_the_counts_of_all_lists(layout: str, expected: dict[str, int]) -> None:
    assert Counter(answer(row, layout) for row in ANSWERS.values()) == expected


@pytest.mark.parametrize(
    ("layout", "kind", "expected"),
    [
        ("mesa-box", "Type C", {CONFIRMED: 54, LEFT_OUT: 6}),
        ("mesa-box-rev2", "Type C", {CONFIRMED: 54, LEFT_OUT: 6}),
        ("arroyo-van", "Type B", {CONFIRMED: 30, AFTER: 6, LEFT_OUT: 4}),
    ],
)
def test_every_mandatory_line_of_the_complete_list(
    layout: str, kind: str, expected: dict[str, int]
) -> None:
    mandatory = [row for row, each in PUBLISHED.items() if each["level"].startswith(kind)]

    assert Counter(answer(ANSWERS[row], layout) for row in mandatory) == expected


@pytest.mark.parametrize("row", PUBLISHED)
def test_a_published_line_is_carried_unchanged(row: str) -> None:
    ours = ANSWERS[row]

    assert ours["required_item"] == PUBLISHED[row]["item"]
    assert (ours["min_qty"], ours["unit"]) == (PUBLISHED[row]["min_qty"], PUBLISHED[row]["unit"])
    assert ours["mandatory"] == "yes"


def test_no_published_quantity_is_asked_for_less() -> None:
    short = {
        row
        for row in PUBLISHED
        if ANSWERS[row]["needs"]
        and max(quantities(ANSWERS[row])) < int(ANSWERS[row]["min_qty"] or 0)
    }

    assert short == IN_BOXES
    assert {
        line.unit for line in demo_layout("mesa-box").stock if "Gloves, nitrile" in line.item
    } == {"box"}


def quantities(row: dict[str, str]) -> list[int]:
    return [int(found) for found in re.findall(r">= (\d+)", row["needs"])]


def test_what_is_left_out_has_its_reason() -> None:
    left_out = [row for row in ANSWERS.values() if not row["needs"]]

    assert len(left_out) == 16
    assert all(row["reason"] for row in left_out)
    assert not any(
        row["reason"].startswith("same item") and ":" not in row["reason"] for row in left_out
    )


def test_every_need_asked_for_is_one_of_ours() -> None:
    known = {need["key"] for need in fixture("needs.json")}
    asked = {
        found for row in ANSWERS.values() for found in re.findall(r"([a-z0-9-]+) >=", row["needs"])
    }

    assert asked - known == set()


def test_every_row_says_where_it_comes_from() -> None:
    rows = [*PUBLISHED.values(), *ANSWERS.values(), *table("to_confirm.csv")]

    assert all(row["source"] and row["status"] for row in rows)


def test_after_confirmation_every_item_aboard_is_tied() -> None:
    for layout in COLUMNS:
        assert aboard(layout, confirmed=True)[""] == 0
