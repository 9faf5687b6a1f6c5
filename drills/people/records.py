"""What this room keeps about one person: given out in words, and taken away."""

import re
from collections.abc import Callable, Iterator
from datetime import datetime
from typing import Any

from django.contrib.sessions.models import Session
from django.db import models

from drills.people.actions.signing_in import tries_of
from drills.people.models import AuditEntry, Pairing, Person, SignInCode

ERASED = "(erased)"
# Lines of the audit in which a word is never a person's number, though it may look like one.
OF_THINGS = frozenset(
    {
        "add cohort",
        "add rig",
        "answer absence",
        "approve formulary",
        "discard draft",
        "import layout",
        "publish revision",
        "report absence",
        "tie item",
    }
)

Mend = Callable[[str], str]


def who(person: Person) -> dict[str, Any]:
    """Who the person is, without anything that lets somebody sign in."""
    return {
        "employee number": person.employee_number,
        "name": person.name,
        "roles": sorted(grant.get_role_display() for grant in person.grants.all()),
        "certification": person.certification.name if person.certification else None,
        "cohorts": [cohort.name for cohort in person.cohorts.all()],
        "time allowance": person.time_allowance,
        "last signed in": person.last_login,
        "one-time code until": SignInCode.objects.filter(person=person)
        .values_list("lapses_at", flat=True)
        .first(),
        "here": person.is_active,
        "of the demonstration": person.is_demo,
    }


def pairings_of(person: Person) -> list[dict[str, Any]]:
    """Whom the person was paired with. A crew member is not named to the FTO: that is theirs."""
    trainers = person.trainers.select_related("fto").order_by("starts_at")
    trainees = person.trainees.order_by("starts_at")
    return [
        *({"field training officer": _named(each.fto)} | _span(each) for each in trainers),
        *({"field training officer of": "a crew member"} | _span(each) for each in trainees),
    ]


def audit_of(person: Person) -> list[dict[str, Any]]:
    """Lines of the audit by the person or about them; nobody else's part of a line."""
    number = person.employee_number
    found = []
    for line in _lines_of(person):
        row: dict[str, Any] = {"at": line.at, "action": line.action}
        if line.actor_id == person.pk:
            row["by"] = "this person"
        if line.action in OF_THINGS:
            row["subject"] = line.subject
        for name in ("before", "after"):
            part = _own_part(getattr(line, name), number, is_all=line.subject == number)
            row |= {} if part is None else {name: part}
        found.append(row)
    return found


def erase(person: Person) -> dict[str, int]:
    """Take the person's row away with all that hangs on it; how many rows of each kind went."""
    went = {
        "sign-ins": _end_sessions(person),
        "tries to sign in": tries_of(person.employee_number).delete()[0],
        "roles": person.grants.count(),
        "cohorts": person.cohorts.count(),
        "pairings": Pairing.objects.filter(models.Q(fto=person) | models.Q(crew=person)).count(),
    }
    person.delete()
    return went


def unname_audit(person: Person) -> int:
    """Take a person who is being erased out of the words of the audit; how many lines it was.

    The one door past the guard that keeps every line as it was written: when, what was done and
    by whom stays; where the number or the name of this person stood, it says that they were
    erased. A name that somebody else bears as well goes from lines that tell the number alone.
    """
    others = Person.objects.filter(name=person.name).exclude(pk=person.pk)
    is_shared = others.exists()
    lines = _lines_of(person)
    changed = [line for line in lines if _unname(line, person, is_shared=is_shared)]
    plain: models.QuerySet[AuditEntry] = models.QuerySet(AuditEntry)
    plain.bulk_update(changed, ["subject", "before", "after"], batch_size=500)
    return len(changed)


def mends(person: Person) -> tuple[Mend, Mend]:
    """What puts the word for an erased person in place of their number, and of their name."""
    return _mend(person.employee_number), _mend(person.name)


def mended(value: Any, mend: Mend) -> Any:
    """A value as JSON keeps it, with every text in it mended, keys as well."""
    if isinstance(value, str):
        return mend(value)
    if isinstance(value, list):
        return [mended(each, mend) for each in value]
    if not isinstance(value, dict):
        return value
    found: dict[str, Any] = {}
    for key, each in value.items():
        new = mend(key)
        while new in found:
            new += " and another"
        found[new] = mended(each, mend)
    return found


def _unname(line: AuditEntry, person: Person, *, is_shared: bool) -> bool:
    """Mend one line; whether that changed it."""
    of_number, of_name = mends(person)
    was: Any = [line.subject, line.before, line.after]
    now = was if line.action in OF_THINGS else mended(was, of_number)
    if now != was or not is_shared:
        now = mended(now, of_name)
    line.subject, line.before, line.after = now[0][:160], now[1], now[2]
    return bool(was != now)


def _lines_of(person: Person) -> Iterator[AuditEntry]:
    """Lines by the person, and those whose words name them."""
    of_number, of_name = mends(person)
    for line in AuditEntry.objects.order_by("at", "id").iterator():
        words = [line.subject, line.before, line.after]
        has_number = line.action not in OF_THINGS and mended(words, of_number) != words
        if line.actor_id == person.pk or has_number or mended(words, of_name) != words:
            yield line


def _own_part(value: Any, number: str, *, is_all: bool) -> Any:
    if is_all or value is None:
        return value
    return {number: value[number]} if isinstance(value, dict) and number in value else None


def _mend(text: str) -> Mend:
    """A number ends where a sign that numbers take ends; E1 is no part of E10 or of E1-2."""
    whole = re.compile(rf"(?<![\w.-]){re.escape(text)}(?![\w-]|\.\w)")
    return lambda value: whole.sub(ERASED, value)


def _end_sessions(person: Person) -> int:
    own = [
        session.pk
        for session in Session.objects.iterator()
        if session.get_decoded().get("_auth_user_id") == str(person.pk)
    ]
    Session.objects.filter(pk__in=own).delete()
    return len(own)


def _named(person: Person) -> str:
    return f"{person.employee_number} {person.name}"


def _span(pairing: Pairing) -> dict[str, datetime | None]:
    return {"from": pairing.starts_at, "until": pairing.ends_at}
