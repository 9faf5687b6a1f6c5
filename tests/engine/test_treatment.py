"""A rule worked out for a patient with what is carried: published rows, and what always holds."""

from dataclasses import replace
from datetime import UTC, datetime
from fractions import Fraction
from typing import Any

import pytest

from drills.engine.ages import Age
from drills.engine.dosing import ProblemError
from drills.engine.dosing.opening import Stocked, Supplies
from drills.engine.dosing.patient import Patient
from drills.engine.dosing.repeating import Course
from drills.engine.dosing.results import LIMIT_WORDS
from drills.engine.dosing.treatment import Settings, work_out
from drills.engine.medicines import BURN, DRIP, ENERGY, FLUID
from drills.engine.mixtures import Container, read_mixture
from drills.engine.quantities import Quantity, read_quantity
from drills.engine.tables import NotThereError
from tests.engine.treating import CHILD, NOON, ONE_ML_VIAL, SYRINGES, carrying, holding, rule
from tests.reference import table

ROWS = table("dosing_worked.csv")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['rule']} at {row['kg']} kg")
def test_the_published_rows_are_reproduced(row: dict[str, str]) -> None:
    """Dose, limit and volume are those of the printed tables, which round as no device does."""
    per = "/kg" if row["basis"] == "per kg" else ""
    given = rule(
        f"{row['dose']}{per}", packed=row["presentation"], minimum=row["min"], maximum=row["max"]
    )
    patient = replace(CHILD, weight=Quantity(Fraction(row["kg"]), "kg"))

    worked = work_out(patient, given, carrying(row["presentation"]))

    dose, volume = worked.results["dose"].exact, worked.volume
    assert dose.to(read_quantity(row["answer_dose"]).unit) == read_quantity(row["answer_dose"])
    assert LIMIT_WORDS.get(worked.limit, "") == row["limit"]
    assert volume is not None
    printed = read_quantity(row["answer_volume"])
    assert abs(volume.exact.amount - printed.amount) <= Fraction(1, 20)


@pytest.mark.parametrize(
    ("weight", "is_exact", "kg", "line"),
    [
        ("44 lb", False, Fraction(20), "44 lb / 2.2 = 20 kg"),
        ("44 lb", True, Fraction("19.95806428"), "44 lb x 0.45359237 ≈ 19.9581 kg"),
    ],
)
def test_pounds_are_taken_as_the_service_takes_them(
    weight: str, is_exact: bool, kg: Fraction, line: str
) -> None:
    """By 2.2, or exactly."""
    patient = replace(CHILD, weight=read_quantity(weight))

    worked = work_out(
        patient, rule("0.01 mg/kg"), carrying(ONE_ML_VIAL), Settings(is_exact_pounds=is_exact)
    )

    assert worked.kg == Quantity(kg, "kg")
    assert worked.steps[0] == line
    assert worked.results["dose"].exact == Quantity(kg / 100, "mg")


def test_a_weight_is_estimated_by_a_named_formula_and_says_so() -> None:
    """The formula stands in the derivation; one that is not for the age is refused."""
    by_formula = Patient(age=Age.of_years(5), formula="older APLS")
    worked = work_out(by_formula, rule("0.01 mg/kg"), carrying(ONE_ML_VIAL))

    assert worked.kg is not None
    assert worked.steps[0].startswith("Weight by older APLS at 5 years: ")
    assert worked.steps[0].endswith(f" = {worked.kg}")
    with pytest.raises(NotThereError, match="older APLS"):
        work_out(replace(by_formula, age=Age.of_years(40)), rule("1 mg/kg"), carrying(ONE_ML_VIAL))


@pytest.mark.parametrize(
    ("age", "weight", "is_asked_back"),
    [
        (Age.of_years(6), "440 lb", True),
        (Age.of_years(6), "20 lb", True),
        (Age.of_years(6), "44 lb", False),
        (Age.of_years(5), "44 kg", True),  # 20 kg would be 44 lb
        (Age.of_years(5), "20 kg", False),
        (Age.of_years(6), "40 kg", False),  # heavy, and there are such
        (Age(0), "3.4 kg", False),
        (Age(0), "1 kg", True),
        (Age(11), "9 kg", False),
        (Age.of_years(40), "80 kg", False),
        (Age.of_years(40), "180 kg", False),
        (Age.of_years(40), "30 kg", True),
        (Age.of_years(130), "60 kg", False),
    ],
)
def test_a_weight_that_hardly_anybody_of_the_age_has_is_asked_back(
    age: Age, weight: str, is_asked_back: bool
) -> None:
    """It is worked with all the same: a notice, and no block."""
    patient = Patient(age=age, weight=read_quantity(weight))
    worked = work_out(patient, rule("0.01 mg/kg"), carrying(ONE_ML_VIAL))

    assert worked.notice.startswith("Check the weight and its unit: ") is is_asked_back
    assert worked.results["dose"].exact.amount > 0


@pytest.mark.parametrize(
    ("patient", "fields", "said"),
    [
        (Patient(age=Age.of_years(5)), {}, "weight: it is missing; .* formula: "),
        (CHILD, {"ages": (Fraction(14), None)}, "age: 5 years .* from 14 years"),
        (CHILD, {"weights": (None, Fraction(20))}, "weight: 20 kg .* under 20 kg"),
        (CHILD, {"topic": BURN, "dose": "2 mL/kg/%"}, "area: nothing came in"),
    ],
)
def test_whom_a_rule_is_not_for_is_said(
    patient: Patient, fields: dict[str, Any], said: str
) -> None:
    """And which figure is missing."""
    dose = fields.pop("dose", "0.01 mg/kg")

    with pytest.raises(ProblemError, match=said):
        work_out(patient, rule(dose, **fields), carrying(ONE_ML_VIAL))


class TestChoice:
    def test_what_takes_the_fewest_is_chosen_and_the_others_are_named(self) -> None:
        """Two are measurable: one vial before three."""
        worked = work_out(CHILD, rule("0.1 mg/kg"), carrying("1 mg / 1 mL", "10 mg / 2 mL"))

        assert worked.chosen is not None
        assert (worked.chosen.name, [each.name for each in worked.others]) == (
            "10 mg / 2 mL",
            ["1 mg / 1 mL"],
        )
        assert worked.opened is not None
        assert (worked.opened.needed, worked.opened.is_enough) == (1, True)

    def test_what_can_be_measured_comes_before_what_takes_fewer(self) -> None:
        """0.004 mL of the strong one is no mark of a syringe."""
        worked = work_out(CHILD, rule("2 mcg/kg"), carrying("10 mg / 1 mL", "100 mcg / 1 mL"))

        assert worked.chosen is not None
        assert (worked.chosen.name, worked.refusal) == ("100 mcg / 1 mL", None)

    def test_what_is_aboard_in_the_number_needed_comes_first(self) -> None:
        """One that is short gives way to one that does."""
        short, enough = holding("20 mg / 1 mL", par=0), holding("1 mg / 1 mL", par=2)
        worked = work_out(
            CHILD, rule("0.1 mg/kg"), Supplies(containers=(short, enough), syringes=SYRINGES)
        )

        assert worked.chosen == enough

    def test_a_refused_draw_keeps_its_arithmetic_and_says_the_ways_out(self) -> None:
        """The exact volume, why it is not drawn, and no amount of what the rule does not name."""
        supplies = replace(
            carrying("10 mg / 1 mL"), others=(holding("100 mcg / 1 mL", name="weaker"),)
        )
        worked = work_out(CHILD, rule("2 mcg/kg", packed="10 mg / 1 mL"), supplies)

        assert worked.refusal is not None
        assert worked.volume is not None
        assert worked.volume.exact == read_quantity("0.004 mL")
        assert worked.volume.rounded is None
        assert "marks 0.01 mL apart" in worked.refusal.because
        ways = " ".join(worked.refusal.instead)
        assert "100 mcg/mL" not in ways
        assert "Dilute it" in ways
        assert "ask medical direction for another presentation" in ways

    def test_too_few_aboard_is_known(self) -> None:
        """Three are needed, of two."""
        worked = work_out(CHILD, rule("0.13 mg/kg"), carrying(ONE_ML_VIAL, par=2))

        assert worked.opened is not None
        assert (worked.opened.needed, worked.opened.par, worked.opened.short) == (3, 2, 1)
        assert "One holds 1 mL: open 3 of 2 aboard" in worked.steps

    def test_none_aboard_is_worked_out_as_the_rule_says(self) -> None:
        """The count stands, without a par."""
        worked = work_out(CHILD, rule("0.1 mg/kg"), Supplies(syringes=SYRINGES))

        assert worked.chosen is None
        assert worked.opened is not None
        assert (worked.opened.needed, worked.opened.par, worked.opened.is_enough) == (
            2,
            None,
            False,
        )


@pytest.mark.parametrize(
    ("years", "is_never_up", "volume"),
    [(5, False, "0.06 mL"), (5, True, "0.05 mL"), (30, True, "0.06 mL")],
)
def test_a_childs_dose_is_rounded_as_the_service_says(
    years: int, is_never_up: bool, volume: str
) -> None:
    """Half up, or never up; grown ones always half up."""
    patient = Patient(age=Age.of_years(years), weight=read_quantity("5.5 kg"))

    worked = work_out(
        patient,
        rule("0.01 mg/kg"),
        carrying(ONE_ML_VIAL),
        Settings(is_never_up_for_children=is_never_up),
    )

    assert worked.volume is not None
    assert str(worked.volume.rounded) == volume


def test_a_tighter_limit_of_refusal_refuses_more() -> None:
    """0.055 mL is 9% off its mark: drawn up within a tenth, not within a twentieth."""
    patient = replace(CHILD, weight=read_quantity("5.5 kg"))
    given, aboard = rule("0.01 mg/kg"), carrying(ONE_ML_VIAL)

    assert work_out(patient, given, aboard).refusal is None
    tight = Settings(refused_from=Fraction(1, 20))
    assert work_out(patient, given, aboard, tight).refusal is not None


class TestRunning:
    def test_a_mixed_drip_says_how_it_is_mixed_and_each_set(self) -> None:
        """4 mg in 250 mL at 0.1 mcg/kg/min for 80 kg: 30 mL/h."""
        vial = holding("4 mg / 4 mL").container
        mixture = read_mixture(vial, take="4 mg", added="250 mL", strength="16 mcg/mL")
        given = rule(
            "0.1 mcg/kg/min",
            packed="4 mg / 4 mL",
            topic=DRIP,
            mixture=mixture,
            presentation=mixture.presentation,
        )
        grown = Patient(age=Age.of_years(40), weight=read_quantity("80 kg"))

        worked = work_out(grown, given, carrying("4 mg / 4 mL", sets=("10 gtt/mL", "60 gtt/mL")))

        assert worked.running is not None
        assert worked.opened is not None
        assert worked.running.pump.answer == "30 mL/h"
        assert [each.rate.answer for each in worked.running.drops] == ["5 gtt/min", "30 gtt/min"]
        assert worked.running.lasts is not None
        assert worked.running.lasts.exact == read_quantity("500 min")
        assert worked.opened.needed == 1
        assert worked.steps[:2] == mixture.steps

    def test_a_dose_that_is_run_in_is_drawn_up_first(self) -> None:
        """2 g in 100 mL over 10 minutes: 4 mL out of two vials, 600 mL/h."""
        vial = holding("1 g / 2 mL").container
        given = rule(
            "2 g",
            packed="1 g / 2 mL",
            mixture=read_mixture(vial, take="2 g", added="100 mL"),
            over_min=10,
        )

        worked = work_out(CHILD, given, carrying("1 g / 2 mL", sets=("10 gtt/mL", "60 gtt/mL")))

        assert worked.volume is not None
        assert worked.running is not None
        assert worked.volume.answer == "4 mL"
        assert worked.opened is not None
        assert worked.opened.needed == 2
        assert worked.running.pump.answer == "600 mL/h"
        assert [each.is_countable for each in worked.running.drops] == [True, False]

    def test_a_powder_is_counted_by_what_one_holds(self) -> None:
        """5.6 g of 5 g kits: two are opened."""
        kit = Container("", "5 g kit", read_quantity("5 g"))
        mixture = read_mixture(kit, added="200 mL")
        given = rule(
            "70 mg/kg", mixture=mixture, presentation=mixture.presentation, comes_as=(kit,)
        )
        aboard = Supplies(
            containers=(Stocked(name="kit", container=kit, par=1),), syringes=SYRINGES
        )
        grown = Patient(age=Age.of_years(40), weight=read_quantity("80 kg"))

        worked = work_out(grown, given, aboard)

        assert worked.opened is not None
        assert (worked.opened.needed, worked.opened.short) == (2, 1)

    def test_fluid_burns_and_shocks_have_their_own_figures(self) -> None:
        """20 mL/kg over 30 minutes; 2 mL/kg/% an hour after; 4 J/kg within its maximum."""
        bags = carrying("1,000 mL", par=1, sets=("10 gtt/mL",))
        fluid = work_out(CHILD, rule("20 mL/kg", packed="1,000 mL", topic=FLUID, over_min=30), bags)
        hour = replace(CHILD, area=read_quantity("40 %"), since_injury=read_quantity("1 h"))
        burn = work_out(hour, rule("2 mL/kg/%", packed="1,000 mL", topic=BURN), bags)
        shock = work_out(CHILD, rule("4 J/kg", topic=ENERGY, maximum="70 J"), Supplies())

        assert fluid.running is not None
        assert burn.running is not None
        assert fluid.running.pump.answer == "800 mL/h"
        assert burn.results["total"].answer == "1,600 mL"
        assert burn.opened is not None
        assert burn.opened.short == 1
        assert burn.running.pump.exact == Quantity(Fraction(800, 7), "mL/h")
        assert (shock.results["energy"].answer, shock.limit) == ("70 J", "max")


class TestAgain:
    def test_the_next_is_due_the_interval_later(self) -> None:
        """And none is due after the last."""
        given = rule("1 mg", repeat_min=5, repeat_times=2)

        first, last = (
            work_out(
                CHILD,
                given,
                carrying(ONE_ML_VIAL),
                course=Course(doses_before=count, given_at=NOON),
            ).again
            for count in (0, 2)
        )

        assert (first.next_due, first.more) == (datetime(2026, 11, 25, 12, 5, tzinfo=UTC), 2)
        assert (last.next_due, last.more, last.is_past) == (None, 0, False)

    def test_a_dose_past_the_total_is_refused_with_its_arithmetic(self) -> None:
        """2 mg were given; 3 mg is all there may be, and this dose is 2 mg."""
        worked = work_out(
            CHILD,
            rule("2 mg", max_total=read_quantity("3 mg")),
            carrying(ONE_ML_VIAL),
            course=Course(doses_before=1),
        )

        assert worked.refusal is not None
        assert worked.volume is not None
        assert worked.refusal.because == "4 mg with this dose, and the rule allows 3 mg in all."
        assert worked.volume.answer == "2 mL"
        assert "In all 4 mg of at most 3 mg" in worked.steps
