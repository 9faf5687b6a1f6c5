"""How a strength is read, and written one way."""

from fractions import Fraction

import pytest

from drills.engine.concentrations import (
    packed,
    read_presentation,
    read_strength,
    written_strength,
    written_volume,
)
from drills.engine.quantities import Quantity, QuantityError


@pytest.mark.parametrize(
    ("ratio", "written"),
    [
        ("1:1,000", "1 mg/mL"),
        ("1:10,000", "0.1 mg/mL"),
        ("1:10000", "0.1 mg/mL"),
        ("1:5,000", "0.2 mg/mL"),
        ("1:2,000", "0.5 mg/mL"),
        ("1:400", "2.5 mg/mL"),
        ("1:50,000", "0.02 mg/mL"),
    ],
)
def test_a_ratio_comes_in_and_never_goes_out(ratio: str, written: str) -> None:
    """The table of USP chapter <7>."""
    assert written_strength(ratio) == written


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("3 mg/mL", "3 mg/mL"),
        (" 50mcg/ml ", "50 mcg/mL"),
        ("1 meq/mL", "1 mEq/mL"),
        ("10 Units/mL", "10 units/mL"),
        ("10mg/2ml", "10 mg / 2 mL"),
        ("0,5 mg / 2,5 mL", "0.5 mg / 2.5 mL"),
        ("1 mg / 1 L", "1 mg / 1 L"),
        ("10%", "10 %"),
        ("8.4 %", "8.4 %"),
        ("81 mg", "81 mg"),
        ("1,600 mcg/mL", "1,600 mcg/mL"),
        ("1600 mcg/mL", "1,600 mcg/mL"),
        ("1.0 mg/mL", "1 mg/mL"),
        ("5 mg/L", "0.005 mg/mL"),
        ("1.23456 mg / 7 mL", "1.23456 mg / 7 mL"),
        ("1234.5678 mg/mL", "1234.5678 mg/mL"),
        ("1:1,600,000", "0.000625 mg/mL"),
    ],
)
def test_a_strength_is_written_one_way(text: str, written: str) -> None:
    """Units by their case, a space before each, no zero that ends the number, commas."""
    assert written_strength(text) == written
    assert written_strength(written) == written


@pytest.mark.parametrize(
    "text",
    [
        *(
            "",
            "mg/mL",
            "1:0",
            "0 mg/mL",
            "0 %",
            "10 mg / 0 mL",
            "2:1,000",
            "5 kg",
            "5 cc",
            "5 mg/h",
        ),
        *("5 U/mL", "5 iu / mL", "120 %", "5 mg/tablet", "1 mg / 2 tablets"),
    ],
)
def test_what_is_no_strength_is_named_with_what_would_be(text: str) -> None:
    """Nothing is guessed: a mass in kg is no strength, and U is never written for units."""
    with pytest.raises(QuantityError, match="it takes") as refused:
        written_strength(text)
    assert repr(text) in str(refused.value)


def test_a_volume_is_written_one_way_and_a_mass_is_none() -> None:
    """As strengths are."""
    assert [written_volume(each) for each in ("10ml", "1000 mL", "2,5 mL")] == [
        "10 mL",
        "1,000 mL",
        "2.5 mL",
    ]
    with pytest.raises(QuantityError, match="'10 mg' is no volume"):
        written_volume("10 mg")


@pytest.mark.parametrize(
    ("strength", "volume", "held"),
    [
        ("10 mg / 2 mL", "", "10 mg / 2 mL"),
        ("10 mg / 2 mL", "2 mL", "10 mg / 2 mL"),
        ("0.1 mg/mL", "10 mL", "1 mg / 10 mL"),
        ("10 %", "250 mL", "25,000 mg / 250 mL"),
        ("20 mg/mL", "1 L", "20,000 mg / 1 L"),
        ("3 mg/mL", "", ""),
        ("81 mg", "", ""),
        ("81 mg", "10 mL", ""),
        ("", "1,000 mL", ""),
    ],
)
def test_what_a_container_holds_follows_from_strength_and_volume(
    strength: str, volume: str, held: str
) -> None:
    """A tablet, a plain fluid and a strength without a volume hold nothing to draw up."""
    assert packed(strength, volume) == held


@pytest.mark.parametrize("ratio", ["1:3,000", "1 in 7"])
def test_a_ratio_that_does_not_end_is_never_kept_cut_short(ratio: str) -> None:
    """What is kept is read back as the same strength, to the last figure."""
    with pytest.raises(QuantityError, match="it takes a strength that ends"):
        written_strength(ratio)


@pytest.mark.parametrize("text", ["10 mg/2 mL", "10mg / 2 mL", " 10 mg/2ml ", "5 mg/mL"])
def test_blanks_about_the_stroke_say_nothing(text: str) -> None:
    """A problem, a formulary and a label are read alike."""
    assert read_strength(text) == Quantity(Fraction(5), "mg/mL")
    assert read_strength(written_strength(text)) == Quantity(Fraction(5), "mg/mL")
    if "2" in text:
        assert str(read_presentation(text.strip())) == "10 mg / 2 mL"


@pytest.mark.parametrize(
    ("strength", "amount", "unit"),
    [
        ("10 %", 100, "mg"),
        ("2%", 20, "mg"),
        ("1:10,000", Fraction(1, 10), "mg"),
        ("100 mg / 5 mL", 20, "mg"),
        ("1 g / 1 L", Fraction(1, 1000), "g"),
        ("4 mcg/mL", 4, "mcg"),
    ],
)
def test_an_amount_per_ml_follows_from_every_form(
    strength: str, amount: Fraction | int, unit: str
) -> None:
    """Percent is g in 100 mL (Macon County EMS refresher); lidocaine 2 % is 20 mg/mL."""
    assert read_strength(strength) == Quantity(Fraction(amount), f"{unit}/mL")


def test_a_tablet_has_no_amount_per_ml() -> None:
    """It is dissolved in nothing."""
    with pytest.raises(QuantityError, match="'81 mg' is no strength"):
        read_strength("81 mg")
