"""What crews of the demonstration found elsewhere, and what their keeper said of it."""

from datetime import datetime, timedelta

from drills.people.models import Person
from drills.rigs.actions import differs_here, put_back, report_absence
from drills.rigs.models import Absence, Rig

REPORTED_UNIT, OTHER_UNIT = "204", "202"


def report_and_answer(hire: Person, officer: Person, keeper: Person, *, now: datetime) -> None:
    """One report that was put back, one that became a difference of its rig, and one that waits."""
    yesterday = now - timedelta(days=1)
    punch = _report("window punch", REPORTED_UNIT, by=hire, now=now - timedelta(days=3))
    put_back(punch, word="It was in the wash.", by=keeper, now=yesterday)
    bag = _report("throw bag", OTHER_UNIT, by=officer, now=now - timedelta(days=2))
    differs_here(
        bag,
        thing="throw bag",
        place="S2",
        here="S3",
        word="The hook in S2 is broken.",
        by=keeper,
        now=yesterday,
    )
    _report("pry bar", OTHER_UNIT, by=officer, now=now - timedelta(hours=5))


def _report(thing: str, unit: str, *, by: Person, now: datetime) -> Absence:
    rig = Rig.objects.select_related("revision").get(unit=unit)
    (report,) = report_absence(["S2"], thing=thing, rig=rig, revision=rig.revision, by=by, now=now)
    return report
