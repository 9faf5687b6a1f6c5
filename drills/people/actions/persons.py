"""Changes to one person, one cohort or one pairing."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal, InvalidOperation
from typing import Any

from django.core.validators import validate_slug
from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from drills.engine.roster import WORD_LENGTH
from drills.engine.workbook.columns import NAME_LENGTH
from drills.people.actions.leaving import leave
from drills.people.audit import record
from drills.people.lookups import cohorts_of, level_of, person_of
from drills.people.models import CertificationLevel, Cohort, Pairing, Person, Role, RoleGrant
from drills.people.naming import name_apart, plain_name


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """What to change of a person, by keys; None leaves it, an empty value takes it away."""

    roles: tuple[str, ...] | None = None
    certification: str | None = None
    cohorts: tuple[str, ...] | None = None
    extra_time: str | None = None
    is_active: bool | None = None


@transaction.atomic
def add_person(
    employee_number: str,
    name: str,
    *,
    password: str | None,
    roles: Iterable[str],
    certification: CertificationLevel | None,
    by: Person | None,
    now: datetime,
) -> Person:
    """Add a person with their roles; without a password they cannot sign in yet."""
    taken = Person.objects.filter(employee_number__iexact=employee_number).first()
    if taken:
        raise ValueError(f"There is a person with number {taken.employee_number} already.")
    name = plain_name(name, longest=NAME_LENGTH)
    person = Person.objects.create_user(
        employee_number, name, password, certification=certification
    )
    _hold(person, roles)
    after = {"name": name, **_standing(person)}
    record("add person", employee_number, by=by, now=now, after=after)
    return person


@transaction.atomic
def add_cohort(slug: str, name: str, *, by: Person | None, now: datetime) -> Cohort:
    """Add a cohort that people can be put in."""
    validate_slug(slug)
    name = name_apart(name, slug, kind="cohort", there=Cohort.objects.all(), longest=WORD_LENGTH)
    cohort = Cohort.objects.create(slug=slug, name=name)
    record("add cohort", slug, by=by, now=now, after={"name": name})
    return cohort


@transaction.atomic
def change_person(
    employee_number: str, changes: Changes, *, by: Person | None, now: datetime
) -> dict[str, tuple[Any, Any]]:
    """Change what is named, and give each thing that became another, before and after."""
    person = person_of(employee_number)
    before = _standing(person)
    admins = _admins()
    _apply(changes, person, by=by, now=now)
    after = _standing(person)
    if admins and not _admins():
        raise ValueError(
            f"{employee_number} is the last administrator; give another person the role first."
        )
    changed = [name for name in before if before[name] != after[name]]
    if changed:
        was, became = ({name: each[name] for name in changed} for each in (before, after))
        record("change person", employee_number, by=by, now=now, before=was, after=became)
    return {name: (before[name], after[name]) for name in changed}


@transaction.atomic
def pair(
    fto_number: str, crew_number: str, *, until: date | None, by: Person | None, now: datetime
) -> Pairing:
    """Let an FTO see a crew member from now on, through the last day if one is named."""
    fto, crew = person_of(fto_number), person_of(crew_number)
    _refuse_pairing(fto, crew, now=now)
    if until is not None and until < timezone.localdate(now):
        raise ValueError(f"The last day is {until}; it takes today or a later day.")
    ends_at = None if until is None else _end_of(until)
    pairing = Pairing.objects.create(fto=fto, crew=crew, starts_at=now, ends_at=ends_at)
    record("pair", _subject(fto, crew), by=by, now=now, after=_span(pairing))
    return pairing


@transaction.atomic
def unpair(fto_number: str, crew_number: str, *, by: Person | None, now: datetime) -> None:
    """End what lets an FTO see a crew member."""
    fto, crew = person_of(fto_number), person_of(crew_number)
    running = Pairing.objects.running(now).select_related("fto", "crew")
    pairings = list(running.filter(fto=fto, crew=crew))
    if not pairings:
        raise ValueError(f"{fto_number} and {crew_number} are not paired.")
    for pairing in pairings:
        _end(pairing, by=by, now=now)


def _end(pairing: Pairing, *, by: Person | None, now: datetime) -> None:
    subject, before = _subject(pairing.fto, pairing.crew), _span(pairing)
    pairing.ends_at = now
    pairing.save(update_fields=["ends_at"])
    record("unpair", subject, by=by, now=now, before=before, after=_span(pairing))


def _apply(changes: Changes, person: Person, *, by: Person | None, now: datetime) -> None:
    if changes.certification is not None:
        key = changes.certification
        person.certification = level_of(key) if key else None
    if changes.extra_time is not None:
        person.time_allowance = _allowance(changes.extra_time)
    person.save(update_fields=["certification", "time_allowance"])
    if changes.cohorts is not None:
        person.cohorts.set(cohorts_of(changes.cohorts))
    if changes.roles is not None:
        _hold(person, changes.roles)
    if changes.is_active is not None:
        _stay_or_leave(person, stays=changes.is_active, by=by, now=now)


def _stay_or_leave(person: Person, *, stays: bool, by: Person | None, now: datetime) -> None:
    if person.is_active and not stays:
        theirs = Q(fto=person) | Q(crew=person)
        for pairing in Pairing.objects.running(now).filter(theirs).select_related("fto", "crew"):
            _end(pairing, by=by, now=now)
        leave([person], now=now)
    elif stays:
        person.is_active = True
        person.save(update_fields=["is_active"])


def _hold(person: Person, roles: Iterable[str]) -> None:
    """Make these the roles of the person, and no other."""
    wanted = set(roles)
    unknown = sorted(wanted - set(Role.values))
    if unknown or not wanted:
        came = ", ".join(map(repr, unknown)) or "none"
        raise ValueError(f"The role is {came}; it takes one or more of {', '.join(Role.values)}.")
    person.grants.exclude(role__in=wanted).delete()
    held = set(person.grants.values_list("role", flat=True))
    RoleGrant.objects.bulk_create(
        RoleGrant(person=person, role=role) for role in sorted(wanted - held)
    )
    person.forget_roles()


def _admins() -> int:
    """How many administrators are here."""
    return Person.objects.filter(is_active=True, grants__role=Role.ADMIN).count()


def _standing(person: Person) -> dict[str, Any]:
    """What the audit keeps of a person."""
    return {
        "roles": sorted(person.grants.values_list("role", flat=True)),
        "certification": person.certification.key if person.certification else None,
        "cohorts": sorted(person.cohorts.values_list("slug", flat=True)),
        "extra_time": f"{person.time_allowance:.2f}",
        "is_active": person.is_active,
    }


def _allowance(given: str) -> Decimal:
    """How much longer a limit is for a person."""
    try:
        found = Decimal(given)
    except InvalidOperation:
        found = Decimal(0)
    if not found.is_finite() or not 1 <= found <= 10 or found != round(found, 2):
        raise ValueError(
            f"The extra time is {given!r}; it takes a number from 1 (none) to 10, with at most "
            "two decimals: 1.5 is half as much again."
        )
    return found


def _refuse_pairing(fto: Person, crew: Person, *, now: datetime) -> None:
    if fto == crew:
        raise ValueError(f"{fto.employee_number} came in twice; it takes two persons.")
    for person, role in ((fto, Role.FTO), (crew, Role.CREW)):
        if not person.is_active:
            raise ValueError(f"{person.employee_number} {person.name} has left.")
        if not person.holds(role):
            held = ", ".join(sorted(person.roles)) or "none"
            raise ValueError(
                f"{person.employee_number} {person.name} is no {role.label}; roles held: {held}. "
                f"set_person {person.employee_number} --role gives the roles."
            )
    running = Pairing.objects.running(now).filter(fto=fto, crew=crew).first()
    if running:
        last = "without an end" if running.ends_at is None else f"until {running.ends_at:%F %R}"
        raise ValueError(
            f"{fto.employee_number} and {crew.employee_number} are paired already, {last}; "
            "unpair them first."
        )


def _end_of(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day + timedelta(days=1), time.min))


def _span(pairing: Pairing) -> dict[str, str | None]:
    ends_at = pairing.ends_at
    return {
        "from": pairing.starts_at.isoformat(),
        "until": ends_at.isoformat() if ends_at else None,
    }


def _subject(fto: Person, crew: Person) -> str:
    return f"{fto.employee_number} {crew.employee_number}"
