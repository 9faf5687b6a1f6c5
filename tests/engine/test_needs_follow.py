"""What is a must-have follows what is found of a patient, and goes with whoever it is for."""

import re

import pytest

from drills.engine.arriving.crews import crew_of
from drills.engine.arriving.handed import handed_over
from drills.engine.calls import MUST, NEEDLESS, USEFUL, Call, needs_for
from drills.engine.chance import seeded
from drills.engine.dispatch import make_call
from drills.engine.incidents import make_incident
from drills.engine.incidents.asking import sorted_call, treated_of, turns_of
from tests.engine.fixture_world import call_types, world

STOPS_A_FIT = {"midazolam", "nasal-atomiser", "syringe-3"}
STILL = re.compile(r"\bjerk(s|ing)\b|still (jerks|twitch)|twitches|not clear between")
OVER = re.compile(r"over now|stopped by itself|one short fit")
MOUTH = re.compile(r"blood and teeth|mouth full of blood|noisy breaths|one pupil wide")


def seizures(many: int) -> list[Call]:
    kind = call_types()["seizure"]
    plain = [make_call(kind, world(), seeded(f"fit:{at}")) for at in range(many)]
    met = [make_incident(kind, world(), seed=f"fit:{at}", count=1) for at in range(many)]
    return [*plain, *(each.call for each in met)]


def test_what_stops_a_fit_is_a_must_while_it_lasts_and_in_hand_once_it_is_over() -> None:
    """Common teaching: nothing is given to stop what has stopped; magnesium is for eclampsia."""
    seen = {MUST: 0, USEFUL: 0}
    for call in seizures(150):
        (patient,) = call.patients
        grades = {each.need: each.grade for each in call.needs}
        findings = patient.findings.casefold()
        if patient.problem == "eclampsia":
            assert grades["magnesium-sulfate"] == MUST
        else:
            wanted = MUST if STILL.search(findings) else USEFUL
            assert (wanted == USEFUL) == bool(OVER.search(findings)), findings
            assert {grades[need] for need in STOPS_A_FIT} == {wanted}, findings
            seen[wanted] += 1
    assert min(seen.values()) > 30


@pytest.mark.parametrize("slug", ["bus-rollover", "multi-vehicle"])
def test_suction_goes_with_who_cannot_keep_the_airway_clear(slug: str) -> None:
    """Also where another crew has theirs: the call's own is in that crew's hands."""
    seen = 0
    for at in range(60):
        kind = call_types()[slug]
        call = make_incident(kind, world(), seed=f"mouth:{at}", count=6).call
        for patient in call.patients:
            if patient.severity == 3 and MOUTH.search(patient.findings.casefold()):
                seen += 1
                sure = handed_over(call, [patient.number]).certain
                assert "suction-unit-portable" in {each.need for each in sure}, patient.findings
    assert seen > 10


@pytest.mark.parametrize("slug", ["bus-rollover", "multi-vehicle", "carbon-monoxide"])
def test_a_second_crew_is_handed_nobody_who_is_dead(slug: str) -> None:
    """Though fewer are left than it has hands for."""
    dead = 0
    for at in range(40):
        kind = call_types()[slug]
        call = sorted_call(make_incident(kind, world(), seed=f"own:{at}", count=3), seed=f"{at}")
        crew = crew_of(call, 3, is_second=True, is_told=True, turns=turns_of(call))
        dead += len(call.patients) - len(treated_of(call))
        assert set(crew.own) <= set(treated_of(call))
        assert len(crew.own) == min(2, len(treated_of(call)))
    assert dead


ALWAYS_CARRIED = {
    *("oxygen-cylinder-portable", "oxygen-regulator-portable", "monitor-defibrillator", "cot"),
    *("suction-unit-portable", "stethoscope-adult", "gloves-exam", "radio-portable"),
    *("glucometer-kit",),
}
SIZED = ("bag-valve-mask", "bp-cuff")
# The wheels of a cot stop at the sand.
NEVER = {("offroad-rollover", "cot")}


@pytest.mark.parametrize("slug", sorted(call_types()))
def test_what_comes_to_every_patient_is_a_mistake_at_no_call(slug: str) -> None:
    """The baseline of every call by common practice, in the size of whoever is there; from memory,
    no source read."""
    for at in range(30):
        call = make_call(call_types()[slug], world(), seeded(f"always:{slug}:{at}"))
        asked = {each.need for each in call.needs if each.grade != NEEDLESS}
        for who in call.patients:
            always = ALWAYS_CARRIED | {f"{family}-{who.size}" for family in SIZED}
            assert {(slug, each) for each in always - asked} <= NEVER, who.findings


@pytest.mark.parametrize("slug", ["pesticide", "heat-illness"])
def test_what_stops_a_fit_is_a_must_for_who_jerks_alone(slug: str) -> None:
    """However bad the poison or the heat is: who is awake is given nothing against a fit."""
    kind, seen = call_types()[slug], {True: 0, False: 0}
    for at in range(80):
        plain = make_call(kind, world(), seeded(f"jerks:{at}"))
        met = make_incident(kind, world(), seed=f"jerks:{at}", count=1 + at % kind.most).call
        for call in (plain, met):
            for patient in call.patients:
                if ("Breathing", "none") in patient.signs:
                    continue
                grades = {e.need: e.grade for e in needs_for(call.needs, patient.number)}
                jerks = bool(re.search("jerk", patient.findings, re.IGNORECASE))
                if len(call.patients) == 1:  # of several the strongest grade stands for all
                    assert (grades.get("midazolam") == MUST) == jerks, patient.findings
                seen[jerks] += 1
    assert min(seen.values()) > 10


def test_who_is_merely_hot_is_not_packed_in_ice() -> None:
    """Six packs and a wet sheet are for a stroke of heat; cramps take shade and water."""
    kind, seen = call_types()["heat-illness"], set()
    for at in range(120):
        call = make_call(kind, world(), seeded(f"hot:{at}"))
        grades = {each.need: (each.grade, each.quantity) for each in call.needs}
        seen.add(call.patients[0].problem)
        is_stroke = call.patients[0].problem == "heat-stroke"
        assert grades["cold-pack"] == ((MUST, 6) if is_stroke else (USEFUL, 2))
        assert (grades["cooling-sheet"][0] == MUST) == is_stroke
        assert grades["thermometer-low-reading"][0] == MUST
    assert seen == {"heat-stroke", "heat-exhaustion"}


def test_a_girl_is_not_said_to_have_her_third_baby() -> None:
    kind, seen = call_types()["childbirth"], 0
    for at in range(150):
        call = make_call(kind, world(), seeded(f"third:{at}"))
        if "third baby" in call.dispatch:
            seen += 1
            assert call.patients[0].age_y >= 18
    assert seen
