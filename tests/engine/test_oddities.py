"""A thousand calls of every type, and nothing odd in them; what is odd is seen when it is there."""

from dataclasses import replace

import pytest

from drills.engine.calls import MUST, Asked, Call
from drills.engine.chance import seeded
from drills.engine.dispatch import make_call
from drills.engine.incidents import Sorting, make_incident
from drills.engine.oddities import contradictions_of, oddities_of, unaccounted
from drills.engine.triage import SALT_FAMILY
from drills.engine.wanted import Wanted
from tests.engine.fixture_world import call_types, world

TYPES = list(call_types().values())
MANY = ("multi-vehicle", "bus-rollover", "structure-fire", "carbon-monoxide")


def test_a_thousand_calls_have_nothing_odd_in_them() -> None:
    """Signs that a body of the age may have, whole sentences, nothing counted or said twice."""
    found = [
        (call.call_type, words)
        for number in range(1000)
        for call in [make_call(TYPES[number % len(TYPES)], world(), seeded(f"odd:{number}"))]
        for words in oddities_of(call, world().bands)
    ]

    assert found == []


def test_hundreds_of_incidents_have_nothing_odd_in_them() -> None:
    """What is found of everybody, the signs that are shown and the category go together."""
    found = []
    for number in range(240):
        incident = make_incident(
            call_types()[MANY[number % 4]],
            world(),
            seed=f"odd:{number}",
            count=6,
            sorting=Sorting(SALT_FAMILY) if number % 2 else Sorting(),
            level=1 + number % 5,
        )
        found += [*oddities_of(incident.call, world().bands), *contradictions_of(incident)]

    assert found == []


def sound() -> Call:
    """A call of one grown patient."""
    return make_call(call_types()["chest-pain"], world(), seeded("sound"))


def shown(call: Call, **signs: str) -> Call:
    """The call with other signs of its patient."""
    patient = call.patients[0]
    told = dict(patient.signs) | {key.replace("_", " "): value for key, value in signs.items()}
    return replace(call, patients=(replace(patient, signs=tuple(told.items())),))


@pytest.mark.parametrize(
    ("dispatch", "fault"),
    [
        ("A man at at home. He is pale.", "a word comes twice"),
        ("A man at {place}. He is pale.", "a hole is not filled"),
        ("A crash, 1 patients in all.", "one is counted as many"),
        ("A crash at the gate..", "a sign or a gap comes twice"),
        ("A crash  at the gate.", "a sign or a gap comes twice"),
        ("It is a 8-year-old girl.", "an article does not fit"),
        ("It is an 12-year-old girl.", "an article does not fit"),
        ("A crash. two are hurt.", "a sentence begins small"),
    ],
)
def test_a_fault_in_the_text_is_seen(dispatch: str, fault: str) -> None:
    """By the sentence itself, with what it is."""
    call = replace(sound(), dispatch=dispatch)

    (told,) = oddities_of(call, world().bands)

    assert fault in told
    assert dispatch in told


@pytest.mark.parametrize(
    "dispatch",
    [
        "It is an 8-year-old girl at 12 Main Street.",
        "A 12-year-old boy. An 11-month-old girl. One patient.",
        "They had what they had.",
    ],
)
def test_a_text_without_a_fault_is_left_alone(dispatch: str) -> None:
    """Figures and articles that go together are no fault."""
    assert oddities_of(replace(sound(), dispatch=dispatch), world().bands) == ()


@pytest.mark.parametrize(
    ("signs", "words"),
    [
        ({"Systolic": "57 mmHg", "Coma_scale": "13"}, "systolic 57 of 90 at least"),
        ({"Pulse": "none", "Coma_scale": "9"}, "no pulse, and a coma scale of 9"),
        ({"Saturation": "103 %"}, "spo2 103; 40 to 100"),
        ({"Pulse": "225"}, "hr 225; 0 to 211"),
        ({"Breathing": "64"}, "rr 64; 0 to 41"),
    ],
)
def test_a_sign_that_cannot_be_is_seen(signs: dict[str, str], words: str) -> None:
    """Of a body, of the age, or together with another."""
    told = oddities_of(shown(sound(), **signs), world().bands)

    assert any(words in each for each in told)


def test_low_and_hardly_awake_is_no_oddity() -> None:
    """Somebody in shock who does not obey may have as little."""
    call = shown(sound(), Systolic="57 mmHg", Coma_scale="8", Pulse="130")

    assert not any("systolic" in each for each in oddities_of(call, world().bands))


def test_findings_that_deny_a_sign_are_seen() -> None:
    """A pulse where the pressure is low, another rate than is shown, obeying out of a coma."""
    incident = make_incident(call_types()["multi-vehicle"], world(), seed="one", count=6)
    casualty = next(each for each in incident.casualties if each.findings["obeys"])

    def told(**signs: str) -> str:
        shown_signs = dict(casualty.patient.signs) | {
            key.replace("_", " "): value for key, value in signs.items()
        }
        patient = replace(casualty.patient, signs=tuple(shown_signs.items()))
        others = replace(incident, casualties=(replace(casualty, patient=patient),))
        return " ".join(contradictions_of(others))

    assert told() == ""
    assert "and 99 are shown" in told(Breathing="99")
    assert "obeys, and the coma scale is 4" in told(Coma_scale="4")
    assert "a pulse at the wrist, and systolic 40" in told(Systolic="40 mmHg")


def test_needs_are_aboard_or_told_to_be_short() -> None:
    """Of two that are asked for one is aboard: one is short, and nothing else will do."""
    asked = [Asked("splint", MUST, 2)]

    def told(*wanted: Wanted) -> tuple[str, ...]:
        return unaccounted(asked, wanted)

    assert told(Wanted("splint", MUST, 1, short=1, things=("splint",))) == ()
    assert told(Wanted("splint", MUST, 0, short=2)) == ()
    assert told() == ("splint is asked for and not told.",)
    assert told(Wanted("splint", MUST, 1, things=("splint",))) == ("splint: 1 and 0 short of 2.",)
    assert told(Wanted("splint", MUST, 2)) == ("splint: 2 to bring, and nothing serves.",)
