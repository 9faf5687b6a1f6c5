"""Weights drawn for patients against the percentiles that are published."""

import csv
from bisect import bisect_left
from collections.abc import Mapping
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.chance import seeded
from drills.engine.quantities import plain
from drills.engine.tables.kinds import STATUSES
from drills.engine.weights import (
    ADULTS,
    GROWTH,
    draw_weight,
    middle_weight,
    settled_weight,
    told_weight,
    weight_at,
    weight_words,
)

FILE = Path(__file__).parents[1] / "data" / "weight_quantiles.csv"
PUBLISHED = list(csv.DictReader(FILE.read_text(encoding="utf-8").splitlines()))
SHARES = {"p5": 0.05, "p50": 0.5, "p95": 0.95}
# What a straight line between two ages of the table is off, as measured; ours.
OFF_BETWEEN = 0.004
DRAWS = 2_000
# So many standard errors of a share may a sample be off: one case in some ten thousand.
ERRORS = 4
ages = st.floats(0, 99, allow_nan=False)


def who(row: Mapping[str, str]) -> tuple[float, bool]:
    return float(row["months"]) / 12, row["sex"] == "female"


def named(row: Mapping[str, str]) -> str:
    return f"{row['sex']}-{row['months']}"


@pytest.mark.parametrize("row", PUBLISHED, ids=named)
def test_percentiles_are_the_published_ones(row: dict[str, str]) -> None:
    """The 5th, 50th and 95th as printed, also at ages that our table leaves out."""
    age, is_female = who(row)
    for name, share in SHARES.items():
        kg = float(row[name])
        assert weight_at(share, age, is_female=is_female) == pytest.approx(kg, rel=OFF_BETWEEN)


def test_what_is_held_against_no_print_is_not_called_confirmed() -> None:
    """The files of infants and of those older are two, for each sex."""
    held = {(row["sex"], float(row["months"]) < 24) for row in PUBLISHED}
    confirmed = {(row.sex, row.months < 24) for row in GROWTH if row.status == "confirmed"}
    assert confirmed == held
    assert len(held) == 4


@pytest.mark.parametrize("row", PUBLISHED, ids=named)
def test_so_many_are_under_each_published_percentile(row: dict[str, str]) -> None:
    """Of 2,000 drawn the share under a printed percentile is its own, within 4 standard errors."""
    age, is_female = who(row)
    random = seeded(named(row))
    kgs = sorted(draw_weight(age, is_female=is_female, random=random) for _ in range(DRAWS))
    for name, share in SHARES.items():
        low, high = (
            bisect_left(kgs, float(row[name]) * (1 + side * OFF_BETWEEN)) / DRAWS
            for side in (-1, 1)
        )
        error = ERRORS * (share * (1 - share) / DRAWS) ** 0.5
        assert low - error <= share <= high + error


@given(ages, st.booleans(), st.integers(0, 10_000))
def test_nobody_is_beyond_the_3rd_and_97th_unless_asked(age: float, sex: bool, seed: int) -> None:
    """And whoever is asked for as unusual is beyond one of them."""
    low, high = (weight_at(share, age, is_female=sex) for share in (0.03, 0.97))
    usual = draw_weight(age, is_female=sex, random=seeded(f"{seed}"))
    unusual = draw_weight(age, is_female=sex, random=seeded(f"{seed}"), is_unusual=True)

    assert low <= usual <= high
    assert unusual < low or unusual > high


@given(st.floats(0, 19, allow_nan=False), st.booleans())
def test_children_grow(age: float, sex: bool) -> None:
    """The middle weight rises from each month to the next until grown."""
    assert middle_weight(age + 1 / 12, is_female=sex) > middle_weight(age, is_female=sex)


@given(ages, st.booleans(), st.integers(0, 10_000))
def test_the_same_seed_gives_the_same_weight(age: float, sex: bool, seed: int) -> None:
    """Drawn, settled and told."""
    first, again = (
        told_weight(
            settled_weight(draw_weight(age, is_female=sex, random=made), age, is_female=sex), made
        )
        for made in (seeded(f"{seed}"), seeded(f"{seed}"))
    )
    assert first == again


@given(ages, st.booleans(), st.integers(0, 10_000))
def test_a_settled_weight_is_near_what_was_drawn_and_round_either_way(
    age: float, sex: bool, seed: int
) -> None:
    """From the 3rd percentile to the 97th, in steps of 0.5, 1, 2.5 and 5 kg."""
    drawn = draw_weight(age, is_female=sex, random=seeded(f"{seed}"))
    kg = settled_weight(drawn, age, is_female=sex)
    low, high = (weight_at(share, age, is_female=sex) for share in (0.03, 0.97))
    steps = {50: Fraction(5), 20: Fraction("2.5"), 10: Fraction(1), 0: Fraction("0.5")}
    step = next(step for least, step in steps.items() if drawn >= least)

    assert low <= kg <= high
    assert (kg / step).denominator == 1
    assert abs(float(kg) - drawn) <= step
    assert weight_words(kg, pounds=True) == f"{plain(kg / 5 * 11)} lb"
    assert weight_words(kg, pounds=False) == f"{plain(kg)} kg"


def test_every_row_has_a_source() -> None:
    """And each chart is in the order of its ages, each survey row after the one before."""
    for row in (*GROWTH, *ADULTS):
        assert row.source
        assert row.status in STATUSES
    for sex in ("female", "male"):
        months = [row.months for row in GROWTH if row.sex == sex]
        assert months == sorted(set(months))
        assert [float(each) for each in (months[0], months[-1])] == [0, 240]
        bands = [row for row in ADULTS if row.sex == sex]
        assert [row.below_months for row in bands[:-1]] == [row.from_months for row in bands[1:]]
        assert (bands[0].from_months, bands[-1].below_months) == (240, None)


def test_percentiles_rise() -> None:
    """A digit lost in a row of the survey would break the order."""
    for row in ADULTS:
        kgs = [row.p5, row.p10, row.p15, row.p25, row.p50, row.p75, row.p85, row.p90, row.p95]
        assert kgs == sorted(set(kgs))
