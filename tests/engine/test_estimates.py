"""Weights and tubes of children, by named formulas, against published cases."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.ages import Age
from drills.engine.estimates import (
    CUFFED,
    UNCUFFED,
    estimate_weight,
    tube_by_age,
    tube_by_weight,
    weight_formulas,
)
from drills.engine.tables import NotThereError, OutsideError
from tests.engine.published import agrees, cases, given_in, ids

LUSCOMBE, OLDER, BANDS = "Luscombe and Owens", "older APLS", "APLS bands"


def formula_of(row: dict[str, str]) -> str:
    """By the formula that the case writes out, or by the name it gives."""
    is_older = "age + 4" in row["question"] or row["question"].startswith("APLS")
    return OLDER if is_older else LUSCOMBE


class TestWeight:
    @pytest.mark.parametrize("row", cases("weight_est"), ids=ids)
    def test_a_formula_gives_the_published_weight(self, row: dict[str, str]) -> None:
        """Exact, from whole years."""
        agrees(estimate_weight(formula_of(row), given_in(row)["age"]).kg, row)

    @pytest.mark.parametrize("row", cases("weight_band_est"), ids=ids)
    def test_the_bands_give_the_published_weight(self, row: dict[str, str]) -> None:
        """From whole months below one year, and with the step at 6 years as printed."""
        agrees(estimate_weight(BANDS, given_in(row)["age"]).kg, row)

    @pytest.mark.parametrize("row", cases("flagged_weight_est"), ids=ids)
    def test_a_greatest_weight_of_another_age_is_not_reproduced(self, row: dict[str, str]) -> None:
        """28 kg stands beside an oldest child of 9 in print; it is that of a child of 10."""
        has = given_in(row)

        found = estimate_weight(OLDER, has["age"]).kg
        assert found == Fraction(row["exact"]) != Fraction(row["answer"])
        assert estimate_weight(OLDER, Age.of_years(10)).kg == Fraction(row["answer"])

    @given(st.integers(12, 131))
    def test_a_year_counts_when_it_is_completed(self, months: int) -> None:
        """The weight does not move between birthdays."""
        kg = estimate_weight(LUSCOMBE, Age(months)).kg

        assert kg == 3 * (months // 12) + 7

    def test_the_line_that_was_used_is_told(self) -> None:
        """The crew sees which formula, and where it is from."""
        found = estimate_weight(BANDS, Age.of_years(6))

        assert (found.by.written, found.by.status) == ("3 × age + 7", "confirmed")
        assert estimate_weight(BANDS, Age.of_years(5)).by.written == "2 × age + 8"
        assert estimate_weight("trinidad", Age.of_years(3)).kg == Fraction("15.5")

    @pytest.mark.parametrize(
        ("age", "names"),
        [
            (Age(6), (BANDS,)),
            (Age.of_years(4), (LUSCOMBE, f"{LUSCOMBE} to 13", OLDER, BANDS, "Trinidad")),
            (Age.of_years(11), (f"{LUSCOMBE} to 13", BANDS)),
            (Age.of_years(13), (f"{LUSCOMBE} to 13",)),
            (Age.of_years(14), ()),
        ],
    )
    def test_formulas_are_told_by_age(self, age: Age, names: tuple[str, ...]) -> None:
        """Only those that have a weight for it."""
        assert weight_formulas(age) == names
        assert set(names) <= set(weight_formulas())

    @pytest.mark.parametrize(
        ("formula", "age", "told"),
        [
            ("guess", Age(60), "'guess' is no weight formula; accepted is Luscombe and Owens,"),
            (LUSCOMBE, Age(11), "has nothing for 11 months; it is for ages from 1 year to below"),
            (LUSCOMBE, Age.of_years(11), "has nothing for 11 years"),
            (BANDS, Age.of_years(13), "from 0 months to below 13 years"),
        ],
    )
    def test_what_has_no_weight_is_told(self, formula: str, age: Age, told: str) -> None:
        """No formula is stretched beyond the ages that it was made for."""
        with pytest.raises(NotThereError) as error:
            estimate_weight(formula, age)
        assert told in str(error.value)


class TestTubes:
    @pytest.mark.parametrize("row", cases("tube_size"), ids=ids)
    def test_a_tube_by_age_is_the_published_one(self, row: dict[str, str]) -> None:
        """Each of these is a size that there is."""
        has = given_in(row)
        cuff = has.get("cuff") or (CUFFED if row["question"].startswith("Cuffed") else UNCUFFED)

        found = tube_by_age(has["age"], cuff)
        agrees(found.exact, row)
        assert found.smaller == found.exact == found.larger

    @pytest.mark.parametrize("row", cases("tube_size_kg"), ids=ids)
    def test_a_tube_by_weight_is_the_published_one(self, row: dict[str, str]) -> None:
        """At both ends of each printed band."""
        has = given_in(row)

        agrees(tube_by_weight(has["kg"], has["cuff"]).exact, row)

    def test_a_width_between_two_sizes_has_both(self) -> None:
        """5 years uncuffed is 5.25 mm: 5 or 5.5."""
        found = tube_by_age(Age.of_years(5), UNCUFFED)

        assert (found.exact, found.smaller, found.larger) == (
            *(Fraction("5.25"), Fraction(5), Fraction("5.5")),
        )

    @given(st.integers(0, 155), st.sampled_from((UNCUFFED, CUFFED)))
    def test_sizes_are_half_millimetres_round_the_width(self, months: int, cuff: str) -> None:
        """And a cuffed tube is half a size less."""
        found = tube_by_age(Age(months), cuff)

        assert found.smaller <= found.exact <= found.larger
        assert found.larger - found.smaller == (0 if found.exact * 2 % 1 == 0 else Fraction(1, 2))
        assert found.smaller * 2 % 1 == found.larger * 2 % 1 == 0
        other = tube_by_age(Age(months), UNCUFFED)
        assert other.exact - found.exact == (Fraction(1, 2) if cuff == CUFFED else 0)

    def test_a_weight_between_printed_bands_is_in_the_lower(self) -> None:
        """9.9 kg is below 10."""
        assert tube_by_weight(Fraction("9.9"), UNCUFFED).exact == Fraction("3.5")

    @pytest.mark.parametrize("kg", ["5.9", "24", "0", "-3", "501"])
    def test_a_weight_without_a_tube_is_told(self, kg: str) -> None:
        """With the weights that have one."""
        with pytest.raises(OutsideError, match=r"accepted is (6 to below 24|over 0 to 500) kg"):
            tube_by_weight(Fraction(kg), UNCUFFED)

    def test_what_has_no_tube_is_told(self) -> None:
        """Neither another cuff nor a grown person."""
        with pytest.raises(NotThereError, match="accepted is uncuffed, cuffed"):
            tube_by_age(Age(60), "half")
        with pytest.raises(NotThereError, match="accepted is uncuffed, cuffed"):
            tube_by_weight(Fraction(10), "half")
        with pytest.raises(NotThereError, match="below 13 years"):
            tube_by_age(Age.of_years(13), CUFFED)
