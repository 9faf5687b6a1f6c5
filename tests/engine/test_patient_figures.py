"""Worked examples of how patients are drawn: the ranges by hand, from what each figure means."""

from collections import Counter
from decimal import Decimal
from itertools import islice
from random import Random

import pytest

from drills.engine.arriving.kit import carried_of, loose_in
from drills.engine.incidents import Sorting, make_incident
from drills.engine.incidents.findings import Whose, rate_range
from drills.engine.incidents.signs import fitting_signs
from drills.engine.layout import Compartment, Layout, Rect, StockLine
from drills.engine.recipes import RecipeSpec
from drills.engine.sortplan import sorted_calls, sorts_of
from drills.engine.stageplan import stands_of
from drills.engine.triage import SALT_FAMILY
from tests.engine.fixture_world import call_types, world

ADULT, CHILD, SMALL = Whose(False, 360), Whose(True, 72), Whose(True, 18)
ELEVEN, INFANT = Whose(False, 138), Whose(True, 8)


class Fixed(Random):
    """Draws the same share each time."""

    def __init__(self, share: float) -> None:
        super().__init__(0)
        self.share = share

    def random(self) -> float:
        return self.share


@pytest.mark.parametrize(
    ("kind", "whose", "near", "beside"),
    [
        # At rest 12 to 20, a quarter more when hurt: 25. START calls over 30 immediate.
        ("usual", ADULT, (12, 25), (28, 30)),
        # Up to 12 over the limit, but no adult breathes more than twice 20.
        ("over", ADULT, (31, 40), (31, 32)),
        # At rest 18 to 30, a quarter more 37.5. JumpSTART: under 15 or over 45 is immediate.
        ("usual", CHILD, (18, 38), (15, 17)),
        # Up to 19 over the limit, but at this age no more than 1.6 times 30.
        ("over", CHILD, (46, 48), (46, 47)),
        # At rest 24 to 40, a quarter more is 50, over the limit; 1.6 times 40 is 64.
        ("usual", SMALL, (24, 45), (43, 45)),
        ("over", SMALL, (46, 64), (46, 47)),
        # In shock: from the most at rest to a quarter over it, 20 to 25 and 30 to 37.5.
        ("raised", ADULT, (20, 25), (28, 30)),
        ("raised", CHILD, (30, 38), (43, 45)),
        # At rest up to 40 and up to 60: no more than the limit, from four below it.
        ("raised", SMALL, (40, 45), (43, 45)),
        ("raised", INFANT, (41, 45), (43, 45)),
        # Twelve over START's limit, and 19 over JumpSTART's, where the age leaves room for it:
        # 1.6 times 30 at eleven, and an infant who breathes 60 at rest.
        ("over", ELEVEN, (31, 42), (31, 32)),
        ("over", INFANT, (46, 64), (46, 47)),
        ("agonal", ADULT, (4, 8), (4, 8)),
        ("slowed", ADULT, (10, 20), (10, 20)),
        ("slowed", CHILD, (16, 28), (16, 28)),
    ],
)
def test_breaths_are_drawn_from_the_range_that_is_theirs_by_hand(
    kind: str, whose: Whose, near: tuple[int, int], beside: tuple[int, int]
) -> None:
    """Away from the limit of the chart, and within two breaths of it. Ours, no source."""
    assert rate_range(kind, whose, is_near=False) == near
    assert rate_range(kind, whose, is_near=True) == beside


@pytest.mark.parametrize(
    ("has_pulse", "drawn", "least", "most"),
    # The least of an adult is 90 mmHg: without a pulse 75 to 95 in 100 of it, with one up to 115.
    [(False, 120.0, 67.5, 85.5), (True, 60.0, 90.0, 103.5)],
)
def test_the_pressure_is_moved_to_where_the_pulse_leaves_room(
    drawn: float, least: float, most: float, *, has_pulse: bool
) -> None:
    """And a heart that goes on without breath beats 40 to 60 times a minute. Ours, no source."""
    found = {"rate": 8, "pulse": has_pulse, "avpu": "A"}
    low, high = (fitting_signs({"sbp": drawn}, found, ADULT, Fixed(share)) for share in (0.0, 1.0))
    assert (low["sbp"], high["sbp"]) == pytest.approx((least, most))
    assert (low["hr"], high["hr"]) == (40, 60)


def test_a_thing_of_two_and_a_half_kilograms_is_heavy_and_a_lighter_one_loose() -> None:
    """It is asked for beside the bags; what is lighter is taken by the way."""
    box = Compartment("A", "Box", face="curb", rect=Rect(0, 0, 4, 4))
    stock = tuple(
        StockLine("A", f"{kg} kg", 1, weight_kg=Decimal(kg), category="immobilisation")
        for kg in ("1.3", "2.4", "2.5")
    )
    layout = Layout(name="Cart", slug="cart", compartments=(box,), stock=stock, points=())
    keys = {line.key for line in stock}
    assert {each.name for each in carried_of(layout, (), keys)} == {"2.5 kg"}
    assert loose_in(layout, ()) == {"1.3 kg", "2.4 kg"}


def test_patients_are_4_to_20_m_off_the_curb_side_or_one_in_three_the_rear() -> None:
    """As the guide says; of 300 calls 100 within four times the spread of that share, 33."""
    crash = call_types()["multi-vehicle"]
    calls = [make_incident(crash, world(), seed=f"{n}", count=1).call for n in range(300)]
    stands = [stands_of(each) for each in calls]
    assert {each.metres for each in stands} == {4, 6, 8, 12, 20}
    sides = Counter(each.side for each in stands)
    assert set(sides) == {"curb", "rear"}
    assert 67 <= sides["rear"] <= 133


@pytest.mark.parametrize(
    ("difficulty", "patients", "may_be"), [(2, 4, False), (3, 3, False), (3, 4, True)]
)
def test_crews_are_short_from_the_third_level_and_four_patients_on(
    difficulty: int, patients: int, *, may_be: bool
) -> None:
    """Half the calls then; the prompt says so by SALT, as the answer rests on it."""
    spec = RecipeSpec(
        "sort",
        (("triage", 0),),
        patients_least=patients,
        patients_most=patients,
        difficulty=difficulty,
    )
    types, salt = [call_types()["multi-vehicle"]], Sorting(SALT_FAMILY)
    calls = islice(sorted_calls(spec, types, world(), salt, seed=1), 40)
    short = sum("short" in str(each.text) for call in calls for each in sorts_of(call)[:1])
    # Of 40 a half is 20, and four times the spread is 13.
    assert (7 <= short <= 33) == may_be
    assert may_be or not short
