"""The demonstration's ambulances against the published lists of what an ambulance must carry.

One list was read in full (type A, B and C of one country, as the table says); of others there are
fragments. Which of our needs answers which published line is our own reading.
"""

from collections import Counter
from functools import cache

import pytest

from drills.engine.required import MANDATORY, MET, OPTIONAL, Part, judge, read_wanted
from tests.layouts import demo_layout
from tests.reference import fixture, need_index, table

CONFIRMED, AFTER, LEFT_OUT = "confirmed", "after confirmation", "left out"
PUBLISHED = {row["row"]: row for row in table("required_equipment.csv")}
ANSWERS = {row["row"]: row for row in table("required_mapping.csv")}
OPTIONALS = {row["row"]: row for row in table("required_optional.csv")}
COLUMNS = {"mesa-box": "mesa_box", "mesa-box-rev2": "mesa_box", "arroyo-van": "arroyo_van"}
NOT_MET = "not met"
PAEDIATRIC_AED = "AED with paediatric capability"
SAMPLES = [fields for fields in fixture("required_lists.json") if "item" in fields]


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


def answer(row: dict[str, str], layout: str) -> str:
    """How a layout answers a published line, from its own stock."""
    if not row["needs"]:
        return LEFT_OUT
    tied, known = aboard(layout, confirmed=False), aboard(layout, confirmed=True)
    judged = judge(asked(row), read_wanted(row["needs"]), tied, known - tied)
    if judged.state == MET:
        return CONFIRMED
    return AFTER if judged.is_met_if_confirmed else NOT_MET


def asked(row: dict[str, str]) -> int:
    return int(row["min_qty"] or 1)


@pytest.mark.parametrize("layout", COLUMNS)
def test_every_line_is_answered_as_written(layout: str) -> None:
    found = {row: answer(each, layout) for row, each in ANSWERS.items()}

    assert found == {row: each[COLUMNS[layout]] for row, each in ANSWERS.items()}


@pytest.mark.parametrize(
    ("layout", "expected"),
    [
        ("mesa-box", {CONFIRMED: 280, LEFT_OUT: 14, NOT_MET: 2}),
        ("mesa-box-rev2", {CONFIRMED: 280, LEFT_OUT: 14, NOT_MET: 2}),
        ("arroyo-van", {CONFIRMED: 244, AFTER: 36, LEFT_OUT: 14, NOT_MET: 2}),
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
    """A hundred gloves are one box, which the tie says."""
    short = {
        row
        for row, published in PUBLISHED.items()
        if ANSWERS[row]["needs"] and max(quantities(ANSWERS[row])) < asked(published)
    }

    assert short == set()
    assert {part.holds for row in ("30", "139", "140") for part in parts(ANSWERS[row])} == {100}
    assert {
        line.unit for line in demo_layout("mesa-box").stock if "Gloves, nitrile" in line.item
    } == {"box"}


def parts(row: dict[str, str]) -> list[Part]:
    return [part for each in read_wanted(row["needs"]) for part in each]


def quantities(row: dict[str, str]) -> list[int]:
    return [part.quantity or asked(row) for part in parts(row)]


def test_what_is_left_out_has_its_reason() -> None:
    left_out = [row for row in ANSWERS.values() if not row["needs"]]

    assert len(left_out) == 14
    assert all(row["reason"] for row in left_out)
    assert not any(
        row["reason"].startswith("same item") and ":" not in row["reason"] for row in left_out
    )


def test_a_defibrillator_alone_is_of_no_child() -> None:
    rows = [each for each in ANSWERS.values() if each["required_item"] == PAEDIATRIC_AED]

    assert rows
    assert not any(judge(1, read_wanted(each["needs"]), {"aed": 1}).state == MET for each in rows)


def test_every_need_asked_for_is_one_of_ours() -> None:
    known = {need["key"] for need in fixture("needs.json")}
    rows = [row for row in [*ANSWERS.values(), *OPTIONALS.values()] if row["needs"]]

    assert {part.need for row in rows for part in parts(row)} - known == set()


def test_every_row_says_where_it_comes_from() -> None:
    rows = [*PUBLISHED.values(), *ANSWERS.values(), *OPTIONALS.values(), *table("to_confirm.csv")]

    assert all(row["source"] and row["status"] for row in rows)


def test_after_confirmation_every_item_aboard_is_tied() -> None:
    for layout in COLUMNS:
        assert aboard(layout, confirmed=True)[""] == 0


def test_the_samples_say_what_the_tables_say() -> None:
    """Every row with its words, its source and status, and our reading of it in needs."""
    samples = {str(row["order"]): row for row in SAMPLES}

    assert samples.keys() == {*ANSWERS, *OPTIONALS}
    for row, ours in {**ANSWERS, **OPTIONALS}.items():
        sample = samples[row]
        assert sample["item"] == ours["required_item"]
        assert sample["quantity"] == (int(ours["min_qty"]) if ours["min_qty"] else None)
        assert (sample["level"], sample["unit"]) == (ours["level"], ours["unit"])
        assert sample["source"].startswith(ours["source"])
        assert sample["status"] == ours["status"]
        assert resolved(sample["needs"], ours) == resolved(ours["needs"], ours)
        assert sample["needs"] or sample["note"]


def resolved(needs: str, row: dict[str, str]) -> list[list[tuple[str, int, int]]]:
    """Needs with the number each asks, whether it is written or that of the row."""
    return [
        [(part.need, part.quantity or asked(row), part.holds) for part in each]
        for each in (read_wanted(needs) if needs else ())
    ]


def test_the_samples_keep_apart_what_is_optional() -> None:
    """The complete list, row by row; what another leaves open stays open."""
    said = {str(row["order"]): row["obligation"] for row in SAMPLES}

    assert {said[row] for row in PUBLISHED} == {MANDATORY}
    assert {said[row] for row in OPTIONALS} == {OPTIONAL}
    assert {row for row, word in said.items() if word == "not said"} == {
        row for row, ours in ANSWERS.items() if ours["mandatory"] == "unknown"
    }
