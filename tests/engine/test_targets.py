"""Target times: the table, the quickest way where it is known, and the whole."""

import pytest

from drills.engine.recipes import BUILT_KINDS, DOSE, KINDS, LOCATE, STAGE, TRIAGE
from drills.engine.targets import QUICKEST, TARGETS, clocked, steps_of, whole


def test_every_kind_of_prompt_has_a_target_with_its_source() -> None:
    """None is left without, whether built yet or not."""
    assert set(TARGETS) >= set(BUILT_KINDS)
    assert set(TARGETS) <= set(KINDS)
    assert all(row.source and row.seconds > 0 and row.words for row in TARGETS.values())


def test_steps_are_by_kind_in_the_order_of_their_first() -> None:
    """Eight seconds a step more or less do not matter, the number of steps does."""
    steps = steps_of([LOCATE, TRIAGE, LOCATE, LOCATE])

    assert [(each.words, each.count) for each in steps] == [("Locate", 3), ("Triage", 1)]
    assert steps[0].seconds == 3 * TARGETS[LOCATE].seconds
    assert "s each" in steps[0].basis


def test_a_kit_takes_what_the_quickest_way_takes() -> None:
    """Where it is known; for one of which it is not the table stands in."""
    (known,) = steps_of([STAGE, STAGE], quickest_s=[61.2, 40.0])
    (half,) = steps_of([STAGE, STAGE], quickest_s=[61.2, None])

    assert known.seconds == pytest.approx(101.2)
    assert known.basis == QUICKEST
    assert known.shown == "1:50"
    assert half.seconds == pytest.approx(61.2 + TARGETS[STAGE].seconds)
    assert half.basis.startswith(QUICKEST)
    assert "ours" in half.basis


def test_the_whole_is_what_is_shown_of_its_steps() -> None:
    """Rounded steps add up to it, and one's own times too; before the start there are none."""
    steps = steps_of([LOCATE, DOSE], own_s={LOCATE: 12.4, DOSE: 75.0})
    together = whole(steps)

    assert together.seconds == sum(each.rounded for each in steps)
    assert (together.count, together.own_shown) == (2, "1:27")
    assert whole(steps_of([LOCATE])).own is None


@pytest.mark.parametrize(
    ("seconds", "told"), [(0, "0:00"), (59.6, "1:00"), (65, "1:05"), (600, "10:00")]
)
def test_seconds_are_told_as_on_a_clock(seconds: float, told: str) -> None:
    """Minutes, a colon, and two figures."""
    assert clocked(seconds) == told
