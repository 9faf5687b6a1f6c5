"""How often and how much in all a rule may be given, and how many containers that takes."""

import pytest

from drills.engine.dosing.opening import Stocked, Supplies
from drills.engine.dosing.repeating import Course
from drills.engine.dosing.treatment import work_out
from drills.engine.medicines import FLUID
from drills.engine.mixtures import Container
from drills.engine.quantities import read_quantity
from tests.engine.treating import (
    CHILD,
    GROWN,
    NOON,
    ONE_ML_VIAL,
    SYRINGES,
    carrying,
    rule,
)


class TestAgain:
    @pytest.mark.parametrize(
        ("before", "more", "is_past", "is_due"),
        [(0, 2, False, True), (1, 1, False, True), (2, 0, False, False), (3, 0, True, False)],
    )
    def test_by_the_count(self, before: int, more: int, is_past: bool, is_due: bool) -> None:
        """Twice repeated: three in all."""
        given = rule("1 mg", repeat_times=2, repeat_min=5)
        course = Course(doses_before=before, given_at=NOON)

        again = work_out(GROWN, given, carrying(ONE_ML_VIAL), course=course).again

        assert (again.more, again.is_past, again.next_due is not None) == (more, is_past, is_due)

    @pytest.mark.parametrize(
        ("before", "more", "is_past"), [(0, 2, False), (2, 0, False), (3, 0, True)]
    )
    def test_by_the_total_of_the_kg(self, before: int, more: int, is_past: bool) -> None:
        """3 mg/kg of 1 mg/kg: three in all, the third brings it up to the whole of it."""
        given = rule("1 mg/kg", packed="100 mg / 1 mL", max_total=read_quantity("3 mg/kg"))

        again = work_out(
            CHILD, given, carrying("100 mg / 1 mL"), course=Course(doses_before=before)
        ).again

        assert (again.more, again.is_past) == (more, is_past)
        assert again.at_most == read_quantity("60 mg")

    def test_the_lesser_of_count_and_total_holds(self) -> None:
        """Five by the count, one by the total."""
        given = rule("1 mg", repeat_times=5, max_total=read_quantity("2 mg"))

        assert work_out(GROWN, given, carrying(ONE_ML_VIAL)).again.more == 1

    def test_a_dose_past_the_count_alone_says_so(self) -> None:
        """There is no total to name."""
        worked = work_out(
            GROWN,
            rule("1 mg", repeat_times=0),
            carrying(ONE_ML_VIAL),
            course=Course(doses_before=1),
        )

        assert worked.refusal is not None
        assert worked.refusal.because == "2 mg with this dose, and the rule allows no more doses."


class TestOpening:
    @pytest.mark.parametrize(
        ("dose", "par", "needed", "short", "is_enough"),
        [
            ("1 mg", 1, 1, 0, True),
            ("2 mg", 1, 2, 1, False),
            ("2 mg", 2, 2, 0, True),
            ("2.4 mg", 2, 3, 1, False),
            ("0.5 mg", 0, 1, 1, False),
        ],
    )
    def test_whole_containers_are_opened(
        self, dose: str, par: int, needed: int, short: int, is_enough: bool
    ) -> None:
        """At least one; a bit of one more is one more."""
        opened = work_out(GROWN, rule(dose), carrying(ONE_ML_VIAL, par=par)).opened

        assert opened is not None
        assert (opened.needed, opened.short, opened.is_enough) == (needed, short, is_enough)

    def test_a_fluid_is_counted_in_bags(self) -> None:
        """1,600 mL: two of a litre."""
        given = rule("20 mL/kg", packed="1,000 mL", topic=FLUID)

        worked = work_out(GROWN, given, carrying("1,000 mL", par=1))

        assert worked.opened is not None
        assert (worked.opened.needed, worked.opened.short) == (2, 1)
        assert worked.running is None

    def test_a_container_whose_size_nobody_says_is_not_counted(self) -> None:
        """It is used, and no number is made up."""
        nameless = Stocked(name="ampoule", container=Container("", "ampoule", None, None), par=3)

        worked = work_out(GROWN, rule("1 mg"), Supplies(containers=(nameless,), syringes=SYRINGES))

        assert (worked.chosen, worked.opened) == (nameless, None)
        assert worked.results["volume"].answer == "1 mL"
