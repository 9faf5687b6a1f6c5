"""What is done to layouts and rigs leaves one line in the audit: what, of which, by whom, when."""

from datetime import timedelta

import pytest

from drills.people.models import AuditEntry, Person
from drills.rigs.actions import report_absence
from drills.rigs.models import Absence, Rig
from tests.rigs.conftest import NOW, ClientOf

pytestmark = pytest.mark.django_db


@pytest.fixture
def report(rig: Rig, hire: Person) -> Absence:
    (made,) = report_absence(
        ["BAG-M"], thing="tourniquet", rig=rig, revision=rig.revision, by=hire, now=NOW
    )
    return made


def test_a_report_of_an_absence_is_written_down(report: Absence, hire: Person) -> None:
    (line,) = AuditEntry.objects.filter(subject__startswith="11:")

    assert (line.action, line.actor, line.at) == ("report absence", hire, NOW)
    assert line.subject.startswith("11:")
    assert "tourniquet" in line.subject


def test_a_report_of_a_whole_place_is_written_down(rig: Rig, hire: Person) -> None:
    report_absence(
        ["I1A"],
        thing="",
        rig=rig,
        revision=rig.revision,
        by=hire,
        now=NOW + timedelta(hours=1),
    )

    line = AuditEntry.objects.last()
    assert line is not None
    assert (line.action, line.actor) == ("report absence", hire)
    assert line.at == NOW + timedelta(hours=1)


def test_the_answer_to_a_report_is_written_down(
    client_of: ClientOf, report: Absence, keeper: Person
) -> None:
    client_of(keeper).post(f"/rigs/absences/{report.pk}/answer/", {"answer": "put back"})

    *_, line = lines = AuditEntry.objects.filter(action__endswith="absence")
    report.refresh_from_db()
    assert (line.action, line.actor, line.at) == ("answer absence", keeper, report.answered_at)
    assert "Tourniquet" in line.subject
    assert len(lines) == 2
