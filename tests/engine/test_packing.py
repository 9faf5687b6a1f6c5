"""How a medicine is packed, read from what is written, and compared exactly."""

from fractions import Fraction

import pytest

from drills.engine.concentrations import read_strength
from drills.engine.packing import (
    OTHER,
    SAME,
    Beside,
    Packing,
    beside,
    meant_packing,
    own_packing,
    read_packing,
)
from tests.reference import table

FIGURES = ("amount", "volume_ml", "per_ml")


def in_mg(row: dict[str, str]) -> Packing | None:
    """What a row of the table expects."""
    said = {name: Fraction(row[name]) if row[name] else None for name in FIGURES}
    is_fluid = bool(row["volume_ml"]) and not row["per_ml"]
    return Packing(row["unit"], **said, is_fluid=is_fluid) if any(said.values()) else None


@pytest.mark.parametrize("row", table("packings.csv"), ids=lambda row: row["text"])
def test_a_packing_is_read_as_the_table_says(row: dict[str, str]) -> None:
    """Amount, volume and strength are exact, and what says nothing or two things is not read."""
    assert read_packing(row["text"]) == in_mg(row)


@pytest.mark.parametrize(
    "row", table("packings_beside.csv"), ids=lambda row: f"{row['one']} {row['other']}"
)
def test_two_packings_compare_alike_from_both_ends(row: dict[str, str]) -> None:
    """Strength is compared exactly, volume apart from it."""
    one, other = read_packing(row["one"]), read_packing(row["other"])
    assert one is not None
    assert other is not None

    for found in (beside(one, other), beside(other, one)):
        assert (found.strength, found.volume) == (row["strength"], row["volume"])


@pytest.mark.parametrize(
    ("text", "strength", "volume"),
    [
        ("1 mg / 10 mL", "0.1 mg/mL", "10 mL"),
        ("100 mcg / 2 mL", "0.05 mg/mL", "2 mL"),
        ("10 mcg / 10 mL", "1 mcg/mL", "10 mL"),
        ("5000 units / 1 mL", "5,000 units/mL", "1 mL"),
        ("10 %", "100 mg/mL", ""),
        ("81 mg tablet", "81 mg each", ""),
        ("1000 mL bag", "1,000 mL", "1,000 mL"),
    ],
)
def test_a_packing_is_said_in_words(text: str, strength: str, volume: str) -> None:
    """A leading zero, no trailing zero, a comma from 1,000, micrograms where mg are too fine."""
    packing = read_packing(text)

    assert packing is not None
    assert (packing.strength, packing.volume) == (strength, volume)


@pytest.mark.parametrize(
    ("presentation", "name", "per_ml"),
    [
        ("1 mg / 10 mL", "Epi 1 mg/mL", Fraction(1, 10)),
        ("", "Epi 1 mg/mL", Fraction(1)),
        ("", "Atropine 1 mg syringe", None),
        ("", "Saline, 500 mL", None),
        ("500 mL bag", "Saline 0.9%", Fraction(9)),
        ("500 mL bag", "Saline", None),
        ("500 mL bag", "Saline 0.9% or 3%", None),
    ],
)
def test_the_presentation_is_believed_before_the_name(
    presentation: str, name: str, per_ml: Fraction | None
) -> None:
    """And an amount or a volume in a name is no strength."""
    packing = own_packing(presentation, name)

    assert (packing.per_ml if packing else None) == per_ml


@pytest.mark.parametrize(
    ("presentation", "name", "is_same"),
    [
        ("1000 mL bag", "NS", True),
        ("500 mL bag", "NaCl 0,9 %", True),
        ("", "NaCl 0.9%, 1 L", True),
        ("500 mL bag", "NaCl 3 %", False),
        ("25 g / 250 mL", "D10", False),
    ],
)
def test_a_fluid_is_compared_by_the_strength_its_names_say(
    presentation: str, name: str, is_same: bool
) -> None:
    """Crews seldom write how strong saline is; where it is written it counts."""
    saline = meant_packing("1000 mL", "Normal saline", "Sodium chloride 0.9%")
    own = own_packing(presentation, name)
    assert saline is not None
    assert own is not None

    assert (beside(own, saline).strength == SAME) is is_same


def test_a_bag_that_says_neither_percent_nor_amount_is_no_sugar() -> None:
    """A need with a strength is met by a strength alone; one in the name will do."""
    sugar = meant_packing("25 g / 250 mL", "Dextrose 10%")
    plain, named = own_packing("250 mL bag", "Sugar water"), own_packing("250 mL bag", "Sugar 10%")
    assert sugar
    assert plain
    assert named

    assert beside(plain, sugar).strength == OTHER
    assert beside(named, sugar) == Beside(SAME, SAME)


@pytest.mark.parametrize(
    "text", ["10 mg / 2 mL", "1 g / 1,000 mL", "10 %", "1:10,000", "50 mEq / 50 mL"]
)
def test_the_formulary_reads_the_same_strength(text: str) -> None:
    """What is aboard and what a rule is drawn from are written alike and mean the same."""
    packing, strength = read_packing(text), read_strength(text)
    assert packing is not None

    assert packing.per_ml == strength.to(f"{packing.unit}/mL").amount


@pytest.mark.parametrize("text", ["1" * 40 + " mg/mL", "0012,345 mg", "Epi 0 mg / 0 mL", "1:0000"])
def test_a_figure_that_is_none_is_no_packing_and_no_error(text: str) -> None:
    """Items are named by people, in whatever way."""
    assert read_packing(text) is None
