"""How numbers and units are read, brought together, rounded and told; and what syringes measure."""

import re
from fractions import Fraction

import pytest

from drills.engine.concentrations import read_presentation
from drills.engine.devices import BAG, fitting, published_marks, syringes
from drills.engine.figures import last_figure, last_told
from drills.engine.quantities import (
    Quantity,
    QuantityError,
    exact_text,
    half_up,
    kilograms,
    plain,
    read_number,
    read_quantity,
    round_down,
    round_up,
    told_step,
    written,
)


@pytest.mark.parametrize(
    ("one", "of_the_smaller"),
    [
        ("1 g", "1,000 mg"),
        ("1 mg", "1,000 mcg"),
        ("1 g", "1,000,000 mcg"),
        ("1 L", "1,000 mL"),
        ("1 h", "60 min"),
        ("1 min", "60 s"),
        ("1 h", "3,600 s"),
        ("1 mg/kg", "1,000 mcg/kg"),
        ("1 mg/mL", "1,000 mg/L"),
        ("1 mg/L", "0.001 mg/mL"),
        ("2 beats/min", "2 beats/min"),
    ],
)
def test_a_unit_is_so_many_of_a_smaller_one(one: str, of_the_smaller: str) -> None:
    """By definition, either way."""
    first, second = read_quantity(one), read_quantity(of_the_smaller)

    assert first.to(second.unit) == second
    assert second.to(first.unit) == first
    assert first.ratio_to(second) == 1


@pytest.mark.parametrize(
    ("rate", "time", "told"),
    [
        ("120 mL/h", "min", "2 mL/min"),
        ("2 mL/min", "h", "120 mL/h"),
        ("1 mL/s", "h", "3,600 mL/h"),
        ("5 mcg/kg/min", "h", "300 mcg/kg/h"),
        ("90 beats/min", "s", "1.5 beats/s"),
    ],
)
def test_a_rate_is_told_by_another_time(rate: str, time: str, told: str) -> None:
    """Sixty times, or a sixtieth."""
    assert read_quantity(rate).each(time) == read_quantity(told)


@pytest.mark.parametrize(
    ("left", "right"),
    [
        ("mcg/min", "mcg/kg/min"),
        ("mL/h", "mL/min"),
        ("mL/min", "gtt/min"),
        ("mg", "units"),
        ("mg", "mL"),
        ("kg", "g"),
        ("kg", "lb"),
        ("mEq", "mmol"),
        ("mmHg", "psi"),
        ("containers", "tablet"),
        ("points", "index"),
        ("mm", "mL"),
        ("J", "J/kg"),
        ("beats/min", "gtt/min"),
    ],
)
def test_no_kind_of_amount_becomes_another(left: str, right: str) -> None:
    """Mixing them is an error and no number."""
    with pytest.raises(QuantityError, match="different kinds"):
        Quantity(Fraction(1), left).to(right)


@pytest.mark.parametrize("unit", ["mg/lb", "mg/kg/lb", "mg/mg", "mg/g", "mL/min/h", "mg//kg", ""])
def test_what_no_amount_can_have_is_no_unit(unit: str) -> None:
    """A dose by the pound, something by itself, and two times."""
    with pytest.raises(QuantityError):
        Quantity(Fraction(1), unit)


@pytest.mark.parametrize(
    ("amount", "with_it", "said"),
    [
        ("mg", "kg", "do not go together"),
        ("mg/kg", "mL", "do not go together"),
        ("mg/kg", "lb", "do not go together"),
    ],
)
def test_what_does_not_cancel_is_no_amount(amount: str, with_it: str, said: str) -> None:
    """A formula with a unit in the wrong place is an error."""
    with pytest.raises(QuantityError, match=said):
        Quantity(Fraction(2), amount).of(Quantity(Fraction(2), with_it))


def test_nothing_is_divided_by_nothing() -> None:
    """Neither an amount nor a ratio; and what has no time is no rate."""
    none = read_quantity("0 mL")
    for wrong in (read_quantity("5 mg").over, read_quantity("5 mL").ratio_to):
        with pytest.raises(QuantityError, match=r"divided|measured"):
            wrong(none)
    with pytest.raises(QuantityError, match="no rate"):
        read_quantity("5 mg").each("h")
    with pytest.raises(QuantityError, match="no rate"):
        read_quantity("5 mg/h").each("mL")


@pytest.mark.parametrize(
    "text", ["", " ", ".", ",", "..", "1..2", "1,2,3", "1,23,456", ",500", "x"]
)
def test_what_is_no_number_is_never_a_number(text: str) -> None:
    """A point or a comma alone has no figure; what has two marks may be anything."""
    with pytest.raises(QuantityError, match="is no number"):
        read_number(text)


@pytest.mark.parametrize("text", ["-5", "- 0.5", "\u22125", "\u20135", "minus 5", "Minus 5"])
def test_what_is_below_zero_is_told_so(text: str) -> None:
    """With or without a unit, wherever a number is read."""
    said = re.escape(f"{text!r} is below zero, and no amount is.")
    with pytest.raises(QuantityError, match=f"^{said}$"):
        read_number(text)
    with pytest.raises(QuantityError, match=f"^{said}$"):
        read_quantity(f"{text} mg")


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("0,5", "0.5"),
        ("0,500", "0.5"),
        (",5", "0.5"),
        ("1,5", "1.5"),
        ("1,", "1"),
        ("1,0000", "1"),
        ("1,500", "1500"),
        ("12,000", "12000"),
        ("1,000,000.5", "1000000.5"),
        (".5", "0.5"),
        ("5.", "5"),
        ("007", "7"),
    ],
)
def test_a_comma_is_read_in_one_way(text: str, number: str) -> None:
    """Before three figures a thousands mark, unless a zero leads; else a decimal one."""
    assert read_number(text) == Fraction(number)


def test_a_number_of_thirty_figures_is_read_and_no_longer_one() -> None:
    """More than any amount has is a slip of a thumb."""
    assert read_number("1" * 30) == int("1" * 30)
    with pytest.raises(QuantityError, match="is no number"):
        read_number("1" * 31)


@pytest.mark.parametrize(
    ("text", "last", "told"),
    [
        ("20 mg", "1", "10"),
        ("1,200 mL", "1", "100"),
        ("1.50 mg", "0.01", "0.01"),
        ("0,25 mg", "0.01", "0.01"),
        ("12 gtt/min", "1", "1"),
        (" 5mg", "1", "1"),
        ("0 mL", "1", "1"),
        ("100", "1", "100"),
        ("mg", "1", "1"),
    ],
)
def test_the_last_figure_is_known_as_it_was_written(text: str, last: str, told: str) -> None:
    """Zeros that end a whole number may only hold the place."""
    assert (last_figure(text), last_told(text)) == (Fraction(last), Fraction(told))


@pytest.mark.parametrize(
    ("amount", "step"),
    [
        ("0", "1"),
        ("0.00123", "0.00001"),
        ("0.999", "0.001"),
        ("1", "0.01"),
        ("12.34", "0.1"),
        ("99.99", "0.1"),
        ("100", "1"),
        ("1234", "1"),
        ("123456", "1"),
    ],
)
def test_three_figures_are_told_and_never_less_than_whole_ones(amount: str, step: str) -> None:
    """1,234 mL stays 1,234 mL."""
    assert told_step(Fraction(amount)) == Fraction(step)


@pytest.mark.parametrize(
    ("amount", "text"),
    [
        (Fraction(1, 3), "0.333333333333"),
        (Fraction(2, 3), "0.666666666667"),
        (Fraction(1, 3) / 10**9, "0.000000000333333"),
        (Fraction(2000, 3), "666.666666666667"),
        (Fraction(1, 8), "0.125"),
        (Fraction(1, 2**20), "0.00000095367431640625"),
        (Fraction(0), "0"),
    ],
)
def test_an_exact_figure_has_twelve_places_and_six_figures_at_least(
    amount: Fraction, text: str
) -> None:
    """What ends has every figure; of a tiny one that does not, no fewer than six."""
    assert exact_text(amount) == text


@pytest.mark.parametrize(
    ("amount", "text"),
    [
        (Fraction(1, 3), "0.333333"),
        (Fraction(2, 3), "0.666667"),
        (Fraction(20, 3), "6.66667"),
        (Fraction(20000000, 3), "6,666,667"),
        (Fraction("1234.5"), "1,234.5"),
        (Fraction(1000), "1,000"),
        (Fraction(999), "999"),
        (Fraction("0.0000001"), "0.0000001"),
        (Fraction("0.50"), "0.5"),
        (Fraction(0), "0"),
    ],
)
def test_a_number_is_written_as_medicine_has_it(amount: Fraction, text: str) -> None:
    """A leading zero, no trailing one, a comma from 1,000, and six figures of what has no end."""
    assert plain(amount) == text


def test_rounding_goes_the_way_that_it_says() -> None:
    """Half goes up; down and up leave what is on a step."""
    step = Fraction(1, 10)
    assert [half_up(Fraction(each), step) for each in ("0.24", "0.25", "0.26")] == [
        Fraction("0.2"),
        Fraction("0.3"),
        Fraction("0.3"),
    ]
    assert round_down(Fraction("0.29"), step) == Fraction("0.2")
    assert round_up(Fraction("0.21"), step) == Fraction("0.3")
    assert round_up(Fraction("0.2"), step) == round_down(Fraction("0.2"), step) == Fraction("0.2")


@pytest.mark.parametrize(
    ("found", "text"),
    [
        (Quantity(Fraction(1), "containers"), "1 container"),
        (Quantity(Fraction(2), "containers"), "2 containers"),
        (Quantity(Fraction(1), "units"), "1 unit"),
        (Quantity(Fraction(1), "points"), "1 point"),
        (Quantity(Fraction(1), "tablet"), "1 tablet"),
        (Quantity(Fraction(3, 2), "tablet"), "1.5 tablets"),
        (Quantity(Fraction(10), "%"), "10%"),
        (Quantity(Fraction(9, 10), "index"), "0.9"),
    ],
)
def test_an_amount_is_told_as_people_say_it(found: Quantity, text: str) -> None:
    """One of a thing has no s."""
    assert str(found) == text


def test_what_is_kept_is_read_again_as_it_was() -> None:
    """With every figure where six are not enough; what has no end is refused."""
    for text in ("1,000 mL", "0.5 mg/kg", "1.23456789 mg"):
        found = read_quantity(text)
        assert read_quantity(written(found)) == found
    with pytest.raises(QuantityError, match="no decimal that ends"):
        written(Quantity(Fraction(1, 3), "mg"))


def test_pounds_are_divided_by_two_point_two_or_taken_exactly() -> None:
    """Never by 0.45."""
    pounds = read_quantity("110 lb")

    assert kilograms(pounds) == read_quantity("50 kg")
    assert kilograms(pounds, exactly=True) == read_quantity("49.8951607 kg")
    assert kilograms(read_quantity("50 kg"), exactly=True) == read_quantity("50 kg")


@pytest.mark.parametrize(
    ("size", "marks"),
    [(1, "0.01"), (3, "0.1"), (5, "0.2"), (10, "0.2"), (20, "1"), (60, "1")],
)
def test_a_syringe_has_its_marks(size: int, marks: str) -> None:
    """It is told by what it holds."""
    (found,) = syringes([size])

    assert (found.holds, found.marks) == (Fraction(size), Fraction(marks))
    assert str(found) == f"the {size} mL syringe"


@pytest.mark.parametrize(
    ("volume", "packed", "device"),
    [
        ("0.99", "5", "the 1 mL syringe"),
        ("1", "5", "the 1 mL syringe"),
        ("1.01", "5", "the 3 mL syringe"),
        ("60", "250", "the 60 mL syringe"),
        ("99", "250", "the 60 mL syringe"),
        ("100", "250", "the bag"),
        ("100", "100", "the bag"),
        ("100", "99", "the 60 mL syringe"),
    ],
)
def test_the_smallest_syringe_that_holds_it_is_taken(volume: str, packed: str, device: str) -> None:
    """Past the largest it is filled again; a hundred and more out of a bag are run from it."""
    known = syringes([60, 1, 3])

    assert str(fitting(Fraction(volume), known, packed=Fraction(packed))) == device


def test_without_a_syringe_there_is_the_bag() -> None:
    """Its marks are ten apart."""
    assert fitting(Fraction(50), (), packed=Fraction(10)) is BAG
    assert BAG.marks == 10


def test_without_a_device_hundredths_end_at_one_millilitre() -> None:
    """The published rounding rule: tenths from 1 mL on."""
    assert [published_marks(Fraction(each)) for each in ("0.99", "1", "1.01")] == [
        Fraction("0.01"),
        Fraction("0.1"),
        Fraction("0.1"),
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("1 mg/mL", "has no volume; one is such as 10 mg / 2 mL"),
        ("81 mg", "has no volume"),
        ("0 mg / 2 mL", "holds nothing"),
        ("10 mg / 0 mL", "holds nothing"),
    ],
)
def test_what_a_container_holds_has_an_amount_and_a_volume(text: str, said: str) -> None:
    """Of a strength alone nobody knows how much is in the container."""
    with pytest.raises(QuantityError, match=said):
        read_presentation(text)
