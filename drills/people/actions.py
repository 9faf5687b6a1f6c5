"""Changes to who is here, each with its line in the audit."""

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction

from drills.people.audit import record
from drills.people.models import CertificationLevel, Person, RoleGrant


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
    if Person.objects.filter(employee_number=employee_number).exists():
        raise ValueError(f"There is a person with number {employee_number} already.")
    if not name.strip():
        raise ValueError("The name is empty; it takes the name as others read it.")
    person = Person.objects.create_user(
        employee_number, name, password, certification=certification
    )
    held = sorted(set(roles))
    RoleGrant.objects.bulk_create(RoleGrant(person=person, role=role) for role in held)
    record("add person", employee_number, by=by, now=now, after={"name": name, "roles": held})
    return person
