"""A patient of a call has one body: every question of the call speaks of that and no other."""

import json
import re
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from itertools import islice

import pytest

from drills.engine.ages import Age
from drills.engine.burns import RULE_OF_NINES, burned_area
from drills.engine.calls import Call, Patient, Phrase
from drills.engine.chance import seeded
from drills.engine.dispatch import make_call
from drills.engine.exercises import Exercise
from drills.engine.incidents import make_incident
from drills.engine.incidents.asking import sorted_call, treated_of
from drills.engine.incidents.tables import APPEARANCES, SEVERITY
from drills.engine.medicines import ENERGY, fits
from drills.engine.prompts import Prompt
from drills.engine.quantities import Quantity, kilograms, read_quantity
from drills.engine.weights import weight_at
from drills.engine.workplan import Works
from tests.engine.fixture_formulary import rules, stores
from tests.engine.fixture_world import call_types, world

GRADES = (1, 2, 3)
SEEDS = 4
# More of those whose supply is worked out from the body.
OF_BODIES = ("burns", "structure-fire", "cardiac-arrest-child")
MANY = (3, 6)
DOSES = 4
WEIGHTS = re.compile(r"\b[\d.,]+ (?:kg|lb)\b(?!/)")


def calls_of(slug: str, seed: int) -> Iterator[Call]:
    """A call of a type as it is drawn for kits, and one whose patients are sorted."""
    yield make_call(call_types()[slug], world(), seeded(f"one body:{slug}:{seed}"))
    count = MANY[seed % len(MANY)]
    incident = make_incident(call_types()[slug], world(), seed=f"one body:{seed}", count=count)
    yield sorted_call(incident, seed=f"one body:{seed}")


@cache
def asked() -> tuple[tuple[Call, Prompt], ...]:
    """What is worked out in many calls of every type, at every grade, doses and supply."""
    found: list[tuple[Call, Prompt]] = []
    for slug in call_types():
        for seed in range(SEEDS * (3 if slug in OF_BODIES else 1)):
            for at, call in enumerate(calls_of(slug, seed)):
                grade = GRADES[(seed + at) % len(GRADES)]
                works = Works(stores(), grade, seeded(f"works:{slug}:{seed}:{at}"))
                own = [each.number for each in call.patients]
                found += ((call, each) for each in islice(works.doses_of(call, own), DOSES))
                found += ((call, each) for each in works.supplies_of(call, treated_of(call)))
    return tuple(found)


def of_patients() -> Iterator[tuple[Call, Patient, Exercise]]:
    """The questions that are about somebody, with that patient as the call has them."""
    for call, prompt in asked():
        if prompt.patient and prompt.exercise:
            whose = next(each for each in call.patients if each.number == prompt.patient.number)
            yield call, whose, prompt.exercise


def kg(weight: str) -> Fraction:
    return kilograms(read_quantity(weight)).amount


def area_of(patient: Patient) -> Fraction:
    """By the rule of nines, of all that is burned."""
    age = Age(round(patient.age_y * 12))
    return burned_area(RULE_OF_NINES, age, dict.fromkeys(patient.burned, Fraction(1)))


def test_every_weight_is_that_of_the_patient() -> None:
    """In what is worked out, in what is told, and on the card beside it."""
    units: Counter[str] = Counter()
    for call, prompt in asked():
        if prompt.patient is None or prompt.exercise is None:
            continue
        whose = next(each for each in call.patients if each.number == prompt.patient.number)
        words = " ".join(fact.words for fact in prompt.exercise.facts)
        told = [json.loads(prompt.exercise.given).get("weight"), *WEIGHTS.findall(words)]
        for weight in filter(None, [*told, prompt.patient.weight]):
            units[weight[-2:]] += 1
            assert kg(weight) == kg(whose.weight), (whose, prompt.exercise)
    assert units["kg"] > 100
    assert units["lb"] > 100


def test_every_age_is_that_of_the_patient() -> None:
    ages = 0
    for _, whose, exercise in of_patients():
        given = json.loads(exercise.given)
        for fact in exercise.facts:
            if fact.label == "Patient":
                ages += 1
                assert fact.words == whose.who, exercise
        if "age" in given:
            assert given["age"] == str(Age(round(whose.age_y * 12))), exercise
    assert ages > 20


def test_every_burn_is_that_of_the_patient() -> None:
    """The area, the regions it is counted from, and the hours since: one fire, one time."""
    counted: Counter[str] = Counter()
    for call, whose, exercise in of_patients():
        given = json.loads(exercise.given)
        if exercise.topic != "burn":
            continue
        counted["burn"] += 1
        if "area" in given:
            counted["area"] += 1
            assert read_quantity(given["area"]) == Quantity(area_of(whose), "%"), exercise
        if "regions" in given:
            counted["regions"] += 1
            assert tuple(given["regions"].split("; ")) == whose.burned, exercise
            assert given["chart"] == RULE_OF_NINES
        if "since_injury" in given:
            counted["since"] += 1
            assert given["since_injury"] == f"{call.burned_h} h", exercise
    assert min(counted[each] for each in ("burn", "area", "regions", "since")) >= 3, counted


def test_a_burn_is_asked_of_the_kind_that_the_patient_has() -> None:
    """Nobody who was scalded is asked for as burned by current."""
    kinds: Counter[str] = Counter()
    for _, whose, exercise in of_patients():
        words = " ".join(fact.note for fact in exercise.facts)
        for kind in ("heat", "high-voltage current"):
            if f"burned by {kind}" in words:
                kinds[kind] += 1
                assert (kind == "heat") == (whose.problem != "burn-electric"), exercise
    assert kinds["heat"]


def test_a_shock_is_asked_for_whom_its_rule_applies_to_alone() -> None:
    shocks = 0
    of_energy = [rule for rule in rules() if rule.topic == ENERGY]
    for _, whose, exercise in of_patients():
        if exercise.topic != "energy":
            continue
        shocks += 1
        applies = [
            fits(rule, whose.problem, whose.severity, whose.age_y, kg(whose.weight))
            for rule in of_energy
        ]
        assert any(applies), (whose, exercise)
        assert "cardioversion" not in " ".join(fact.words for fact in exercise.facts), whose
    assert shocks > 3


def test_a_patient_asked_of_twice_has_one_weight() -> None:
    """Over all the questions of a call, in either unit."""
    weights: dict[tuple[Call, int], set[Fraction]] = {}
    many: Counter[tuple[Call, int]] = Counter()
    for call, whose, exercise in of_patients():
        if exercise.weight:
            weights.setdefault((call, whose.number), set()).add(kg(exercise.weight))
            many[call, whose.number] += 1
    assert max(many.values()) > 2
    assert all(len(found) == 1 for found in weights.values())


@pytest.mark.parametrize("slug", sorted(call_types()))
def test_a_weight_is_of_the_age_and_can_be_told_in_either_unit(slug: str) -> None:
    """From the 3rd percentile to the 97th; in lb to the tenth, and to the half from 20 kg on."""
    for seed in range(8):
        for call in calls_of(slug, seed):
            for each in call.patients:
                weighs = kg(each.weight)
                low, high = (
                    weight_at(share, each.age_y, is_female=each.is_female) for share in (0.03, 0.97)
                )
                assert low <= weighs <= high, each
                pounds = weighs * Fraction("2.2")
                assert (pounds * (2 if weighs >= 20 else 10)).denominator == 1, each
                assert (weighs * 2).denominator == 1, each


def test_the_supply_is_asked_of_nobody_who_is_not_treated() -> None:
    """Nor is the oxygen counted for them."""
    for call, prompt in asked():
        if prompt.kind != "supply" or prompt.exercise is None:
            continue
        treated = treated_of(call)
        if prompt.patient:
            assert prompt.patient.number in treated
        elif prompt.exercise.topic == "oxygen":
            flows = json.loads(prompt.exercise.given)["flow"]
            assert len(flows) <= len(treated)


# Parts of a body that a caller may name of a wound, each with the words that are seen of it.
PARTS = {
    "arm": "arm|hand|wrist",
    "hand": "hand|wrist|finger",
    "leg": "leg|thigh|knee|foot",
    "thigh": "leg|thigh",
    "knee": "leg|thigh|knee",
    "chest": "chest",
}
# An illness may begin in a part that is not looked at, a fit in the hands; a wound is where it is.
WOUNDS = ("burn-adult", "limb-bleed", "amputation", "femur-fracture", "head-injury", "hip-fracture")


def test_a_wound_is_where_the_caller_says_it_is() -> None:
    """An arm in the baler is no deep wound of the thigh, nor a flash of the arms on the legs."""
    for slug, kind in call_types().items():
        phrases = [e for e in kind.phrases if len(e.problems) == 1 and e.problems[0] in WOUNDS]
        for phrase in phrases:
            said = {part for part in PARTS if re.search(rf"\b{part}s?\b", phrase.text)}
            (problem,) = phrase.problems
            looks = [
                *(
                    each.seen
                    for each in APPEARANCES
                    if each.problem == problem and _is_meant(SEVERITY[each.grade], phrase)
                ),
                *(
                    each.findings
                    for each in world().problems[problem].states
                    if _is_meant(each.severity, phrase)
                ),
            ]
            for part in said:
                apart = [e for e in looks if not re.search(PARTS[part], e, re.IGNORECASE)]
                assert not apart, (slug, phrase.text, apart)


def _is_meant(severity: int, phrase: Phrase) -> bool:
    return not phrase.severities or severity in phrase.severities
