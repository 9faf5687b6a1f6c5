"""Coma scales, pressures, shock index and usual signs against published cases."""

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.ages import MONTHS, Age
from drills.engine.scores import (
    COMA_PARTS,
    EYES,
    MOVEMENT,
    VOICE,
    age_shock_index,
    coma_scales,
    coma_step,
    coma_steps,
    coma_total,
    least_systolic,
    mean_pressure,
    modified_shock_index,
    shock_band,
    shock_index,
    shock_sets,
    usual_sign,
)
from drills.engine.tables import (
    COMA_PATIENTS,
    SYSTOLIC,
    NotThereError,
    OutsideError,
    at_age,
)
from tests.engine.published import agrees, cases, given_in, ids

SMALL = st.integers(1, 300).map(Fraction)
LETTERS = {"E": EYES, "V": VOICE, "M": MOVEMENT}


def words_for(scale: str, part: str, points: Fraction) -> str:
    (step,) = (row for row in coma_steps(scale, part) if row.points == points)
    return step.words


class TestComa:
    @pytest.mark.parametrize("row", cases("gcs"), ids=ids)
    def test_a_total_is_the_published_one(self, row: dict[str, str]) -> None:
        """From the words of each part, not from its points."""
        seen = {LETTERS[at]: words_for("adult", LETTERS[at], n) for at, n in given_in(row).items()}

        agrees(Fraction(coma_total("adult", seen)), row)

    @pytest.mark.parametrize("scale", coma_scales())
    def test_points_fall_by_one_to_one(self, scale: str) -> None:
        """Four for eyes, five for voice, six for movement; every total from 3 to 15 is there."""
        parts = [[row.points for row in coma_steps(scale, part)] for part in COMA_PARTS]

        assert parts == [[4, 3, 2, 1], [5, 4, 3, 2, 1], [6, 5, 4, 3, 2, 1]]
        answers = product(*([row.words for row in coma_steps(scale, part)] for part in COMA_PARTS))
        totals = {coma_total(scale, dict(zip(COMA_PARTS, each, strict=True))) for each in answers}
        assert totals == set(range(3, 16))

    @pytest.mark.parametrize(
        ("scale", "part", "points", "words"),
        [
            ("adult", EYES, 3, "to speech"),
            ("adult", VOICE, 4, "confused"),
            ("adult", VOICE, 2, "sounds"),
            ("adult", MOVEMENT, 5, "localises"),
            ("adult", MOVEMENT, 3, "abnormal flexion"),
            ("infant, PALS", VOICE, 4, "irritable cry"),
            ("infant, PALS", VOICE, 2, "moans to pain"),
            ("infant, PALS", MOVEMENT, 6, "purposeful"),
            ("infant, PALS", MOVEMENT, 4, "withdraws to pain"),
            ("infant, college", VOICE, 4, "consolable cry"),
            ("infant, college", VOICE, 2, "grunts"),
        ],
    )
    def test_words_have_the_points_of_their_scale(
        self, scale: str, part: str, points: int, words: str
    ) -> None:
        """The two infant scales are told apart."""
        assert coma_step(scale, part, words).points == points

    @pytest.mark.parametrize(
        ("scale", "seen", "told"),
        [
            ("child", {}, "eyes, voice, movement"),
            ("child", dict.fromkeys(COMA_PARTS, "none"), "'child' is no coma scale; accepted is"),
            ("adult", {EYES: "none", VOICE: "none"}, "eyes, voice is no whole score"),
            ("adult", {**dict.fromkeys(COMA_PARTS, "none"), "pupils": "wide"}, "no whole score"),
            (
                "adult",
                {EYES: "none", VOICE: "coos", MOVEMENT: "none"},
                "accepted is oriented, confused, inappropriate words, sounds, none.",
            ),
        ],
    )
    def test_what_is_not_of_the_scale_is_refused(
        self, scale: str, seen: dict[str, str], told: str
    ) -> None:
        """A part that is missing or in other words makes no total."""
        with pytest.raises(NotThereError) as error:
            coma_total(scale, seen)
        assert told in str(error.value)

    @pytest.mark.parametrize(
        ("scale", "part", "said", "words"),
        [
            ("adult", MOVEMENT, "localizes", "localises"),
            ("adult", MOVEMENT, "Localizes pain", "localises"),
            ("adult", EYES, "to voice", "to speech"),
            ("adult", MOVEMENT, "decorticate", "abnormal flexion"),
            ("infant, PALS", EYES, "to voice", "to speech"),
            ("infant, college", VOICE, "inconsolable", "persistently irritable"),
        ],
    )
    def test_other_usual_words_are_read_as_those_of_the_scale(
        self, scale: str, part: str, said: str, words: str
    ) -> None:
        """Spelled as in America, or short."""
        assert coma_step(scale, part, said).words == words

    def test_no_words_are_read_for_two_answers_of_a_part(self) -> None:
        """What may be meant for either is left out."""
        for scale, part in product(coma_scales(), COMA_PARTS):
            steps = coma_steps(scale, part)
            said = [each.casefold() for row in steps for each in (row.words, *row.others)]
            assert len(set(said)) == len(said), (scale, part)

    @pytest.mark.parametrize("scale", coma_scales())
    def test_the_patients_of_a_scale_are_ones_there_may_be(self, scale: str) -> None:
        """Awake to obey and to be oriented; with closed eyes no words and nothing done at will."""
        patients = [row for row in COMA_PATIENTS if row.scale == scale]
        points = [
            tuple(coma_step(scale, part, getattr(row, part)).points for part in COMA_PARTS)
            for row in patients
        ]

        assert len(set(points)) == len(points) >= 25
        assert {sum(each) for each in points} >= {*range(3, 16)}
        for eyes, voice, movement in points:
            assert eyes > 1 or (voice < 3 and movement < 6)
            assert voice < 5 or (eyes > 2 and movement == 6)
            assert voice < 3 or movement > 3
            assert movement > 2 or eyes == 1

    def test_a_part_that_is_none_is_told(self) -> None:
        """With the three there are."""
        with pytest.raises(NotThereError, match="accepted is eyes, voice, movement"):
            coma_steps("adult", "pupils")


class TestPressure:
    @pytest.mark.parametrize("row", cases("map"), ids=ids)
    def test_a_mean_pressure_is_a_third_and_two(self, row: dict[str, str]) -> None:
        """The diastolic counts twice."""
        has = given_in(row)

        agrees(mean_pressure(has["sbp"], has["dbp"]), row)

    @pytest.mark.parametrize("row", cases("shock_index"), ids=ids)
    def test_a_shock_index_is_the_published_one(self, row: dict[str, str]) -> None:
        """Heart rate by systolic."""
        has = given_in(row)

        agrees(shock_index(has["hr"], has["sbp"]), row)

    @pytest.mark.parametrize("row", cases("modified_shock_index"), ids=ids)
    def test_a_modified_index_is_by_the_mean(self, row: dict[str, str]) -> None:
        """Heart rate by mean pressure."""
        has = given_in(row)

        agrees(modified_shock_index(has["hr"], has["sbp"], has["dbp"]), row)

    @pytest.mark.parametrize("row", cases("age_shock_index"), ids=ids)
    def test_an_age_index_is_by_years(self, row: dict[str, str]) -> None:
        """Years times the index."""
        has = given_in(row)

        agrees(age_shock_index(has["age"], has["hr"], has["sbp"]), row)

    @given(SMALL, SMALL)
    def test_a_mean_lies_between_the_two_and_nearer_the_lower(
        self, a: Fraction, b: Fraction
    ) -> None:
        """Whichever they are."""
        low, high = sorted((a, b))
        mean = mean_pressure(high, low)

        assert low <= mean <= high
        assert (high - mean) == 2 * (mean - low)

    @pytest.mark.parametrize(
        ("asked", "told"),
        [
            (lambda: mean_pressure(Fraction(60), Fraction(90)), "60/90 mmHg; accepted is the high"),
            (lambda: mean_pressure(Fraction(0), Fraction(0)), "systolic pressure of 0 mmHg"),
            (lambda: mean_pressure(Fraction(90), Fraction(0)), "diastolic pressure of 0 mmHg"),
            (lambda: shock_index(Fraction(80), Fraction(0)), "systolic pressure of 0 mmHg"),
            (lambda: shock_index(Fraction(-1), Fraction(90)), "heart rate of -1 beats/min"),
            (lambda: shock_index(Fraction(80), Fraction(401)), "accepted is over 0 to 400 mmHg"),
            (
                lambda: modified_shock_index(Fraction(500), Fraction(90), Fraction(60)),
                "heart rate of 500 beats/min; accepted is over 0 to 400 beats/min",
            ),
        ],
    )
    def test_a_figure_that_cannot_be_is_refused(self, asked, told: str) -> None:
        """The error names it and its limits."""
        with pytest.raises(OutsideError) as error:
            asked()
        assert told in str(error.value)


class TestShockBands:
    @pytest.mark.parametrize(
        ("of", "index", "words"),
        [
            ("normal range", "0.49", "below the normal range"),
            ("normal range", "0.5", "normal"),
            ("normal range", "0.7", "normal"),
            ("normal range", "0.71", "above the normal range"),
            ("early shock", "0.8", "no early shock"),
            ("early shock", "0.81", "early shock"),
            ("three degrees", "0.59", "none named"),
            ("three degrees", "0.6", "mild"),
            ("three degrees", "1", "mild"),
            ("three degrees", "1.01", "moderate"),
            ("three degrees", "1.4", "moderate"),
            ("three degrees", "1.41", "severe"),
        ],
    )
    def test_an_index_is_called_by_its_set(self, of: str, index: str, words: str) -> None:
        """On either side of each limit."""
        assert shock_band(Fraction(index), of).words == words

    @given(st.sampled_from(shock_sets()), SMALL, SMALL)
    def test_every_index_has_a_word(self, of: str, beats: Fraction, systolic: Fraction) -> None:
        """However far it is from what is usual."""
        assert shock_band(shock_index(beats, systolic), of).set == of

    def test_an_unknown_set_is_told(self) -> None:
        """Sets differ: none is taken unless it is named."""
        with pytest.raises(NotThereError, match="accepted is normal range, early shock, three deg"):
            shock_band(Fraction(1), "usual")


class TestSigns:
    @pytest.mark.parametrize("row", cases("min_sbp"), ids=ids)
    def test_the_least_systolic_is_the_published_one(self, row: dict[str, str]) -> None:
        """By age, from the newborn."""
        agrees(least_systolic(given_in(row)["age"]), row)

    @pytest.mark.parametrize(("months", "mmhg"), [(11, 70), (12, 72), (13, 72), (23, 72), (24, 74)])
    def test_a_child_of_twelve_months_is_one_year_old(self, months: int, mmhg: int) -> None:
        """Published for 1 to 12 months and for 1 to 10 years: of both the year is read, which is
        the higher figure, and no line that is shown says otherwise."""
        assert least_systolic(Age(months)) == mmhg
        row = at_age("Least systolic pressure", Age(months), SYSTOLIC)
        assert ("12 months" in row.word, "below 1 year" in row.word) == (False, months < MONTHS)

    @given(st.integers(0, 1500))
    def test_the_least_systolic_never_falls_with_age(self, months: int) -> None:
        """Nor is there a step at ten years."""
        assert least_systolic(Age(months)) <= least_systolic(Age(months + 1)) <= 90

    @pytest.mark.parametrize(
        ("of", "sign", "age", "low", "high"),
        [
            ("PALS 2006", "heart rate awake", Age(2), 85, 205),
            ("PALS 2006", "heart rate awake", Age(3), 100, 190),
            ("PALS 2006", "heart rate awake", Age.of_years(2), 60, 140),
            ("PALS 2006", "heart rate awake", Age.of_years(10), 60, 140),
            ("PALS 2006", "heart rate awake", Age.of_years(11), 60, 100),
            ("PALS 2006", "breaths", Age.of_years(13), 12, 16),
            ("protocol book 2025", "heart rate awake", Age(0), 100, 180),
            ("protocol book 2025", "heart rate awake", Age.of_years(4), 70, 130),
            ("protocol book 2025", "breaths", Age.of_years(7), 15, 30),
            ("protocol book 2025", "systolic", Age(6), 87, 105),
            ("protocol book 2025", "systolic", Age.of_years(17), 107, 132),
        ],
    )
    def test_usual_signs_are_of_their_set(
        self, of: str, sign: str, age: Age, low: int, high: int
    ) -> None:
        """The two sets are told apart."""
        found = usual_sign(of, sign, age)

        assert [found.low, found.high] == [low, high]

    @pytest.mark.parametrize(
        ("of", "sign", "age", "told"),
        [
            ("mine", "breaths", Age(0), "accepted is PALS 2006, protocol book 2025."),
            ("PALS 2006", "systolic", Age(0), "accepted is heart rate awake, breaths."),
            ("PALS 2006", "breaths", Age.of_years(18), "from 0 months to below 18 years."),
        ],
    )
    def test_what_no_set_has_is_told(self, of: str, sign: str, age: Age, told: str) -> None:
        """The error names what there is."""
        with pytest.raises(NotThereError) as error:
            usual_sign(of, sign, age)
        assert told in str(error.value)
