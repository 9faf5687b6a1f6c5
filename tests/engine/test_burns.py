"""Burned area and formulas for fluid against published cases."""

import json
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.ages import Age
from drills.engine.burns import (
    AGE_CHART,
    BURNED,
    ELECTRICAL,
    RULE_OF_NINES,
    THERMAL,
    band,
    burn_formula,
    burned_area,
    burned_of,
    charts,
    formula_sets,
    palms_area,
    parts,
    regions,
    start_rate,
)
from drills.engine.dosing.pump import MOST_RATE
from drills.engine.dosing.reading import read_problem, told_solution
from drills.engine.incidents.tables import APPEARANCES
from drills.engine.tables import NotThereError, OutsideError
from tests.engine.published import agrees, cases, given_in, ids

FIXTURES = Path(__file__).parents[2] / "fixtures"
AGES = st.integers(0, 1560).map(Age)
ADULT = Age.of_years(40)
CHART_AGES = {"LB0": 0, "LB1": 1, "LB5": 5, "LB10": 10, "LB15": 15, "LBadult": 40}


def each_of(chart: str, age: Age) -> dict[str, Fraction]:
    return {row.part: row.percent for row in parts(chart, age)}


class TestCharts:
    @pytest.mark.parametrize("chart", charts())
    def test_all_regions_are_a_hundred_at_every_age(self, chart: str) -> None:
        """Month by month: no band loses or doubles skin."""
        assert {sum(regions(chart, Age(months)).values()) for months in range(1560)} == {100}

    @pytest.mark.parametrize("row", cases("burn_chart_sum"), ids=ids)
    def test_the_chart_is_the_published_one(self, row: dict[str, str]) -> None:
        """Half head, half thigh and half lower leg, and their sum over the body."""
        has, age = given_in(row), Age.of_years(CHART_AGES[row["id"]])
        part = each_of(AGE_CHART, age)

        assert (part["head"], part["thigh"], part["lower leg"]) == (has["A"], has["B"], has["C"])
        varying = ("head", "thigh", "lower leg")
        of_body = regions(AGE_CHART, age)
        agrees(Fraction(sum(of for name, of in of_body.items() if name.endswith(varying))), row)

    @pytest.mark.parametrize("row", cases("flagged_burn_chart_sum"), ids=ids)
    def test_the_column_that_is_printed_wrong_is_not_reproduced(self, row: dict[str, str]) -> None:
        """At 10 years the thigh is 4.25 here, and the row says that 4.5 is printed."""
        has, age = given_in(row), Age.of_years(CHART_AGES[row["id"]])
        rows = {each.part: each for each in parts(AGE_CHART, age)}

        assert 2 * has["A"] + 4 * has["B"] + 4 * has["C"] == Fraction(row["exact"]) == 41
        assert (rows["head"].percent, rows["lower leg"].percent) == (has["A"], has["C"])
        assert rows["thigh"].printed == has["B"] != rows["thigh"].percent == Fraction("4.25")
        assert rows["thigh"].status == "from memory"

    def test_grown_people_are_nines(self) -> None:
        """Head and arms nine, trunk and legs eighteen, one for the perineum."""
        assert regions(RULE_OF_NINES, ADULT) == {
            "head": 9,
            "left arm": 9,
            "right arm": 9,
            "front of the trunk": 18,
            "back of the trunk": 18,
            "left leg": 18,
            "right leg": 18,
            "perineum": 1,
        }

    @pytest.mark.parametrize(
        ("age", "head", "leg"),
        [
            (Age(0), "18", "13.5"),
            (Age(23), "18", "13.5"),
            (Age.of_years(2), "17", "14"),
            (Age.of_years(5), "14", "15.5"),
            (Age.of_years(9), "10", "17.5"),
            (Age.of_years(10), "9", "18"),
            (Age.of_years(90), "9", "18"),
        ],
    )
    def test_each_year_moves_one_from_the_head_to_the_legs(
        self, age: Age, head: str, leg: str
    ) -> None:
        """Over one year and to ten, where it meets the rule for grown people."""
        of_body = regions(RULE_OF_NINES, age)

        assert (of_body["head"], of_body["left leg"]) == (Fraction(head), Fraction(leg))

    @pytest.mark.parametrize(
        ("age", "told"),
        [
            (Age(11), "under 1 year"),
            (Age.of_years(4), "1 to 4 years"),
            (Age.of_years(9), "5 to 9 years"),
            (Age.of_years(10), "10 to 14 years"),
            (Age.of_years(15), "15 to 17 years"),
            (Age.of_years(18), "18 years and over"),
        ],
    )
    def test_a_band_is_looked_up(self, age: Age, told: str) -> None:
        """Nothing is interpolated: an age has the column that it has reached."""
        assert band(AGE_CHART, age) == told

    def test_regions_of_the_chart_are_named_by_side(self) -> None:
        """Front and back, left and right, where the chart counts them apart."""
        names = regions(AGE_CHART, Age(6))

        assert len(names) == 33
        assert {"front of the head", "back of the left thigh", "right buttock"} <= names.keys()
        assert {"genitals", "front of the right foot", "back of the neck"} <= names.keys()


class TestArea:
    def test_an_area_is_the_sum_of_shares(self) -> None:
        """The whole of one region and half of another."""
        burned = {"Front of the trunk": Fraction(1), "left arm": Fraction(1, 2)}

        assert burned_area(RULE_OF_NINES, ADULT, burned) == Fraction("22.5")

    def test_the_same_burn_is_more_of_a_baby(self) -> None:
        """A head is 18 there, 9 in a grown person; 19 and 7 by the chart."""
        head = {"head": Fraction(1)}
        halves = {"front of the head": Fraction(1), "back of the head": Fraction(1)}

        assert burned_area(RULE_OF_NINES, Age(3), head) == 18
        assert burned_area(RULE_OF_NINES, ADULT, head) == 9
        assert burned_area(AGE_CHART, Age(3), halves) == 19
        assert burned_area(AGE_CHART, ADULT, halves) == 7

    @given(st.sampled_from(charts()), AGES, st.data())
    def test_area_grows_with_each_region_and_never_over_the_body(
        self, chart: str, age: Age, data: st.DataObject
    ) -> None:
        """Shares add up region by region."""
        names = data.draw(
            st.lists(st.sampled_from([*regions(chart, age)]), min_size=2, unique=True)
        )
        share = data.draw(st.fractions(Fraction(1, 20), 1))
        first, *others = names

        whole = burned_area(chart, age, dict.fromkeys(names, share))
        rest = burned_area(chart, age, dict.fromkeys(others, share))
        assert whole == rest + regions(chart, age)[first] * share
        assert rest < whole <= 100

    @pytest.mark.parametrize("share", ["0", "-0.5", "1.01"])
    def test_a_share_is_over_none_and_at_most_the_whole(self, share: str) -> None:
        """The error names it and its region."""
        with pytest.raises(OutsideError, match="of left arm; accepted is over 0 to 1"):
            burned_area(RULE_OF_NINES, ADULT, {"left arm": Fraction(share)})

    def test_what_no_chart_has_is_told(self) -> None:
        """Nothing burned, a region of the other chart, a chart that is none."""
        with pytest.raises(OutsideError, match="No region is burned"):
            burned_area(RULE_OF_NINES, ADULT, {})
        with pytest.raises(NotThereError, match="'left thigh' is no region of the rule of nines"):
            burned_area(RULE_OF_NINES, ADULT, {"left thigh": Fraction(1)})
        with pytest.raises(NotThereError, match="accepted is rule of nines, age-banded chart"):
            regions("rule of tens", ADULT)

    def test_a_palm_is_one_percent(self) -> None:
        """The patient's own, with the fingers; up to the whole body."""
        assert palms_area(Fraction(7, 2)) == Fraction(7, 2)
        assert palms_area(Fraction(100)) == 100
        with pytest.raises(OutsideError, match="number of 101 palms; accepted is over 0 to 100"):
            palms_area(Fraction(101))


class TestFluid:
    @pytest.mark.parametrize("row", cases("burn_total"), ids=ids)
    def test_a_total_by_the_formula_is_the_published_one(self, row: dict[str, str]) -> None:
        """The formula is picked by kind, age and weight; the case says which it must be."""
        has = given_in(row)
        kind = ELECTRICAL if "electrical" in row["question"] else THERMAL
        age = Age.of_years(3) if row["question"].startswith("child") else ADULT

        picked = burn_formula(kind, age, has["kg"])
        assert picked.low == picked.high == has["mL"]
        agrees(picked.low * has["kg"] * has["tbsa"], row)

    @pytest.mark.parametrize(
        ("kind", "age", "kg", "of", "low", "high"),
        [
            (THERMAL, Age(179), "39.9", "ABLS 2010", 3, 3),
            (THERMAL, Age(179), "40", "ABLS 2010", 2, 2),
            (THERMAL, Age.of_years(15), "39.9", "ABLS 2010", 2, 2),
            (THERMAL, ADULT, "80", "ABLS 2010", 2, 2),
            (ELECTRICAL, Age(179), "39.9", "ABLS 2010", 4, 4),
            (THERMAL, Age(60), "20", "Army MD0576", 4, 4),
            (THERMAL, Age(60), "20", "Michigan", 3, 4),
            (THERMAL, ADULT, "80", "Michigan", 2, 4),
            (THERMAL, ADULT, "80", "RCEM", 3, 3),
        ],
    )
    def test_a_formula_is_picked_by_kind_age_and_weight(
        self, kind: str, age: Age, kg: str, of: str, low: int, high: int
    ) -> None:
        """Both limits of a child must hold: one alone makes an adult."""
        picked = burn_formula(kind, age, Fraction(kg), of)

        assert [picked.low, picked.high] == [low, high]

    @given(AGES, st.fractions(Fraction(1), 300), st.sampled_from(formula_sets()))
    def test_every_patient_has_a_formula_in_every_set(
        self, age: Age, kg: Fraction, of: str
    ) -> None:
        """For burns by heat, which every set has."""
        assert burn_formula(THERMAL, age, kg, of).set == of

    @pytest.mark.parametrize(
        ("kind", "kg", "of", "told"),
        [
            ("sunburn", "80", "ABLS 2010", "accepted is thermal or chemical, high-voltage elec"),
            (ELECTRICAL, "80", "RCEM", "no kind of burn in RCEM; accepted is thermal or chemical."),
            (THERMAL, "80", "mine", "accepted is ABLS 2010, Army MD0576, Michigan, RCEM."),
            (THERMAL, "0", "ABLS 2010", "weight of 0 kg; accepted is over 0 to 500 kg"),
            (THERMAL, "501", "ABLS 2010", "weight of 501 kg; accepted is over 0 to 500 kg"),
        ],
    )
    def test_what_has_no_formula_is_told(self, kind: str, kg: str, of: str, told: str) -> None:
        """The error names what there is."""
        with pytest.raises((NotThereError, OutsideError)) as error:
            burn_formula(kind, ADULT, Fraction(kg), of)
        assert told in str(error.value)

    @pytest.mark.parametrize("row", cases("burn_start_rate"), ids=ids)
    def test_a_starting_rate_is_the_published_one(self, row: dict[str, str]) -> None:
        """By whole years; at 14 it is that of an adult."""
        agrees(start_rate(given_in(row)["age"]).ml_per_h, row)

    @given(AGES)
    def test_a_starting_rate_never_falls_with_age(self, age: Age) -> None:
        """From 125 to 500 mL/h."""
        older = Age(min(age.months + 1, 1560))

        assert 125 <= start_rate(age).ml_per_h <= start_rate(older).ml_per_h <= 500


class TestHowFastABurnIsRun:
    """A rate that the formula comes to and nobody runs is refused, the exact one kept."""

    @pytest.mark.parametrize(
        ("weight", "since", "exact", "most"),
        [
            ("154 lb", "6 h", "2520", "999 mL/h"),
            ("30 kg", "6 h", "1080", "600 mL/h"),
            ("39 kg", "5 h", "936", "780 mL/h"),
        ],
    )
    def test_a_rate_past_what_is_run_is_refused_with_a_way_out(
        self, weight: str, since: str, exact: str, most: str
    ) -> None:
        """Grown people by the pump, the light by their weight."""
        given = {"kind": "burn", "weight": weight, "area": "36 %", "per": "4 mL/kg/%"}
        told = told_solution(read_problem({**given, "since_injury": since}).solve())

        rate = told["results"]["first_half_rate"]
        assert (rate["exact"], rate["rounded"]) == (exact, None)
        assert most in told["refused"]["because"]
        assert "medical direction" in " ".join(told["refused"]["instead"])
        assert told["results"]["total"]["rounded"] is not None

    @pytest.mark.parametrize(
        ("weight", "area", "is_run"),
        [
            ("100 kg", "39.96 %", True),  # 999 mL/h
            ("100 kg", "40 %", False),
            ("30 kg", "80 %", True),  # 20 mL/kg/h
            ("30 kg", "80.1 %", False),
            ("40 kg", "80.1 %", True),  # from there on the pump alone
        ],
    )
    def test_a_rate_at_the_limit_is_run_and_none_past_it(
        self, weight: str, area: str, is_run: bool
    ) -> None:
        """At once, so an eighth of half the total."""
        solution = read_problem(
            {"kind": "burn", "weight": weight, "area": area, "per": "4 mL/kg/%"}
        ).solve()
        assert (solution.refusal is None) == is_run
        assert (solution.results["first_half_rate"].rounded is not None) == is_run

    def test_no_published_case_comes_to_half_of_either_limit(self) -> None:
        """As the manual says; so that none of them is refused."""
        rates = [each for kind in ("burn_rate", "burn_rate_delay") for each in cases(kind)]
        told = [Fraction(each["answer"]) for each in rates]
        assert len(told) == 6
        assert all(each < MOST_RATE.amount / 2 for each in told)


def test_what_is_burned_by_what_is_found_is_of_the_chart_and_of_findings_there_are() -> None:
    """Whole regions, given fluid for at the ages of the problem; the words are those of a problem
    or of an appearance."""
    problems = json.loads((FIXTURES / "problems.json").read_text(encoding="utf-8"))
    found = {(row.problem, row.seen) for row in APPEARANCES}
    found |= {
        (row["fields"]["slug"], state["findings"])
        for row in problems
        for state in row["fields"]["states"]
    }
    for row in BURNED:
        assert (row.problem, row.findings) in found, row
        named = row.regions.split(";")
        assert burned_of(row.problem, row.findings) == tuple(named)
        assert len(set(named)) == len(named)
        for years in (1, 5, 9, 10) if row.problem == "burn-child" else (18, 80):
            area = burned_area(
                RULE_OF_NINES, Age.of_years(years), dict.fromkeys(named, Fraction(1))
            )
            assert 10 < area <= 50, row
    assert burned_of("burn-adult", "Blisters on one hand") == ()
