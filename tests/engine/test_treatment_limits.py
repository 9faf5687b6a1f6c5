"""What a rule's limits, a burn's day and what is aboard do to what is worked out for a patient."""

from dataclasses import replace

import pytest

from drills.engine.dosing.burn import DAY
from drills.engine.dosing.treatment import work_out
from drills.engine.medicines import BURN, DRIP, ENERGY
from drills.engine.quantities import Quantity, read_quantity
from tests.engine.treating import CHILD, GROWN, carrying, rule


@pytest.mark.parametrize(("limit", "is_set"), [(None, True), (10, True), (9, False)])
def test_a_shock_is_refused_from_the_limit_of_its_rule(limit: int | None, is_set: bool) -> None:
    """2.2 J by whole ones is 2, 9.09 % off."""
    given = rule("0.11 J/kg", packed="1 J / 1 mL", topic=ENERGY, error_limit=limit)

    worked = work_out(CHILD, given, carrying())

    assert (worked.refusal is None) == is_set
    assert (worked.results["energy"].rounded is not None) == is_set


@pytest.mark.parametrize(("hours", "is_counted"), [(0, True), (23, True), (24, False), (25, False)])
def test_no_bags_are_counted_once_the_day_of_a_burn_is_over(hours: int, is_counted: bool) -> None:
    """24 hours after the injury it is over."""
    given = rule("2 mL/kg/%", packed="1,000 mL", topic=BURN)
    since = Quantity(DAY.amount * hours / 24, "h")
    patient = replace(GROWN, area=read_quantity("20 %"), since_injury=since)

    worked = work_out(patient, given, carrying("1,000 mL"))

    assert (worked.opened is not None) == is_counted


class TestChoosing:
    def test_what_can_be_measured_goes_before_what_takes_fewer(self) -> None:
        """0.013 mg lies between the marks of 1 mg/mL, and is none of 0.1 mg/mL."""
        strong, weak = "1 mg / 1 mL", "0.01 mg / 1 mL"

        worked = work_out(GROWN, rule("0.013 mg"), carrying(strong, weak))

        assert worked.chosen is not None
        assert (worked.chosen.name, worked.opened and worked.opened.needed) == (weak, 2)

    def test_what_is_aboard_in_the_number_needed_goes_before_what_takes_fewer(self) -> None:
        """Two of 2 mg are needed and one is there; four of 1 mg are."""
        short, enough = carrying("2 mg / 1 mL", par=1), carrying("1 mg / 1 mL", par=4)
        both = replace(short, containers=(*short.containers, *enough.containers))

        worked = work_out(GROWN, rule("4 mg"), both)

        assert worked.chosen == enough.containers[0]

    def test_the_fewest_are_opened_of_what_is_enough(self) -> None:
        """Two of 2 mg, not four of 1 mg, whichever is named first."""
        for names in (("1 mg / 1 mL", "2 mg / 1 mL"), ("2 mg / 1 mL", "1 mg / 1 mL")):
            worked = work_out(GROWN, rule("4 mg"), carrying(*names))

            assert worked.chosen is not None
            assert (worked.chosen.name, worked.opened and worked.opened.needed) == (
                "2 mg / 1 mL",
                2,
            )


@pytest.mark.parametrize(("high", "is_told"), [("", False), ("10 mcg/kg/min", True)])
def test_steps_are_told_of_a_range_alone(high: str, is_told: bool) -> None:
    """A single rate goes up by none, whatever its rule says of repeating."""
    given = rule(
        "5 mcg/kg/min",
        high=high,
        packed="400 mg / 250 mL",
        topic=DRIP,
        repeat_note="by 2 mcg/kg/min every 5 min",
    )

    worked = work_out(GROWN, given, carrying("400 mg / 250 mL", sets=("60 gtt/mL",)))

    assert ("Steps: by 2 mcg/kg/min every 5 min" in worked.steps) == is_told
