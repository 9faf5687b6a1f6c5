"""Many people at once: who comes, who changes, who leaves."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from drills.people.actions.leaving import leave
from drills.people.audit import Line, record, record_all
from drills.people.models import CertificationLevel, Cohort, Pairing, Person, RoleGrant


@dataclass(frozen=True, slots=True, kw_only=True)
class Enrolment:
    """How one person is to be, by keys and numbers; `was` is how they are, None for a new one.

    `was` and `becomes` are what the audit keeps. They may hold what a higher room keeps as well,
    such as the station; that is its own to change.
    """

    number: str
    was: Mapping[str, Any] | None
    becomes: Mapping[str, Any]

    @property
    def changed(self) -> set[str]:
        """The names of what becomes another."""
        if self.was is None:
            return set(self.becomes)
        return {name for name, value in self.becomes.items() if self.was[name] != value}

    @property
    def leaves(self) -> bool:
        return "is_active" in self.changed and not self.becomes["is_active"]


def enrol(enrolments: Sequence[Enrolment], *, by: Person | None, now: datetime) -> None:
    """Make each person as they are to be, within the transaction of the caller.

    What is to be must have been checked: levels, cohorts, roles and FTOs by these keys and numbers
    exist, or come with the same call.
    """
    people = _people_of(enrolments)
    staying = [each for each in enrolments if not each.leaves]
    _write_persons(staying, people)
    _write_roles([each for each in staying if "roles" in each.changed], people)
    _write_cohorts([each for each in staying if "cohorts" in each.changed], people)
    leave([people[each.number] for each in enrolments if each.leaves], now=now)
    _write_pairings([each for each in staying if "ftos" in each.changed], people, now=now)
    _write_audit(enrolments, by=by, now=now)


def _people_of(enrolments: Iterable[Enrolment]) -> dict[str, Person]:
    """Everybody who is named, by number; who is new is made, without a password."""
    new = []
    for each in enrolments:
        if each.was is None:
            person = Person(employee_number=each.number, name=each.becomes["name"])
            person.set_unusable_password()
            new.append(person)
    Person.objects.bulk_create(new)
    ftos = {number for each in enrolments for number in each.becomes["ftos"]}
    named = ftos | {each.number for each in enrolments}
    return Person.objects.in_bulk(list(named), field_name="employee_number")


def _write_persons(enrolments: Sequence[Enrolment], people: Mapping[str, Person]) -> None:
    levels = {level.key: level for level in CertificationLevel.objects.all()}
    for each in enrolments:
        person = people[each.number]
        person.name, person.is_active = each.becomes["name"], each.becomes["is_active"]
        person.certification = levels.get(each.becomes["certification"] or "")
    rows = [people[each.number] for each in enrolments]
    Person.objects.bulk_update(rows, ["name", "certification", "is_active"])


def _write_roles(enrolments: Sequence[Enrolment], people: Mapping[str, Person]) -> None:
    RoleGrant.objects.filter(person__in=[people[each.number] for each in enrolments]).delete()
    RoleGrant.objects.bulk_create(
        RoleGrant(person=people[each.number], role=role)
        for each in enrolments
        for role in each.becomes["roles"]
    )


def _write_cohorts(enrolments: Sequence[Enrolment], people: Mapping[str, Person]) -> None:
    cohorts = {cohort.slug: cohort for cohort in Cohort.objects.all()}
    members = Person.cohorts.through
    theirs = [people[each.number] for each in enrolments]
    members.objects.filter(person__in=theirs).delete()
    members.objects.bulk_create(
        members(person=people[each.number], cohort=cohorts[slug])
        for each in enrolments
        for slug in each.becomes["cohorts"]
    )


def _write_pairings(
    enrolments: Sequence[Enrolment], people: Mapping[str, Person], *, now: datetime
) -> None:
    """End what is no more, and begin what is new; what stays keeps its beginning and end."""
    wanted = {
        (number, each.number): (people[number], people[each.number])
        for each in enrolments
        for number in each.becomes["ftos"]
    }
    crew = [people[each.number] for each in enrolments]
    rows = Pairing.objects.running(now).filter(crew__in=crew).select_related("fto", "crew")
    running = {(row.fto.employee_number, row.crew.employee_number): row.pk for row in rows}
    over = [pk for pair, pk in running.items() if pair not in wanted]
    Pairing.objects.filter(pk__in=over).update(ends_at=now)
    Pairing.objects.bulk_create(
        Pairing(fto=fto, crew=member, starts_at=now)
        for pair, (fto, member) in wanted.items()
        if pair not in running
    )


def _write_audit(enrolments: Sequence[Enrolment], *, by: Person | None, now: datetime) -> None:
    new = [each for each in enrolments if each.was is None]
    others = [each for each in enrolments if each.was is not None]
    left = sum(each.leaves for each in others)
    counts = {"added": len(new), "changed": len(others) - left, "left": left}
    record("import roster", f"{len(enrolments)} people", by=by, now=now, after=counts)
    added = (Line(subject=each.number, after=dict(each.becomes)) for each in new)
    record_all("add person", added, by=by, now=now)
    record_all("change person", map(_line, others), by=by, now=now)


def _line(each: Enrolment) -> Line:
    was, becomes = (
        {name: side[name] for name in sorted(each.changed)}
        for side in (each.was or {}, each.becomes)
    )
    return Line(subject=each.number, before=was, after=becomes)
