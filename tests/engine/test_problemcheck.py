"""What of a problem cannot be is said, and nothing of the problems that come with the product."""

from collections.abc import Mapping

import pytest

from drills.engine.calls import AgeBand, Problem, State, Vitals
from drills.engine.problemcheck import odd_in
from tests.engine.fixture_world import world

BANDS = {
    "infant": AgeBand("infant", 0.08, 1, "infant"),
    "preschool": AgeBand("preschool", 3, 6, "child"),
    "school": AgeBand("school", 6, 11, "child"),
    "adult": AgeBand("adult", 18, 65, "adult"),
    "older": AgeBand("older", 65, 95, "adult"),
}
SHOCKED = {"hr": (115, 134), "rr": (27, 33), "sbp": (70, 86), "gcs": (12, 14)}


def a_problem(
    findings: str = "Grey and wet with sweat",
    *,
    severity: int = 3,
    band: str = "adult",
    signs: Mapping[str, tuple[float, float]] = SHOCKED,
) -> Problem:
    """One state of one age."""
    states = (State(severity, findings, (band,), {}),)
    return Problem("bleed", "Bleeding", states, (Vitals(severity, band, signs),))


@pytest.mark.parametrize("key", sorted(world().problems))
def test_every_problem_that_comes_with_the_product_can_be(key: str) -> None:
    """Signs of the age, low or not low at every year of it, and words that fit them."""
    assert odd_in(world().problems[key], world().bands) == ()


def test_somebody_in_shock_can_be() -> None:
    """What the cases beneath change is right before it is changed."""
    assert odd_in(a_problem(), BANDS) == ()


@pytest.mark.parametrize(
    ("band", "signs", "said"),
    [
        ("older", {"sbp": (56, 76)}, "Severe, older: systolic pressure 56 to 76; at least 82"),
        ("older", {"sbp": (60, 76), "gcs": (3, 6)}, "at least 66 for this age"),
        ("school", {"sbp": (51, 70)}, "at least 62 for somebody awake of this age"),
        ("adult", {"sbp": (80, 95)}, "either under 90, which is low at this age, or from 90"),
        ("preschool", {"sbp": (70, 79)}, "either under 76, which is low at this age, or from 80"),
        ("older", {"sbp": (84, 112)}, "either under 110, which is low at this age, or from 110"),
        ("infant", {"rr": (80, 97), "sbp": (74, 104)}, "breaths 80 to 97; at most 81"),
        ("preschool", {"rr": (52, 63), "sbp": (89, 112)}, "breaths 52 to 63; at most 54"),
        ("adult", {"rr": (33, 45)}, "breaths 33 to 45; at most 40"),
        ("school", {"hr": (150, 201), "sbp": (97, 118)}, "pulse 150 to 201; at most 196"),
        ("adult", {"gcs": (2, 14)}, "coma scale 2 to 14; accepted is 3 to 15"),
        ("adult", {"hr": (134, 115)}, "pulse 134 to 115; accepted is 0 to 230, the lower first"),
    ],
)
def test_signs_that_no_body_of_the_age_has_are_said(
    band: str, signs: dict[str, tuple[float, float]], said: str
) -> None:
    """Each limit by one step over it, with the age and what would be accepted."""
    found = odd_in(a_problem(band=band, signs=SHOCKED | signs), BANDS)
    assert len(found) == 1
    assert said in found[0]


def test_mild_is_nearer_to_the_usual_than_severe() -> None:
    """Thirty breaths are met in shock and not with a bruise."""
    signs = SHOCKED | {"rr": (24, 30), "sbp": (105, 140)}
    assert odd_in(a_problem(signs=signs), BANDS) == ()
    assert (
        "at most 28 at this age in a mild state"
        in odd_in(a_problem(severity=1, signs=signs), BANDS)[0]
    )


@pytest.mark.parametrize(
    ("findings", "signs"),
    [
        ("No response, mottled", {}),
        ("Lies still, talks, thirsty", {"gcs": (3, 8)}),
        ("Confused, cold hands", {"gcs": (12, 15)}),
        ("Limp, no pulse", {}),
        ("Cold, slow weak pulse", {}),
        ("Grey, no breathing", {}),
        ("Hot trunk, shakes", {"temp": (35.0, 39.8)}),
        ("Shivers hard, fumbles", {"temp": (36.4, 37.2)}),
        ("Blue lips, froth", {"spo2": (92, 97)}),
    ],
)
def test_words_that_the_signs_deny_are_said(
    findings: str, signs: dict[str, tuple[float, float]]
) -> None:
    """Each word with a figure that does not go with it."""
    found = odd_in(a_problem(findings, signs=SHOCKED | signs), BANDS)
    assert len(found) == 1
    assert "with these words it is" in found[0]


def test_an_age_without_signs_is_said() -> None:
    """A state for two ages needs the signs of both."""
    states = (State(3, "Grey", ("adult", "older", "ancient"), {}),)
    problem = Problem("bleed", "Bleeding", states, (Vitals(3, "adult", SHOCKED),))
    assert odd_in(problem, BANDS) == (
        "Severe, older: no vital signs are given.",
        "Severe, ancient: there is no such age band.",
    )


def test_signs_without_breaths_are_said() -> None:
    """Pulse and breaths are the least that a patient is shown with."""
    found = odd_in(a_problem(signs={"hr": (60, 90), "sbp": (105, 140)}), BANDS)
    assert found == ("Severe, adult: no breaths.",)
