"""Injured patients for the field criteria: a thousand at each difficulty."""

import re
from collections import Counter
from functools import cache
from statistics import fmean
from typing import Any

import pytest

from drills.engine.ages import Age
from drills.engine.calls import AgeBand
from drills.engine.chance import seeded
from drills.engine.injured import Injured, draw_injured
from drills.engine.injured.asking import asked_of
from drills.engine.injured.making import NEITHER, RED, YELLOW
from drills.engine.injured.signs import (
    SIGNS,
    breathing_words,
    put_beside,
    put_beyond,
    usual_figures,
)
from drills.engine.injured.tables import (
    BY_KEY,
    CRITERIA,
    DECOY,
    DETAILS,
    HAPPENINGS,
    LEVELS,
    USUAL_SIGNS,
    findings_of,
    limit_of,
)
from drills.engine.problemcheck import LEAST_ALIVE, MOST_OF_GROWN, usual_most
from drills.engine.tables import SYSTOLIC, VITAL_SIGNS, at_age
from drills.engine.triage.charts import OTHERWISE
from drills.engine.triage.field import CRITERIA as CHART
from drills.engine.triage.field import criteria_met, field_triage
from tests.engine.test_triage import rows as cases
from tests.engine.test_triage_field import WELL
from tests.engine.triage_published import field_level

CASES = cases("triage_field_met.csv")
MANY = 1000
# Words that name a category or say what is asked; none may stand in what is told of a patient.
LABELS = r"\b(red|yellow|green|risk|high risk|moderate|neither|criteri\w+|triage|meets?|priority)\b"


@cache
def thousand(difficulty: int) -> tuple[Injured, ...]:
    random = seeded(f"a thousand:{difficulty}")
    return tuple(draw_injured(random, difficulty=difficulty) for _ in range(MANY))


def told(patient: Injured) -> str:
    asked = asked_of(patient)
    return " ".join((asked.happened, *map(str, asked.told[0]), *asked.signs))


every_level = pytest.mark.parametrize("difficulty", LEVELS)


class TestMet:
    @pytest.mark.parametrize("case", CASES, ids=lambda case: case["id"])
    def test_every_criterion_that_is_met_is_told_at_its_limit(self, case: dict[str, Any]) -> None:
        """Not the first alone, and of moderate risk as well where high risk decides."""
        findings = {**WELL, **case["findings"]}

        assert field_triage(findings).category == case["category"]
        assert {each.when for each in criteria_met(findings)} == {
            each for each in case["met"].split(";") if each
        }

    def test_a_criterion_is_offered_for_each_row_of_the_table_in_its_order(self) -> None:
        """None is left out, and none is of our own making."""
        published = [each.when for each in CHART.branches if each.when != OTHERWISE]

        assert [each.when for each in CRITERIA] == published

    def test_every_criterion_can_be_brought_about(self) -> None:
        """By a limit, a happening or a detail; and no row brings about what is no finding."""
        rows = [*(each.brings for each in HAPPENINGS), *(each.brings for each in DETAILS)]
        brought = {part for row in rows for part in row}
        asked = {part for each in CRITERIA for part in each.brings}

        assert brought == asked
        assert all(each.has_limit or each.brings for each in CRITERIA)

    @pytest.mark.parametrize(
        ("key", "age", "systolic", "limit"),
        [
            ("slow breathing", 40, 0, (9, 10)),
            ("fast breathing", 40, 0, (30, 29)),
            ("saturation", 40, 0, (89, 90)),
            ("pressure to 9", 9, 0, (87, 88)),
            ("pressure 10 to 64", 64, 0, (89, 90)),
            ("pressure from 65", 65, 0, (109, 110)),
            ("pulse over pressure", 40, 90, (91, 90)),
            ("intrusion at the seat", 40, 0, (13, 12)),
            ("intrusion anywhere", 40, 0, (19, 18)),
            ("fall", 4, 0, (11, 10)),
            ("unrestrained", 0, 0, (9, 10)),
            ("low fall to 5", 0, 0, (5, 6)),
            ("low fall from 65", 0, 0, (65, 64)),
        ],
    )
    def test_limits_are_those_of_the_guideline(
        self, key: str, age: int, systolic: int, limit: tuple[int, int]
    ) -> None:
        """National guideline of 2021 as reprinted; the low falls from memory."""
        assert limit_of(key, age, systolic) == limit

    def test_what_has_no_limit_at_an_age_is_refused(self) -> None:
        with pytest.raises(ValueError, match="pressure to 9: it has no limit of systolic at 40"):
            limit_of("pressure to 9", 40)


class TestThousand:
    @every_level
    def test_exactly_one_category_which_is_that_of_the_table(self, difficulty: int) -> None:
        """By the table, and by the same rules typed a second time."""
        for each in thousand(difficulty):
            found = field_triage(each.findings)

            assert found.needs is None
            assert each.category == found.category == field_level(dict(each.findings))

    @every_level
    def test_every_criterion_that_is_met_is_known(self, difficulty: int) -> None:
        """High risk has one of high risk, moderate none of it, neither none at all."""
        for each in thousand(difficulty):
            met = {BY_KEY[key].when for key in each.met}
            levels = {BY_KEY[key].branch.leads_to for key in each.met}

            assert met == {row.when for row in criteria_met(each.findings)}
            assert levels - {RED, YELLOW} == set()
            assert {RED: RED in levels, YELLOW: levels == {YELLOW}, NEITHER: not levels}[
                each.category
            ]

    @every_level
    def test_nobody_has_signs_that_their_age_does_not_allow(self, difficulty: int) -> None:
        """By the published ranges, so far over or under as in somebody badly hurt."""
        for each in thousand(difficulty):
            found, age = each.findings, Age.of_years(each.age_y)
            band = AgeBand("", each.age_y, each.age_y + 1, "")
            most = {
                name: usual * over
                for name in MOST_OF_GROWN
                for usual, over in [usual_most(name, band)]
            }
            least = at_age("Least systolic pressure", age, SYSTOLIC)
            floor = float(least.mmhg + least.per_year * age.years) * LEAST_ALIVE

            assert 4 <= found["rate"] <= most["breaths"], each
            assert 40 <= found["heart_rate"] <= most["heart rate awake"], each
            assert floor <= found["systolic"] <= 170, each
            assert 70 <= found["spo2"] <= 100, each
            assert 0 <= found["intrusion_occupant_in"] <= found["intrusion_any_in"] <= 40
            assert 0 <= found["fall_ft"] <= 40

    @every_level
    def test_no_word_of_what_is_told_names_the_answer(self, difficulty: int) -> None:
        """Nor is a criterion told in its own words."""
        labels = [each.label.casefold() for each in CRITERIA]
        for each in thousand(difficulty):
            words = told(each).casefold()

            assert not re.search(LABELS, words), words
            assert not any(label in words for label in labels), words

    @every_level
    def test_each_criterion_is_drawn_at_some_time(self, difficulty: int) -> None:
        patients = thousand(difficulty)
        met = Counter(key for each in patients for key in each.met)
        aimed = Counter(each.aim for each in patients if each.category != NEITHER)

        assert set(met) == set(BY_KEY)
        assert set(aimed) == set(BY_KEY)

    @every_level
    def test_the_shares_of_the_categories_and_of_the_limits_are_as_stated(
        self, difficulty: int
    ) -> None:
        """Within four standard deviations of so many draws."""
        level, patients = LEVELS[difficulty], thousand(difficulty)
        shares = Counter(each.category for each in patients)
        of_red = [each for each in patients if each.category == RED]
        both = sum(any(BY_KEY[key].branch.leads_to == YELLOW for key in p.met) for p in of_red)
        stated = [(shares[name], MANY, float(getattr(level, name))) for name in (RED, YELLOW)]
        stated += [
            (shares[NEITHER], MANY, float(level.neither)),
            (sum(each.is_near for each in patients), MANY, float(level.near)),
            (both, len(of_red), float(level.also)),
        ]

        assert level.red + level.yellow + level.neither == 1
        for count, of, share in stated:
            assert abs(count - of * share) <= 4 * (of * share * (1 - share)) ** 0.5, stated

    @every_level
    def test_who_is_drawn_at_a_limit_is_one_step_from_the_other_side(self, difficulty: int) -> None:
        """The figure, or the age, of what was aimed at; nothing else needs to move."""
        near = [each for each in thousand(difficulty) if each.is_near]
        for each in near:
            aim = BY_KEY[each.aim]
            met, missed = limit_of(aim.key, each.age_y, each.findings["systolic"])
            here, there = (missed, met) if each.category == NEITHER else (met, missed)

            assert each.findings[aim.edge] == here, each
            beyond = {row.when for row in criteria_met({**each.findings, aim.edge: there})}
            assert (aim.when in beyond) == (each.category == NEITHER), each
        assert bool(near) == (LEVELS[difficulty].near > 0)

    def test_harder_tells_more_that_looks_grave_and_meets_nothing(self) -> None:
        """At the easiest nothing is told beside, at the hardest the most."""
        decoys = {row.words for row in DETAILS if row.use == DECOY}
        beside = [
            [sum(words in decoys for words in each.found) for each in thousand(level)]
            for level in LEVELS
        ]
        wounded = {each.kind for each, many in zip(thousand(1), beside[0], strict=True) if many}

        assert wounded == {"arm", "leg", "sharp"}  # there something is seen of everybody
        assert fmean(beside[1]) > fmean(beside[0]) + 0.2
        assert fmean(beside[4]) > fmean(beside[1]) + 0.4

    def test_the_trap_of_start_is_met(self) -> None:
        """30 breaths are of high risk here and nothing to START; 29 are neither's."""
        rates = {
            (each.findings["rate"], "fast breathing" in each.met)
            for each in thousand(5)
            if each.findings["rate"] in (29, 30)
        }

        assert rates == {(29, False), (30, True)}

    def test_a_child_whose_pulse_is_over_the_pressure_meets_nothing_by_it(self) -> None:
        """The criterion is of 10 years and more."""
        children = [
            each
            for each in thousand(3)
            if each.age_y < 10 and each.findings["heart_rate"] > each.findings["systolic"]
        ]

        assert any(each.category == NEITHER for each in children)
        assert not any("pulse over pressure" in each.met for each in children)


class TestFigures:
    @pytest.mark.parametrize("row", [each for each in USUAL_SIGNS if each.to_y < 18])
    def test_usual_signs_of_children_are_inside_the_published_ranges(self, row: Any) -> None:
        """PALS 2006 as reprinted, or the protocol book where it has another; every year of them."""
        for age in range(row.from_y, row.to_y + 1):
            for sign, low, high in (
                ("breaths", row.rate_low, row.rate_high),
                ("heart rate awake", row.pulse_low, row.pulse_high),
                ("systolic", row.systolic_low, row.systolic_high),
            ):
                fits = [
                    each
                    for each in VITAL_SIGNS
                    if each.sign == sign
                    and each.from_months <= age * 12
                    and (each.below_months is None or age * 12 < each.below_months)
                ]
                assert any(each.low <= low and high <= each.high for each in fits), (age, sign)

    def test_the_usual_rows_have_every_age_once(self) -> None:
        ages = [age for row in USUAL_SIGNS for age in range(row.from_y, row.to_y + 1)]

        assert ages == list(range(2, 93))

    @pytest.mark.parametrize("criterion", [each for each in CRITERIA if each.edge in SIGNS])
    def test_a_figure_is_put_on_the_side_that_is_asked_for(self, criterion: Any) -> None:
        """Whatever the age, and however far from the limit."""
        random = seeded("sides")
        for age in range(criterion.from_y, criterion.to_y + 1):
            over, short = (usual_figures("blow", age, random) for _ in range(2))
            put_beyond(over, criterion, age, random, is_near=age % 2 == 0)
            put_beside(short, criterion, age, age % 3)

            assert criterion.branch in criteria_met({**WELL, **over, "age_y": age})
            assert criterion.branch not in criteria_met({**WELL, **short, "age_y": age})

    def test_breathing_is_told_by_its_rate(self) -> None:
        """A small child at rest breathes as often as a grown person who is out of breath."""
        assert breathing_words(8, 40) == "Breathes slowly, without effort."
        assert breathing_words(28, 40) == "Breathes fast, without effort."
        assert breathing_words(28, 4) == breathing_words(16, 40) == "Breathes easily."

    def test_findings_are_read_from_what_a_row_brings_about(self) -> None:
        parts = ("crash ejection", "crash unrestrained", "distress yes", "follows_commands no")

        assert findings_of(parts) == {
            "crash": ["ejection", "unrestrained"],
            "distress": True,
            "follows_commands": False,
        }
