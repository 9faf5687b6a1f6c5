"""A file of people stored, whole or not at all."""

from datetime import datetime

from django.db import IntegrityError, transaction
from django.utils import timezone

from drills.boards.roster.planning import Choices, Plan, plan_roster
from drills.people.actions import Enrolment, add_cohort, enrol
from drills.people.models import Person
from drills.rigs.models import Station
from drills.rigs.postings import add_station, post_people


class NotTakenError(ValueError):
    """Raised when nothing was stored: the plan has problems, or is no more what was looked at."""

    def __init__(self, plan: Plan) -> None:
        super().__init__("Nothing was stored.")
        self.plan = plan


def take_roster(
    data: bytes, *, choices: Choices, seen: str, by: Person | None, now: datetime
) -> Plan:
    """Store what a file would change, if that is still the plan with the fingerprint `seen`."""
    try:
        return _taken(data, choices, seen, by, now)
    except IntegrityError:  # somebody was added at the same moment
        plan = plan_roster(data, choices=choices, by=by, now=now)
        raise NotTakenError(plan) from None


@transaction.atomic
def _taken(data: bytes, choices: Choices, seen: str, by: Person | None, now: datetime) -> Plan:
    # Two files at once are taken one after the other; the second is planned anew.
    list(Person.objects.select_for_update().order_by("pk").values_list("pk"))
    plan = plan_roster(data, choices=choices, by=by, now=now)
    if plan.problems or plan.fingerprint != seen:
        raise NotTakenError(plan)
    for slug, name in plan.stations.items():
        add_station(slug, name, by=by, now=now)
    for slug, name in plan.cohorts.items():
        add_cohort(slug, name, by=by, now=now)
    enrolments = [
        Enrolment(
            number=each.number,
            was=each.was.kept() if each.was else None,
            becomes=each.becomes.kept(),
        )
        for each in plan.people
    ]
    if enrolments:
        enrol(enrolments, by=by, now=now)
        _post(plan, now)
    return plan


def _post(plan: Plan, now: datetime) -> None:
    stations = {station.slug: station for station in Station.objects.all()}
    moved = {
        each.number: stations.get(each.becomes.station)
        for each in plan.people
        if each.becomes.station != (each.was.station if each.was else "")
    }
    people = Person.objects.in_bulk(list(moved), field_name="employee_number")
    post_people(
        {people[number].pk: station for number, station in moved.items()},
        today=timezone.localdate(now),
    )
