"""Whole derivations of a rule for a patient, line by line, worked out by hand."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from drills.engine.ages import Age
from drills.engine.dosing import ProblemError
from drills.engine.dosing.opening import Supplies
from drills.engine.dosing.patient import Patient
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.repeating import Course
from drills.engine.dosing.treatment import Settings, Worked, work_out
from drills.engine.medicines import BURN, DRIP, ENERGY, Asked, MedicineRule, problem_asked
from drills.engine.mixtures import Container, read_mixture
from drills.engine.quantities import Quantity, read_quantity
from tests.engine.treating import CHILD, GROWN, NOON, ONE_ML_VIAL, SYRINGES, carrying, holding, rule

BAG = "400 mg / 250 mL"
AMPOULE = "4 mg / 4 mL"
SETS = ("10 gtt/mL", "60 gtt/mL")


def mixed_drip(**given: Any) -> MedicineRule:
    """4 mg of an ampoule in 250 mL, 16 mcg/mL, by the kg and minute."""
    mixture = read_mixture(
        holding(AMPOULE).container, take="4 mg", added="250 mL", strength="16 mcg/mL"
    )
    return rule(
        "0.1 mcg/kg/min",
        packed=AMPOULE,
        topic=DRIP,
        mixture=mixture,
        presentation=mixture.presentation,
        **given,
    )


def answers(worked: Worked) -> dict[str, str]:
    return {name: result.answer for name, result in worked.results.items()}


class TestDose:
    def test_a_label_in_grams_is_worked_in_the_unit_of_the_dose(self) -> None:
        """As the same rule is in a drill, line by line; nobody draws up thousandths of a gram."""
        given = rule("20 mg/kg", packed="1 g / 10 mL")

        worked = work_out(CHILD, given, carrying("1 g / 10 mL", par=1))

        drilled = read_problem(
            problem_asked(given, Asked(weight="20 kg", syringes=SYRINGES))
        ).solve()
        assert worked.steps[:-1] == drilled.steps
        assert worked.steps == (
            "20 kg x 20 mg/kg = 400 mg",
            "0.1 g/mL = 100 mg/mL",
            "400 mg / 100 mg/mL = 4 mL",
            "By marks of the 10 mL syringe 0.2 mL apart: 4 mL",
            "One holds 10 mL: open 1 of 1 aboard",
        )

    def test_the_ways_out_are_told_in_the_unit_of_the_dose(self) -> None:
        """In mg where the label has grams; what the rule does not name is no way out."""
        given = rule("1.5 mg", packed="1 g / 10 mL")
        aboard = replace(carrying("1 g / 10 mL"), others=(holding("0.02 g / 10 mL"),))

        worked = work_out(CHILD, given, aboard)

        assert worked.refusal
        assert worked.refusal.instead == (
            "Dilute it as your protocols say: 1 mL and 9 mL of diluent are 10 mg/mL, "
            "of which 0.15 mL hold the dose.",
            "Use a syringe with finer marks, or ask medical direction for another presentation.",
        )

    def test_from_pounds_to_the_next_dose(self) -> None:
        """Weight, dose, maximum, unit, volume, mark, vials, what came before, and the time."""
        given = rule(
            "0.1 mg/kg",
            packed="800 mcg / 1 mL",
            maximum="1.6 mg",
            max_total=read_quantity("8 mg"),
            repeat_min=90,
            repeat_times=3,
        )
        patient = replace(CHILD, weight=read_quantity("44 lb"))

        worked = work_out(
            patient,
            given,
            carrying("800 mcg / 1 mL", par=4),
            course=Course(doses_before=2, given_at=NOON),
        )

        assert worked.steps == (
            "44 lb / 2.2 = 20 kg",
            "20 kg x 0.1 mg/kg = 2 mg",
            "The maximum is 1.6 mg: give 1.6 mg",
            "800 mcg/mL = 0.8 mg/mL",
            "1.6 mg / 0.8 mg/mL = 2 mL",
            "By marks of the 3 mL syringe 0.1 mL apart: 2 mL",
            "One holds 1 mL: open 2 of 4 aboard",
            "2 before and this one: 3 x 1.6 mg = 4.8 mg",
            "In all 4.8 mg of at most 8 mg",
            "12:00 + 90 min = 13:30",
        )
        assert (worked.limit, worked.mixing, worked.refusal) == ("max", (), None)
        assert worked.device is not None
        assert worked.device.holds == 3
        assert worked.again.more == 1

    def test_a_first_dose_has_nothing_before_it(self) -> None:
        """And a rule that says no more has no line of it."""
        worked = work_out(GROWN, rule("1 mg"), carrying(ONE_ML_VIAL))

        assert worked.steps == (
            "Fixed dose: 1 mg",
            "1 mg / 1 mg/mL = 1 mL",
            "By marks of the 1 mL syringe 0.01 mL apart: 1 mL",
            "One holds 1 mL: open 1 of 9 aboard",
        )
        assert (worked.again.next_due, worked.again.more, worked.again.at_most) == (None,) * 3
        assert str(worked.again.so_far) == "1 mg"
        assert worked.running is None

    def test_of_a_range_the_high_end_counts(self) -> None:
        """The syringe holds it, the vials hold it, and it is what was given."""
        given = rule("0.1 mg/kg", high="0.2 mg/kg", max_total=read_quantity("16 mg"))

        worked = work_out(CHILD, given, carrying(ONE_ML_VIAL))

        assert worked.device is not None
        assert worked.opened is not None
        assert (worked.device.holds, worked.opened.needed) == (Fraction(10), 4)
        assert str(worked.again.so_far) == "4 mg"
        assert worked.again.more == 3

    def test_the_high_end_alone_may_meet_the_maximum(self) -> None:
        """It is told as the limit."""
        worked = work_out(
            CHILD, rule("0.1 mg/kg", high="0.2 mg/kg", maximum="3 mg"), carrying(ONE_ML_VIAL)
        )

        assert worked.limit == "max"
        assert answers(worked)["dose"] == "2 mg, up to 3 mg"

    def test_another_strength_aboard_is_what_it_is_drawn_from(self) -> None:
        """Not the one that the rule names; which is told as the way out where it is aboard."""
        worked = work_out(CHILD, rule("0.1 mg/kg"), carrying("10 mg / 2 mL"))

        assert answers(worked)["volume"] == "0.4 mL"
        assert worked.others == ()

    def test_a_weaker_strength_is_the_way_out_and_the_same_is_none(self) -> None:
        """Of two ampoules of one strength neither is a way out of the other."""
        strong = holding("10 mg / 1 mL")
        same = Supplies(containers=(strong,), others=(strong,), syringes=SYRINGES)

        worked = work_out(CHILD, rule("2 mcg/kg", packed="10 mg / 1 mL"), same)

        assert worked.refusal is not None
        assert not [each for each in worked.refusal.instead if each.startswith("Use what is")]

    def test_one_who_is_eighteen_is_no_child(self) -> None:
        """0.055 mL is rounded up from eighteen on, where the service never does so for a child."""
        service = Settings(is_never_up_for_children=True)
        for years, volume in ((17, "0.05 mL"), (18, "0.06 mL")):
            patient = Patient(age=Age.of_years(years), weight=read_quantity("5.5 kg"))
            worked = work_out(patient, rule("0.01 mg/kg"), carrying(ONE_ML_VIAL), service)
            assert answers(worked)["volume"] == volume

    def test_a_limit_of_the_rule_refuses_a_draw_as_well(self) -> None:
        """0.055 mL is 9 % off its mark; a rule that allows 5 % is not drawn up so."""
        patient = replace(CHILD, weight=read_quantity("5.5 kg"))

        worked = work_out(patient, rule("0.01 mg/kg", error_limit=5), carrying(ONE_ML_VIAL))

        assert worked.refusal is not None
        assert "less than 5%" in worked.refusal.because


class TestMixing:
    def test_a_mixed_drip_from_the_ampoule_to_the_drops(self) -> None:
        """8 mcg/min of 16 mcg/mL: 0.5 mL/min; the bag of 250 mL lasts 500 minutes."""
        worked = work_out(GROWN, mixed_drip(), carrying(AMPOULE, par=1, sets=SETS))

        assert worked.mixing
        assert worked.steps == (
            *worked.mixing,
            "80 kg x 0.1 mcg/kg/min = 8 mcg/min",
            "8 mcg/min / 16 mcg/mL = 0.5 mL/min",
            "0.5 mL/min x 60 min/h = 30 mL/h",
            "One holds 4 mg: open 1 of 1 aboard",
            "250 mL / 0.5 mL/min = 500 min",
            "0.5 mL/min x 10 gtt/mL = 5 gtt/min",
            "0.5 mL/min x 60 gtt/mL = 30 gtt/min",
        )

    def test_two_strengths_aboard_are_none_of_a_mixture(self) -> None:
        """What is measured is the mixture: nothing aboard stands for it."""
        aboard = Supplies(
            containers=(holding(AMPOULE),), others=(holding("1 mg / 10 mL"),), syringes=SYRINGES
        )
        kit = Container("", "5 g kit", read_quantity("5 g"))
        mixture = read_mixture(kit, added="200 mL")
        given = rule(
            "70 mg/kg", mixture=mixture, presentation=mixture.presentation, comes_as=(kit,)
        )

        worked = work_out(GROWN, given, aboard)

        assert answers(worked)["volume"] == "220 mL"  # by the marks of a bag
        assert worked.mixing == mixture.steps

    def test_a_premixed_bag_is_run_in_as_it_is_aboard(self) -> None:
        """400 mcg/min: of 1.6 mg/mL 15 mL/h, of a bag that is twice as strong 7.5 mL/h."""
        given = rule("5 mcg/kg/min", packed=BAG, topic=DRIP)
        for aboard, pump, lasts in ((BAG, "15 mL/h", 1000), ("800 mg / 250 mL", "7.5 mL/h", 2000)):
            worked = work_out(GROWN, given, carrying(aboard, sets=("60 gtt/mL",)))
            assert worked.running is not None
            assert worked.running.lasts is not None
            assert worked.running.pump.answer == pump
            assert worked.running.lasts.exact == Quantity(Fraction(lasts), "min")
            assert worked.opened is not None
            assert (worked.opened.needed, worked.refusal) == (1, None)

    def test_a_fluid_that_is_kept_running_has_its_own_rate(self) -> None:
        """30 mL/h whatever anybody weighs."""
        worked = work_out(
            CHILD, rule("30 mL/h", packed="1,000 mL", topic=DRIP), carrying("1,000 mL")
        )

        assert worked.running is not None
        assert worked.running.pump.answer == "30 mL/h"


class TestRunIn:
    def test_what_is_drawn_up_is_run_in_over_its_time(self) -> None:
        """3 mL in 10 minutes: 18 mL/h."""
        worked = work_out(GROWN, rule("3 mg", over_min=10), carrying(ONE_ML_VIAL))

        assert worked.running is not None
        assert worked.running.volume == read_quantity("3 mL")
        assert worked.running.over == read_quantity("10 min")
        assert worked.running.pump.answer == "18 mL/h"
        assert worked.running.lasts is None

    @pytest.mark.parametrize(
        ("packed", "fields"),
        [
            (ONE_ML_VIAL, {"dilution": "in a bag of 100 mL"}),  # nobody says how much is run
            ("10 mg / 1 mL", {"dose": "40 mcg"}),  # refused: nothing is drawn up
            ("5 mg / 1 tablet", {"dose": "5 mg"}),
        ],
    )
    def test_nothing_is_run_in_where_no_volume_is_known(
        self, packed: str, fields: dict[str, Any]
    ) -> None:
        """A dilution in words, a draw that is refused, or a tablet."""
        dose = fields.pop("dose", "3 mg")

        worked = work_out(GROWN, rule(dose, packed=packed, over_min=10, **fields), carrying(packed))

        assert worked.running is None

    def test_a_burn_runs_only_while_any_of_eight_hours_are_left(self) -> None:
        """After them its total is told and the rate refused."""
        given = rule("2 mL/kg/%", packed="1,000 mL", topic=BURN)
        late = replace(GROWN, area=read_quantity("100 %"), since_injury=read_quantity("8 h"))

        worked = work_out(late, given, carrying("1,000 mL", par=20))

        assert worked.running is None
        assert answers(worked)["total"] == "16,000 mL"
        assert worked.opened is not None
        assert (worked.opened.needed, worked.opened.short) == (16, 0)
        assert worked.refusal is not None

    @pytest.mark.parametrize(
        ("hours", "is_run", "is_told"),
        [
            ("7 h", True, False),
            ("7.5 h", False, False),
            ("8 h", False, True),
            ("23 h", False, True),
            ("24 h", False, False),
            ("30 h", False, False),
        ],
    )
    def test_a_burn_that_is_refused_for_being_late_runs_at_no_rate(
        self, hours: str, is_run: bool, is_told: bool
    ) -> None:
        """Neither pump nor drops; and of the sixteen hours nothing is said once they are over."""
        given = rule("2 mL/kg/%", packed="1,000 mL", topic=BURN)
        late = replace(GROWN, area=read_quantity("10 %"), since_injury=read_quantity(hours))

        worked = work_out(late, given, carrying("1,000 mL", par=20, sets=SETS))

        assert (worked.running is not None, worked.refusal is None) == (is_run, is_run)
        said = " ".join(worked.refusal.instead) if worked.refusal else ""
        assert ("sixteen" in said) is is_told
        assert not [step for step in worked.steps if "gtt" in step and not is_run]

    @pytest.mark.parametrize("area", ["0 %", "100.1 %"])
    def test_an_area_is_of_a_body(self, area: str) -> None:
        """More than nothing, up to all of it."""
        patient = replace(GROWN, area=read_quantity(area))

        with pytest.raises(ProblemError, match=r"area: .* came in; up to 100 %"):
            work_out(patient, rule("2 mL/kg/%", topic=BURN), carrying("1,000 mL"))


class TestLimits:
    def test_a_shock_in_pounds_is_by_the_pounds_of_the_service(self) -> None:
        """44 lb are 20 kg, or 19.958 exactly."""
        patient = replace(CHILD, weight=read_quantity("44 lb"))
        given = rule("2 J/kg", topic=ENERGY, high="4 J/kg")

        for is_exact, kg in ((False, Fraction(20)), (True, Fraction("19.95806428"))):
            worked = work_out(patient, given, Supplies(), Settings(is_exact_pounds=is_exact))
            energy = worked.results["energy"]
            assert [each.amount for each in energy.ends] == [kg * 2, kg * 4]
        assert worked.again.so_far is None

    def test_a_burn_and_a_drip_in_pounds_as_well(self) -> None:
        """176 lb are 80 kg, or 79.832 exactly."""
        patient = replace(GROWN, weight=read_quantity("176 lb"), area=read_quantity("10 %"))
        exact = Fraction("79.83225712")
        burn = rule("2 mL/kg/%", packed="1,000 mL", topic=BURN)
        drip = rule("5 mcg/kg/min", packed=BAG, topic=DRIP)
        for is_exact, kg in ((False, Fraction(80)), (True, exact)):
            service = Settings(is_exact_pounds=is_exact)
            total = work_out(patient, burn, carrying("1,000 mL"), service).results["total"]
            running = work_out(patient, drip, carrying(BAG), service).running
            assert total.exact.amount == kg * 20
            assert running is not None
            assert running.pump.exact.amount == kg * 5 * 60 / 1600

    def test_a_drip_is_held_at_its_maximum(self) -> None:
        """80 kg at 5 mcg/kg/min is 400 mcg/min; at most 200."""
        given = rule("5 mcg/kg/min", packed=BAG, topic=DRIP, maximum="200 mcg/min")

        worked = work_out(GROWN, given, carrying(BAG))

        assert worked.running is not None
        assert (worked.limit, worked.running.pump.answer) == ("max", "7.5 mL/h")

    def test_a_titrated_drip_tells_its_ends_and_its_steps(self) -> None:
        """The bag lasts as the fast end leaves it, and the rule's own words stand last."""
        given = rule(
            "2 mcg/min",
            high="10 mcg/min",
            packed=AMPOULE,
            topic=DRIP,
            repeat_note="by 2 mcg/min every 5 min",
        )

        worked = work_out(GROWN, given, carrying("4 mg / 250 mL"))

        assert worked.running is not None
        assert worked.running.lasts is not None
        assert worked.running.lasts.answer == "400 min"
        assert worked.running.pump.answer == "7.5 mL/h, up to 37 mL/h"
        assert "Start with 2 mcg/min" in worked.steps
        assert worked.steps[-1] == "Steps: by 2 mcg/min every 5 min"

    def test_a_range_of_a_drip_is_kept(self) -> None:
        """2 to 10 mcg/min of 16 mcg/mL: 7.5 to 37.5 mL/h."""
        given = rule("2 mcg/min", high="10 mcg/min", packed=AMPOULE, topic=DRIP)

        worked = work_out(GROWN, given, carrying("4 mg / 250 mL"))

        assert worked.running is not None
        ends = [each.amount for each in worked.running.pump.ends]
        assert ends == [Fraction("7.5"), Fraction("37.5")]

    @pytest.mark.parametrize(
        ("fields", "weight", "is_taken"),
        [
            ({"weights": (Fraction(10), Fraction(20))}, "10 kg", True),
            ({"weights": (Fraction(10), Fraction(20))}, "9.99 kg", False),
            ({"weights": (Fraction(10), Fraction(20))}, "20 kg", False),
            ({"ages": (Fraction(5), Fraction(14))}, "20 kg", True),
            ({"ages": (Fraction(1), Fraction(5))}, "20 kg", False),
        ],
    )
    def test_bounds_begin_at_their_figure_and_end_below_it(
        self, fields: dict[str, Any], weight: str, is_taken: bool
    ) -> None:
        """A child of five is in `from 5` and not in `below 5`."""
        patient = replace(CHILD, weight=read_quantity(weight))
        given = rule("0.1 mg/kg", **fields)
        if is_taken:
            assert work_out(patient, given, carrying(ONE_ML_VIAL)).kg == patient.weight
            return
        with pytest.raises(ProblemError, match=r"came in; the rule is for .*s (from|under) "):
            work_out(patient, given, carrying(ONE_ML_VIAL))

    def test_a_weight_of_nothing_is_refused(self) -> None:
        """It is more than nothing."""
        patient = replace(CHILD, weight=read_quantity("0 kg"))

        with pytest.raises(ProblemError, match="weight: 0 kg came in; it is more than nothing"):
            work_out(patient, rule("1 mg"), carrying(ONE_ML_VIAL))
