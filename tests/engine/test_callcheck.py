"""Whether a call type is whole, and what a layout lacks for it."""

from dataclasses import replace

import pytest

from drills.engine.callcheck import faults_of, idle_of
from drills.engine.calls import (
    AgeBand,
    CallNeed,
    CallType,
    CallWorld,
    Phrase,
    Problem,
    Profile,
    State,
)
from drills.engine.coverage import (
    ABSENT,
    BROUGHT,
    BROUGHT_NEEDS,
    FEW,
    SERVED,
    WAITING,
    asked_at_most,
    coverage_of,
    missing_most,
)
from drills.engine.points import points_of
from tests.layouts import practice_rig
from tests.reference import fixture

WORLD = CallWorld(
    bands={
        "school": AgeBand("school", 6, 11, "child"),
        "adult": AgeBand("adult", 18, 65, "adult"),
    },
    problems={
        key: Problem(key, key.capitalize(), (State(2, "Dark blood", ("school", "adult"), {}),), ())
        for key in ("bleed", "break")
    },
    places=("Tea Chest",),
    roads=(),
)


def profile(problem: str = "bleed", **other: object) -> Profile:
    given: dict[str, object] = {"shares": {"adult": 1.0}, "ages": (None, None)}
    given |= {"female_share": 0.5, "is_always": False, "weight": 1.0, "severities": (2,)}
    return Profile(problem=problem, **(given | other))  # type: ignore[arg-type]  # made for a test


def a_call(**other: object) -> CallType:
    given: dict[str, object] = {
        "least": 1,
        "most": 3,
        "road_kinds": (),
        "phrases": (Phrase("{patient} hurt."),),
        "profiles": (profile(), profile("break", shares={"school": 1.0})),
        "needs": (CallNeed("gauze", "must", 2, "patient"),),
    }
    return CallType(slug="bleeding", name="Bleeding", **(given | other))  # type: ignore[arg-type]  # as above


def test_a_whole_call_type_has_no_fault() -> None:
    """Everybody can be described, spoken of and asked for, and nothing is idle."""
    assert faults_of(a_call(), WORLD) == ()
    assert idle_of(a_call(), WORLD) == ()


@pytest.mark.parametrize(
    ("other", "fault"),
    [
        ({"profiles": ()}, "It has no patients to draw."),
        ({"phrases": ()}, "It has no phrases."),
        ({"needs": (CallNeed("gauze", "useful", 1, "call"),)}, "It has no must-have."),
        (
            {"most": 1, "profiles": (profile(is_always=True),) * 2},
            "2 patients are always there, and there are at most 1.",
        ),
        ({"profiles": (profile("cough"),)}, "There is no problem cough."),
        ({"profiles": (profile(shares={"old": 1.0}),)}, "There is no age band old."),
        (
            {"profiles": (profile(severities=(1, 3)),)},
            "Bleed has no findings for adult at the severities of its patients.",
        ),
        (
            {"profiles": (profile(ages=(65, None)),)},
            "Bleed: nobody of adult is of the ages that its patients have.",
        ),
        (
            {"phrases": (Phrase("{patient} hurt.", problems=("bleed",)),)},
            "No phrase always fits break of severity 2 in the age band school.",
        ),
        (
            {"phrases": (Phrase("{patient} hurt.", age_bands=("school",)),)},
            "No phrase always fits bleed of severity 2 in the age band adult.",
        ),
        (
            {"phrases": (Phrase("{patient} on {road}."),)},
            "A phrase names a road, and no kind of road is said.",
        ),
        (
            {"phrases": (Phrase("{patient} hurt.", severities=(1, 3)),)},
            "No phrase always fits bleed of severity 2 in the age band adult.",
        ),
        (
            {"phrases": (Phrase("Two hurt, first is {patient}."),)},
            "No phrase always fits bleed of severity 2 in the age band adult.",
        ),
        # A phrase that names nobody is of all who are there, who may be of another age.
        (
            {"phrases": (Phrase("{count} adults hurt.", age_bands=("adult",)),)},
            "No phrase always fits bleed of severity 2 in the age band adult.",
        ),
    ],
)
def test_what_keeps_a_call_from_being_drawn_is_said(other: dict[str, object], fault: str) -> None:
    """Each fault is a sentence of its own."""
    assert fault in faults_of(a_call(**other), WORLD)


def test_of_one_patient_a_phrase_may_speak_without_naming_them() -> None:
    """Who is alone is all who are there."""
    phrases = (
        Phrase("One adult hurt.", age_bands=("adult",)),
        Phrase("One child hurt.", age_bands=("school",)),
    )
    assert faults_of(a_call(phrases=phrases, most=1), WORLD) == ()
    assert len(faults_of(a_call(phrases=phrases, most=2), WORLD)) == 2


def test_a_phrase_of_two_is_enough_where_there_are_always_two() -> None:
    """Where there may be one or three it says nothing of them."""
    phrases = (Phrase("Two hurt, first is {patient}."),)
    assert faults_of(a_call(phrases=phrases, least=2, most=2), WORLD) == ()
    assert faults_of(a_call(phrases=phrases, least=1, most=2), WORLD)


def test_who_is_always_there_is_spoken_of_first() -> None:
    """Whoever is drawn beside them needs no phrase."""
    profiles = (profile(is_always=True), profile("break"))
    phrases = (Phrase("{patient} bleeds.", problems=("bleed",)),)
    assert faults_of(a_call(profiles=profiles, phrases=phrases), WORLD) == ()


def test_what_no_call_uses_is_told_apart() -> None:
    """A need of a problem, size or severity that none of its patients has is idle and no fault."""
    needs = (
        CallNeed("gauze", "must", 1, "call"),
        CallNeed("cap", "must", 1, "patient", size="infant"),
        CallNeed("splint", "must", 1, "patient", severities=(3,)),
        CallNeed("mask", "must", 1, "patient", problem="smoke"),
    )
    phrases = (
        Phrase("{patient} hurt."),
        Phrase("Fire.", problems=("smoke",)),
        Phrase("Dying.", severities=(3,)),
    )
    call_type = a_call(needs=needs, phrases=phrases)
    assert faults_of(call_type, WORLD) == ()
    assert [each.split()[0] for each in idle_of(call_type, WORLD)] == [
        *("The", "The", "cap", "splint", "mask")
    ]


def asked(need: CallNeed, **other: object) -> int:
    (found,) = asked_at_most(a_call(needs=(need,), **other), WORLD)
    return found.quantity


def test_the_most_that_can_be_asked_for_counts_whom_a_need_fits() -> None:
    """No problem comes twice while another is left, so three patients hold two of one at most."""
    assert asked(CallNeed("gauze", "must", 2, "patient")) == 6
    assert asked(CallNeed("gauze", "must", 2, "call")) == 2
    assert asked(CallNeed("gauze", "must", 2, "patient", problem="bleed")) == 4
    assert asked(CallNeed("gauze", "must", 1, "patient", size="child")) == 2
    assert asked(CallNeed("gauze", "must", 1, "patient"), most=1) == 1


def test_who_is_always_there_comes_once() -> None:
    """The others share the room that is left."""
    profiles = (profile(is_always=True), profile("break"))
    bleeding = CallNeed("gauze", "must", 1, "patient", problem="bleed")
    assert asked(bleeding, profiles=profiles) == 1
    assert asked(replace(bleeding, problem="break"), profiles=profiles) == 2
    assert asked(bleeding, profiles=profiles[:1]) == 3


def test_rows_of_one_need_never_ask_for_more_than_every_patient_takes() -> None:
    """A row for each size adds up, to no more than there are patients."""
    needs = tuple(CallNeed("pads", "must", 1, "patient", size=each) for each in ("adult", "child"))
    (found,) = asked_at_most(a_call(needs=needs), WORLD)
    assert found.quantity == 3


def test_the_strongest_grade_is_what_is_asked_at_most() -> None:
    """As in a call, a weaker row of the same need says nothing, and needless asks for nothing."""
    needs = (
        CallNeed("gauze", "useful", 9, "call"),
        CallNeed("gauze", "must", 1, "call"),
        CallNeed("cap", "needless", 1, "call"),
    )
    (found,) = asked_at_most(a_call(needs=needs), WORLD)
    assert (found.need, found.grade, found.quantity) == ("gauze", "must", 1)


def test_what_is_not_aboard_is_told_apart_from_too_few() -> None:
    """With what serves instead counted, and what waits for its tie named."""
    rig = practice_rig()
    needs = (
        CallNeed("tourniquet-limb", "must", 9, "call"),
        CallNeed("chest-seal", "must", 1, "call"),
        CallNeed("collar", "must", 1, "call", instead=("board",)),
        CallNeed("cap", "useful", 1, "call"),
    )
    ties = {"tourniquet": "tourniquet-limb", "splint": "board"}
    found = coverage_of(
        a_call(needs=needs), WORLD, rig, ties, suggested={"gauze roll": "chest-seal"}
    )
    par = sum(line.par for line in rig.stock if line.key == "tourniquet")
    assert [(each.need, each.aboard, each.asked) for each in found.few] == [
        ("tourniquet-limb", par, 9)
    ]
    assert [(each.need, each.waiting) for each in found.absent] == [("chest-seal", ("gauze roll",))]
    assert [each.need for each in found.useful] == ["cap"]
    assert found.musts == (*found.few, *found.absent)


def test_what_a_suggested_tie_alone_stands_for_waits_and_is_not_missing() -> None:
    rig, needs = practice_rig(), (CallNeed("chest-seal", "must", 1, "call"),)
    waiting = coverage_of(
        a_call(needs=needs), WORLD, rig, {}, suggested={"gauze roll": "chest-seal"}
    )
    none = coverage_of(a_call(needs=needs), WORLD, rig, {}, suggested={"gauze roll": "other"})

    assert (waiting.state, none.state) == (WAITING, ABSENT)
    few = (*needs, CallNeed("tourniquet-limb", "must", 99, "call"))
    ties = {"tourniquet": "tourniquet-limb"}
    suggested = {"gauze roll": "chest-seal"}
    found = coverage_of(a_call(needs=few), WORLD, rig, ties, suggested=suggested)
    assert found.state == FEW


def test_what_the_rig_that_transports_brings_is_no_lack_of_one_that_does_not() -> None:
    """Of a rig with a cot it is one, and so is whatever else is missing of one without."""
    with_cot = practice_rig()
    doors = tuple(each for each in points_of(with_cot) if each.kind == "door")
    without = replace(with_cot, points=doors)
    monitor = CallNeed("monitor-defibrillator", "must", 1, "call")
    call = a_call(needs=(monitor,))
    both = a_call(needs=(monitor, CallNeed("chest-seal", "must", 1, "call")))

    assert coverage_of(call, WORLD, with_cot, {}).state == ABSENT
    found = coverage_of(call, WORLD, without, {})
    assert (found.state, found.musts) == (BROUGHT, ())
    assert [each.need for each in found.brought] == ["monitor-defibrillator"]
    assert [each.need for each in coverage_of(both, WORLD, without, {}).absent] == ["chest-seal"]
    one = replace(call, needs=(replace(monitor, quantity=99),))
    aboard = coverage_of(one, WORLD, without, {"splint": "monitor-defibrillator"})
    assert aboard.state == FEW


def test_of_too_few_it_is_said_for_how_many_patients_they_are_enough() -> None:
    rig = practice_rig()
    par = sum(line.par for line in rig.stock if line.key == "tourniquet")
    ties = {"tourniquet": "tourniquet-limb"}
    call = replace(a_call(needs=(CallNeed("tourniquet-limb", "must", 1, "patient"),)), least=1)

    found = coverage_of(replace(call, most=par + 3), WORLD, rig, ties)
    assert (found.state, found.enough_for, found.most) == (FEW, par, par + 3)
    assert coverage_of(replace(call, most=par), WORLD, rig, ties).state == SERVED
    heavy = replace(call, needs=(CallNeed("tourniquet-limb", "must", par + 1, "call"),))
    assert coverage_of(heavy, WORLD, rig, ties).enough_for == 0


def test_what_stands_in_the_way_of_most_call_types_comes_first() -> None:
    seal, cap = CallNeed("seal", "must", 1, "call"), CallNeed("cap", "must", 1, "call")
    calls = [a_call(needs=(seal, cap)), a_call(needs=(cap,))]
    found = [coverage_of(each, WORLD, practice_rig(), {}) for each in calls]

    assert [(lack.need, count) for lack, count in missing_most(found)] == [("cap", 2), ("seal", 1)]


def test_every_need_that_is_brought_is_one_of_the_reference_data() -> None:
    assert set(BROUGHT_NEEDS) <= {each["key"] for each in fixture("needs.json")}


def test_a_pack_counts_by_what_it_holds() -> None:
    """Nine of a need are aboard where one thing of it is a pack of nine."""
    rig, needs = practice_rig(), (CallNeed("pads", "must", 9, "call"),)
    ties = {"splint": "pads"}
    par = sum(line.par for line in rig.stock if line.key == "splint")
    assert par < 9
    assert coverage_of(a_call(needs=needs), WORLD, rig, ties).musts
    assert not coverage_of(a_call(needs=needs), WORLD, rig, ties, holds={"splint": 9}).musts
