"""The one door for evidence."""

from datetime import UTC, datetime
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from drills.competency.actions import (
    Circumstances,
    fact_rows,
    history_source,
    record_evidence,
    record_history,
    void_evidence,
)
from drills.competency.models import Evidence, Fact, Fit, PersonOffset
from drills.competency.reports import has_history
from drills.demo.factories import rig_on
from drills.engine.facts import BAG, ITEM, SKILL, facts_of
from drills.engine.facts import Fact as EngineFact
from drills.engine.scoring import RIGHT, WRONG, Finding
from drills.people.models import Person
from drills.rigs.models import Item, ItemTerms, Need, Place, Rig
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
        predictions={str(TOURNIQUET): 0.7},
        predicted_by="a model",
        is_first=True,
        seconds=4.0,
        time_state="verified",
        time_verdict="in time",
        limit_seconds=11.5,
        allowance=1.0,
        source=source,
    )


def in_engine(row: Fact) -> EngineFact:
    assert row.place is not None
    if row.item is not None:
        return EngineFact(ITEM, row.item.key, row.place.key)
    assert row.bag is not None
    return EngineFact(BAG, row.bag.key, row.place.key)


def test_every_fact_of_a_layout_has_one_row(rig: Rig) -> None:
    facts = facts_of(practice_rig())

    rows = fact_rows(facts, layout=rig.layout)
    again = fact_rows(facts, layout=rig.layout)

    assert rows == again
    assert Fact.objects.count() == len(facts)
    assert {in_engine(row) for row in rows.values()} == set(facts)


def test_a_bag_and_what_is_in_it_are_two_facts(hire: Person, rig: Rig) -> None:
    found = [Finding(BAG_ON_SHELF, RIGHT, "pocket"), Finding(TOURNIQUET, WRONG, "")]

    rows = record_evidence(found, circumstances(hire, rig, "answer 1"))

    assert [(in_engine(row.fact), row.outcome) for row in rows] == [
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


def test_a_skill_is_a_fact_without_a_place(hire: Person, rig: Rig) -> None:
    skill = EngineFact(SKILL, "dose naloxone, rule shown", "")

    first, second = (
        record_evidence([Finding(skill, outcome, "")], circumstances(hire, rig, source))[0]
        for outcome, source in (("unsafe", "answer 1"), ("out of tolerance", "answer 2"))
    )

    assert first.fact == second.fact
    assert (first.fact.skill, first.fact.place, first.item) == (skill.thing, None, None)


def test_each_fact_keeps_its_own_prediction(hire: Person, rig: Rig) -> None:
    found = [Finding(BAG_ON_SHELF, RIGHT, "pocket"), Finding(TOURNIQUET, WRONG, "")]

    bag, item = record_evidence(found, circumstances(hire, rig, "answer 1"))

    assert (bag.prediction, item.prediction) == (None, 0.7)
    assert item.predicted_by == "a model"


@pytest.mark.parametrize("extra", [{"skill": "x"}, {"place": None}])
def test_a_row_that_is_no_fact_is_refused(rig: Rig, extra: dict[str, object]) -> None:
    item, place = Item.objects.first(), Place.objects.first()

    with pytest.raises(IntegrityError):
        Fact.objects.create(**({"item": item, "place": place} | extra))


def kept() -> list[dict[str, Any]]:
    """All evidence, but for the numbers of its rows and the answers it came from."""
    rows = Evidence.objects.order_by("pk").values()
    return [{k: v for k, v in row.items() if k not in {"id", "source"}} for row in rows]


def test_many_answers_are_kept_as_they_are_one_by_one(
    hire: Person, outsider: Person, rig: Rig
) -> None:
    """The same rows in the same order, on facts that are new and on two layouts, and each person
    moved by each answer alike."""
    other = rig_on(practice_rig("other-rig"), unit="12")
    fit = Fit.objects.create(
        made_at=NOW, through=0, answers=9, people=2, seconds=1.0, figures={}, quality={}
    )
    offsets = {
        "fitted_mean": 0.0,
        "fitted_variance": 1.0,
        "mean": 0.0,
        "variance": 1.0,
        "forgetting": 0.0,
        "forgetting_variance": 1.0,
    }
    for person in (hire, outsider):
        PersonOffset.objects.create(person=person, fit=fit, **offsets)
    found = [Finding(BAG_ON_SHELF, RIGHT, "pocket"), Finding(TOURNIQUET, WRONG, "")]
    answers = [
        (found[number % 2 :], circumstances(person, where, f"{person} {where} {number}"))
        for number in range(3)
        for person, where in ((hire, rig), (outsider, other))
    ]
    for findings, of in answers:
        record_evidence(findings, of)
    one_by_one = kept(), list(PersonOffset.objects.order_by("pk").values("mean", "variance"))
    Evidence.objects.all().delete()
    PersonOffset.objects.update(mean=0.0, variance=1.0)

    rows = record_history(answers)

    together = kept(), list(PersonOffset.objects.order_by("pk").values("mean", "variance"))
    assert len(rows) == 10
    assert together == one_by_one
    assert together[1][0] != {"mean": 0.0, "variance": 1.0}


def test_one_answer_told_twice_is_refused_with_all_that_came_with_it(
    hire: Person, rig: Rig
) -> None:
    answer = [Finding(TOURNIQUET, RIGHT, "pocket")], circumstances(hire, rig, "answer 1")

    with pytest.raises(IntegrityError), transaction.atomic():
        record_history([answer, answer])

    assert not Evidence.objects.exists()


def test_what_no_run_is_kept_of_is_known_as_history(hire: Person, rig: Rig) -> None:
    found = [Finding(TOURNIQUET, RIGHT, "pocket")]
    record_evidence(found, circumstances(hire, rig, "answer 1"))
    assert not has_history(hire)

    record_history([(found, circumstances(hire, rig, history_source(1)))])

    assert has_history(hire)
