"""What the evidence says now."""

from datetime import timedelta

import pytest

from drills.competency.actions import record_evidence
from drills.competency.reports import knowledge_of
from drills.engine.facts import facts_of
from drills.engine.scoring import RIGHT, WRONG, Finding
from drills.people.models import Person
from drills.rigs.models import Rig
from tests.competency.test_actions import BAG_ON_SHELF, NOW, TOURNIQUET, circumstances
from tests.competency.test_actions import rig as rig
from tests.layouts import practice_rig

pytestmark = pytest.mark.django_db


def answer(person: Person, rig: Rig, outcome: str, number: int) -> None:
    record_evidence(
        [Finding(TOURNIQUET, outcome, "")], circumstances(person, rig, f"answer {number}")
    )


def test_says_nothing_of_what_was_never_asked(hire: Person, rig: Rig) -> None:
    known = knowledge_of(hire, layout=rig.layout, now=NOW)

    estimate = known.of(facts_of(practice_rig()))
    assert (estimate.first_answers, estimate.is_enough) == (0, False)
    assert known.weights() == {}


def test_weighs_a_miss_above_what_was_found(hire: Person, rig: Rig) -> None:
    answer(hire, rig, WRONG, 1)
    missed = knowledge_of(hire, layout=rig.layout, now=NOW).weights()[str(TOURNIQUET)]

    for number in range(2, 8):
        answer(hire, rig, RIGHT, number)
    found = knowledge_of(hire, layout=rig.layout, now=NOW).weights()[str(TOURNIQUET)]

    assert found < missed


def test_what_was_found_is_asked_for_again_in_time(hire: Person, rig: Rig) -> None:
    for number in range(6):
        answer(hire, rig, RIGHT, number)

    now = knowledge_of(hire, layout=rig.layout, now=NOW).weights()[str(TOURNIQUET)]
    later = NOW + timedelta(days=300)
    then = knowledge_of(hire, layout=rig.layout, now=later).weights()[str(TOURNIQUET)]

    assert then > now


def test_the_newest_answer_decides_whether_it_is_missed(hire: Person, rig: Rig) -> None:
    answer(hire, rig, WRONG, 1)
    assert knowledge_of(hire, layout=rig.layout, now=NOW).missed() == [TOURNIQUET]

    answer(hire, rig, RIGHT, 2)
    known = knowledge_of(hire, layout=rig.layout, now=NOW)
    assert known.missed() == []
    assert known.was_found(TOURNIQUET)


def test_keeps_people_apart(hire: Person, outsider: Person, rig: Rig) -> None:
    answer(hire, rig, RIGHT, 1)

    assert not knowledge_of(outsider, layout=rig.layout, now=NOW).observations


def test_reads_a_person_in_two_queries(
    hire: Person, rig: Rig, django_assert_num_queries: pytest.FixtureRequest
) -> None:
    for number in range(5):
        answer(hire, rig, RIGHT, number)
    record_evidence([Finding(BAG_ON_SHELF, RIGHT, "")], circumstances(hire, rig, "answer 9"))

    with django_assert_num_queries(2):  # type: ignore[operator]  # a context manager of pytest-django
        known = knowledge_of(hire, layout=rig.layout, now=NOW)

    assert set(known.observations) == {TOURNIQUET, BAG_ON_SHELF}
