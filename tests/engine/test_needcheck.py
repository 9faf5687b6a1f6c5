"""What is given through a line needs the line, and what has sizes follows the age."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from drills.engine.calls import (
    MUST,
    NEEDLESS,
    USEFUL,
    AgeBand,
    CallNeed,
    CallType,
    CallWorld,
    Problem,
    Profile,
    State,
)
from drills.engine.needcheck import unwhole_of
from drills.engine.together import AIRWAY, PARTS, SIZED, TOGETHER
from tests.engine.fixture_world import call_types, world

NEEDS = json.loads((Path(__file__).parents[2] / "fixtures" / "needs.json").read_text("utf-8"))
WORLD = CallWorld(
    bands={
        "infant": AgeBand("infant", 0, 1, "infant"),
        "school": AgeBand("school", 6, 11, "child"),
        "adult": AgeBand("adult", 18, 65, "adult"),
    },
    problems={
        "shock": Problem(
            "shock",
            "Shock",
            tuple(State(bad, "Grey", ("infant", "school", "adult"), {}) for bad in (1, 2, 3)),
            (),
        )
    },
    places=(),
    roads=(),
)


def a_call(*needs: CallNeed, bands: tuple[str, ...] = ("adult",), **other: object) -> CallType:
    shares = dict.fromkeys(bands, 1.0)
    profile = Profile("shock", shares, (None, None), 0.5, True, 1, (2,))
    return CallType("shock", "Shock", 1, 1, (), (), (profile,), needs, **other)  # type: ignore[arg-type]  # made for a test


def need(key: str, grade: str = MUST, size: str = "any", per: str = "patient") -> CallNeed:
    return CallNeed(key, grade, 1, per, name=key.capitalize(), size=size)


LINE = (need("iv-catheter-18", size="adult"), need("iv-start-kit"))


@pytest.mark.parametrize("slug", sorted(call_types()))
def test_every_call_type_that_comes_with_the_product_is_whole(slug: str) -> None:
    """For everybody whom it may bring, must-have and useful alike."""
    assert unwhole_of(call_types()[slug], world()) == ()


def test_fluid_takes_a_line_its_start_kit_and_a_set() -> None:
    """Each is told on its own, with whom it is for; with all of them the fluid can run."""
    fluid = need("saline-1000")
    assert unwhole_of(a_call(fluid), WORLD) == (
        "Saline-1000 (must) goes with IV catheter or IO needle, which is not asked for as "
        "strongly: Shock, moderate, of adult size.",
        "Saline-1000 (must) goes with IV set, which is not asked for as strongly: "
        "Shock, moderate, of adult size.",
    )
    bare = unwhole_of(a_call(fluid, LINE[0], need("drip-set-10")), WORLD)
    assert [each.split(",")[0] for each in bare] == ["Iv-catheter-18 (must) goes with IV start kit"]
    assert unwhole_of(a_call(fluid, *LINE, need("drip-set-60")), WORLD) == ()
    bone = (need("io-needle-adult", size="adult"), need("io-driver"))
    assert unwhole_of(a_call(fluid, *bone, need("drip-set-10")), WORLD) == ()


def test_a_must_have_is_not_given_by_what_is_merely_useful() -> None:
    """The other way round is whole, and what is needless counts for nothing."""
    fluid, tubing = need("saline-1000"), need("drip-set-10", USEFUL)
    assert unwhole_of(a_call(fluid, *LINE, tubing), WORLD)
    assert unwhole_of(a_call(need("saline-1000", USEFUL), *LINE, tubing), WORLD) == ()
    assert unwhole_of(a_call(need("saline-1000", NEEDLESS)), WORLD) == ()
    assert unwhole_of(a_call(fluid, *LINE, need("drip-set-10", NEEDLESS)), WORLD)


def test_what_is_asked_for_one_patient_gives_nothing_to_another() -> None:
    """The set of those who are worse off is not that of everybody."""
    worse = CallNeed("drip-set-10", MUST, 1, "patient", severities=(3,))
    assert unwhole_of(a_call(need("saline-1000"), *LINE, worse), WORLD)


def test_a_drug_may_have_several_ways_in_and_takes_a_syringe() -> None:
    """Midazolam goes into the nose, the muscle or a line; what comes in its syringe takes none."""
    for way in (need("nasal-atomiser"), need("needle-set")):
        assert unwhole_of(a_call(need("midazolam"), way, need("syringe-3")), WORLD) == ()
    assert len(unwhole_of(a_call(need("midazolam")), WORLD)) == 2
    assert unwhole_of(a_call(need("epinephrine-syringe"), *LINE), WORLD) == ()


def asleep(points: tuple[int, int]) -> CallWorld:
    """The world in which whoever is in shock has so many points of the coma scale."""
    states = tuple(State(bad, "Grey", ("adult",), {"gcs": points}) for bad in (1, 2, 3))
    return replace(WORLD, problems={"shock": Problem("shock", "Shock", states, ())})


KEEPS_AN_AIRWAY = (
    need("bag-valve-mask-adult", size="adult"),
    need("suction-hand"),
    need("nasopharyngeal-airway-set"),
    need("oxygen-cylinder-portable"),
    need("oxygen-regulator-portable"),
)


@pytest.mark.parametrize("at", range(4))
def test_who_answers_nothing_has_all_that_keeps_the_airway(at: int) -> None:
    """As a must-have, each of the four; with one left out, or merely useful, it is told."""
    world_of = asleep((4, 8))
    assert unwhole_of(a_call(*KEEPS_AN_AIRWAY), world_of) == ()
    one = KEEPS_AN_AIRWAY[at]
    others = tuple(each for each in KEEPS_AN_AIRWAY if each is not one)
    for needs in (others, (*others, replace(one, grade=USEFUL))):
        (words,) = [each for each in unwhole_of(a_call(*needs), world_of) if "8 of the" in each]
        assert words.endswith("is no must-have: Shock, moderate, of adult size.")
    assert not any("8 of the" in each for each in unwhole_of(a_call(*others), asleep((4, 9))))


@pytest.mark.parametrize("lacking", ["oxygen-cylinder-portable", "oxygen-regulator-portable"])
def test_who_is_ventilated_by_bag_has_oxygen_as_surely(lacking: str) -> None:
    """A bag without it gives air; of the bag that is merely useful nothing is asked."""
    bag = need("bag-valve-mask-adult", size="adult")
    oxygen = [need("oxygen-cylinder-portable"), need("oxygen-regulator-portable")]
    weaker = [replace(e, grade=USEFUL) if e.need == lacking else e for e in oxygen]
    assert unwhole_of(a_call(bag, *oxygen), WORLD) == ()

    (words,) = [each for each in unwhole_of(a_call(bag, *weaker), WORLD) if "air" in each]

    assert words.startswith("A bag-valve-mask (must) goes with oxygen")
    assert not any("air" in e for e in unwhole_of(a_call(replace(bag, grade=USEFUL)), WORLD))


@pytest.mark.parametrize("need_of", ["nebuliser", "bp-cuff", "cervical-collar"])
def test_a_child_is_not_given_what_fits_an_adult(need_of: str) -> None:
    """Asked for everybody it fits some alone; asked for adults alone the child has nothing."""
    oxygen = (need("oxygen-cylinder-portable"), need("oxygen-regulator-portable"))
    bands, adult = ("adult", "school"), f"{need_of}-adult"
    child = "nebuliser-mask-child" if need_of == "nebuliser" else f"{need_of}-child"
    whom = "Shock, moderate, of child size."
    assert unwhole_of(a_call(need(adult), *oxygen, bands=bands), WORLD) == (
        f"{adult.capitalize()} fits adult size alone: {whom}",
        f"Nothing like {adult.capitalize()} (must) is asked for in another size: {whom}",
    )
    for_adults = need(adult, size="adult")
    assert unwhole_of(a_call(for_adults, *oxygen, bands=bands), WORLD) == (
        f"Nothing like {adult.capitalize()} (must) is asked for in another size: {whom}",
    )
    both = (for_adults, need(child, size="child"))
    assert unwhole_of(a_call(*both, *oxygen, bands=bands), WORLD) == ()


def test_who_is_too_small_for_any_of_a_kind_lacks_nothing() -> None:
    """No collar fits an infant, and no CPAP a child."""
    collars = (
        need("cervical-collar-adult", size="adult"),
        need("cervical-collar-child", size="child"),
    )
    assert unwhole_of(a_call(*collars, bands=("adult", "school", "infant")), WORLD) == ()


def test_the_tables_speak_of_needs_that_are_there() -> None:
    """Each part has needs, each need that goes with another and each that has a size is one."""
    keys = {each["fields"]["key"] for each in NEEDS}
    assert {key for part in PARTS.values() for key in part} <= keys
    assert set(SIZED) <= keys
    for key, rows in TOGETHER.items():
        assert key in keys
        for row in rows:
            assert set(row.any_of) <= keys
            assert key not in row.any_of
    for each in AIRWAY:
        assert set(each.any_of) <= keys
    assert {size for row in SIZED.values() for size in row.sizes} == {"infant", "child", "adult"}


def test_every_medicine_that_is_injected_says_by_what() -> None:
    """Of the medicines of the reference data only those are left out that go by mouth, spray or an
    injector of their own."""
    medicines = {
        each["fields"]["key"] for each in NEEDS if each["fields"]["category"] == "medicines"
    }
    assert medicines - set(TOGETHER) == {
        "acetaminophen-liquid",
        "activated-charcoal",
        "aspirin-81",
        "controlled-medicine-log",
        "epinephrine-autoinjector-adult",
        "epinephrine-autoinjector-child",
        "glucagon-kit",
        "naloxone-nasal-spray",
        "nitroglycerin-tablets",
        "ondansetron-tablet",
        "oral-glucose",
    }
