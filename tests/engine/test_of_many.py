"""What is said of many people together."""

import pytest

from drills.engine.readying import OfMany, of_many


@pytest.mark.parametrize(
    ("chances", "quarters"),
    [
        ([0.1, 0.2, 0.3, 0.4, 0.5], (0.2, 0.3, 0.4)),
        ([0.5, 0.1, 0.4, 0.2], (0.175, 0.3, 0.425)),
        ([0.9, None, 0.9, 0.9, None], (0.9, 0.9, 0.9)),
    ],
)
def test_quarters_lie_between_people_in_their_order(
    chances: list[float | None], quarters: tuple[float, float, float]
) -> None:
    """Worked by hand: position 1 + (people - 1) x share, interpolated."""
    told = of_many(chances)
    assert (told.lowest, told.median, told.highest) == pytest.approx(quarters)


def test_of_fewer_than_three_with_a_chance_no_figure_is_said() -> None:
    assert of_many([0.4, 0.5, None, None]) == OfMany(2, 2)
    assert of_many([0.4, 0.5, None, None]).share_told == 50


def test_of_nobody_nothing_fails() -> None:
    assert (of_many([]), of_many([]).share_told) == (OfMany(0, 0), 0)
