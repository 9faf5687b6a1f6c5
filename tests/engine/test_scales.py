"""The syringes as they are drawn."""

import re
from fractions import Fraction

import pytest

from drills.engine.devices import SYRINGES
from drills.engine.scales import BARREL, LEFT, LONG, MOST_NUMBERS, scale_of


def ends_of(size: int) -> list[tuple[Fraction, int]]:
    """Where each mark stands and how far down it goes."""
    found = re.findall(r"M([0-9.]+) 8V([0-9]+)", scale_of(SYRINGES[size]).lines)
    return [(Fraction(at), int(end)) for at, end in found]


@pytest.mark.parametrize(
    ("size", "marks", "numbers"),
    [
        (1, 101, "0 0.2 0.4 0.6 0.8 1"),
        (3, 31, "0 0.5 1 1.5 2 2.5 3"),
        (5, 26, "0 1 2 3 4 5"),
        (10, 51, "0 2 4 6 8 10"),
        (20, 21, "0 5 10 15 20"),
        (60, 61, "0 10 20 30 40 50 60"),
    ],
)
def test_a_syringe_carries_every_mark_and_round_numbers(
    size: int, marks: int, numbers: str
) -> None:
    """Marks are counted from nothing to full; numbers are few enough to be read."""
    scale = scale_of(SYRINGES[size])

    assert len(ends_of(size)) == marks
    assert " ".join(each.words for each in scale.numbers) == numbers
    assert len(scale.numbers) <= MOST_NUMBERS + 1


@pytest.mark.parametrize("size", SYRINGES)
def test_marks_are_evenly_apart_and_the_numbered_ones_are_longest(size: int) -> None:
    """A mark that stood wrong would teach a wrong reading; a tenth of a unit is rounding."""
    scale, found = scale_of(SYRINGES[size]), ends_of(size)
    apart = Fraction(BARREL) / (len(found) - 1)

    for index, (at, _) in enumerate(found):
        assert abs(at - (LEFT + index * apart)) <= Fraction(1, 20)
    assert {at for at, end in found if end == LONG} == {Fraction(each.at) for each in scale.numbers}


def test_all_syringes_are_drawn_equally_long() -> None:
    """None stands out as the one that is meant."""
    spans = {(ends_of(size)[0][0], ends_of(size)[-1][0]) for size in SYRINGES}

    assert spans == {(Fraction(LEFT), Fraction(LEFT + BARREL))}
