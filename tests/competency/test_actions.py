"""The one door for evidence."""

from datetime import UTC, datetime

import pytest

from drills.competency.actions import Circumstances, fact_rows, record_evidence, void_evidence
from drills.competency.models import Evidence, Fact
from drills.demo.factories import rig_on
from drills.engine.facts import BAG, ITEM, facts_of
from drills.engine.facts import Fact as EngineFact
from drills.engine.scoring import RIGHT, WRONG, Finding
from drills.people.models import Person
from drills.rigs.models import ItemTerms, Need, Rig
from tests.layouts import practice_rig

NOW = datetime(2026, 11, 25, 5, 40, tzinfo=UTC)
TOURNIQUET = EngineFact(ITEM, "tourniquet", "BAG-M")
BAG_ON_SHELF = EngineFact(BAG, "BAG", "S1A")

pytestmark = pytest.mark.django_db


@pytest.fixture
def rig(db: None) -> Rig:
    return rig_on(practice_rig(), unit="11")


def circumstances(person: Person, rig: Rig, source: str) -> Circumstances:
    return Circumstances(
        person=person,
        revision=rig.revision,
        rig=rig,
        at=NOW,
        kind="locate",
        depth_asked="pocket",
        choices_offered=9,
        chosen_by="probe",
        prediction=0.7,
        is_first=True,
        seconds=4.0,
        time_state="verified",
        time_verdict="in time",
        limit_seconds=11.5,
        allowance=1.0,
        source=source,
    )


def test_every_fact_of_a_layout_has_one_row(rig: Rig) -> None:
    facts = facts_of(practice_rig())

    rows = fact_rows(facts, layout=rig.layout)
    again = fact_rows(facts, layout=rig.layout)

    assert rows == again
    assert Fact.objects.count() == len(facts)
    assert {row.as_engine() for row in rows.values()} == set(facts)


def test_a_bag_and_what_is_in_it_are_two_facts(hire: Person, rig: Rig) -> None:
    found = [Finding(BAG_ON_SHELF, RIGHT, "pocket"), Finding(TOURNIQUET, WRONG, "")]

    rows = record_evidence(found, circumstances(hire, rig, "answer 1"))

    assert [(row.fact.as_engine(), row.outcome) for row in rows] == [
        (BAG_ON_SHELF, RIGHT),
        (TOURNIQUET, WRONG),
    ]
    assert [row.item.key if row.item else "" for row in rows] == ["", "tourniquet"]


def test_the_need_is_copied_as_of_the_revision(hire: Person, rig: Rig) -> None:
    need = Need.objects.create(key="tourniquet-limb", name_us="Tourniquet", category="x")
    ItemTerms.objects.filter(item__key="tourniquet").update(need=need)

    (row,) = record_evidence(
        [Finding(TOURNIQUET, RIGHT, "pocket")], circumstances(hire, rig, "answer 1")
    )

    assert row.need_id == need.pk


def test_void_evidence_stays_and_counts_no_more(hire: Person, rig: Rig) -> None:
    for source in ("answer 1", "answer 2"):
        record_evidence([Finding(TOURNIQUET, RIGHT, "pocket")], circumstances(hire, rig, source))

    assert void_evidence("answer 1", by="not in place", now=NOW) == 1

    assert Evidence.objects.count() == 2
    assert [row.source for row in Evidence.objects.standing()] == ["answer 2"]
