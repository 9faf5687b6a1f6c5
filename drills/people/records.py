"""What this room keeps about one person: given out in words, and taken away."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib.sessions.models import Session
from django.db import models

from drills.people.actions.signing_in import tries_of
from drills.people.models import AuditEntry, Pairing, Person, PersonalCode, SignInCode

ERASED = "(erased)"
# Actions whose subject is numbers of people, with a space between two.
OF_PEOPLE = frozenset(
    {
        "add person",
        "change password",
        "change person",
        "choose password",
        "choose personal code",
        "confirm reminders",
        "drop personal code",
        "export person",
        "give code",
        "import past records of",
        "make calendar",
        "open hands-on",
        "pair",
        "place in phase",
        "say shown",
        "sign off",
        "take back past records of",
        "take back shown",
        "revoke calendar",
        "set reminders",
        "stop reminders",
        "unpair",
        "withdraw sign-off",
        "write daily note",
    }
)
# Lines of the audit in which a word is never a person's number, though it may look like one.
OF_THINGS = frozenset(
    {
        "add cohort",
        "add rig",
        "add station",
        "answer absence",
        "approve formulary",
        "backup",
        "change phase",
        "discard draft",
        "draft formulary",
        "drop phase",
        "end difference",
        "export most missed",
        "import layout",
        "import past records",
        "publish revision",
        "record signed formulary",
        "report absence",
        "see answer",
        "send formulary back",
        "set sign-offs",
        "submit formulary",
        "take back past records",
        "tell difference",
        "tie item",
    }
)
# What in any other line may look like a person's number and is none, by its key.
NO_NUMBERS = frozenset(
    {
        *("certification", "cohorts", "extra_time", "rig", "roles", "station"),
        *("due", "marks", "outcome", "standard", "verdict"),
        *("categories", "layout", "phase", "seen"),
    }
)
CONTEST, DECISION = "contest answer", "decide contest"

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
        "has a personal code": PersonalCode.objects.filter(person=person).exists(),
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
    number, trace = person.employee_number, _trace_of(person)
    found = []
    for line in filter(trace.is_in, AuditEntry.objects.iterator()):
        row: dict[str, Any] = {"at": line.at, "action": line.action}
        if line.actor_id == person.pk:
            row["by"] = "this person"
        if line.action in OF_THINGS:
            row["subject"] = line.subject
        is_all = line.action in OF_PEOPLE and line.subject == number
        for name in ("before", "after"):
            part = _own_part(getattr(line, name), number, is_all=is_all)
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
    erased, and so it does in place of each reason that was given for them or by them. A name
    that somebody else bears as well goes from lines that tell the number alone.
    """
    trace = _trace_of(person)
    changed = [line for line in AuditEntry.objects.iterator() if trace.take_from(line)]
    plain: models.QuerySet[AuditEntry] = models.QuerySet(AuditEntry)
    plain.bulk_update(changed, ["subject", "before", "after"], batch_size=500)
    return len(changed)


def mends(person: Person) -> tuple[Mend, Mend]:
    """What puts the word for an erased person in place of what is written like their number, and
    like their name, wherever in a text."""
    return _mend(person.employee_number), _mend(person.name)


def mended(value: Any, mend: Mend, *, but: frozenset[str] = frozenset()) -> Any:
    """A value as JSON keeps it, with every text in it mended, keys as well; not what is under the
    keys `but`."""
    if isinstance(value, str):
        return mend(value)
    if isinstance(value, list):
        return [mended(each, mend, but=but) for each in value]
    if not isinstance(value, dict):
        return value
    found: dict[str, Any] = {}
    for key, each in value.items():
        new = mend(key)
        while new in found:
            new += " and another"
        found[new] = each if key in but else mended(each, mend, but=but)
    return found


@dataclass(frozen=True, slots=True)
class _Trace:
    """What leads to one person in the audit.

    `is_shared` is whether somebody else bears the name, `contested` the subjects of the answers
    that the person contested.
    """

    person: Person
    is_shared: bool
    contested: frozenset[str]

    def is_in(self, line: AuditEntry) -> bool:
        """Whether the line is by the person, or its words are about them."""
        return line.actor_id == self.person.pk or self._without(line) != _words(line)

    def take_from(self, line: AuditEntry) -> bool:
        """Take the person out of the words of a line; whether that changed it."""
        was, now = _words(line), self._without(line)
        line.subject, line.before, line.after = now[0][:160], now[1], now[2]
        return was != now

    def _without(self, line: AuditEntry) -> list[Any]:
        was = _words(line)
        now = was if line.action in OF_THINGS else self._without_number(line)
        if now != was or not self.is_shared:
            now = mended(now, _mend(self.person.name))
        return now

    def _without_number(self, line: AuditEntry) -> list[Any]:
        """The words without the number where a number stands: nowhere within a text."""
        number = self.person.employee_number
        subject, reasons = line.subject, self._reasons(line)
        if line.action in OF_PEOPLE:
            subject = " ".join(_whole(word, number) for word in subject.split(" "))
        parts = (_blank(part, reasons) for part in (line.before, line.after))
        return [
            subject,
            *(mended(part, lambda text: _whole(text, number), but=NO_NUMBERS) for part in parts),
        ]

    def _reasons(self, line: AuditEntry) -> set[str]:
        """The keys under which a line has free words about this person alone."""
        number = self.person.employee_number
        if line.action == CONTEST and line.actor_id == self.person.pk:
            return {"because"}
        if line.action == DECISION and line.subject in self.contested:
            return {"answer"}
        # A name that they bore before they had this one is theirs as well.
        is_own = line.action in OF_PEOPLE and line.subject == number
        return {number, "name", "because"} if is_own else {number}


def _trace_of(person: Person) -> _Trace:
    contested = AuditEntry.objects.filter(actor=person, action=CONTEST)
    return _Trace(
        person=person,
        is_shared=Person.objects.filter(name=person.name).exclude(pk=person.pk).exists(),
        contested=frozenset(contested.values_list("subject", flat=True)),
    )


def _words(line: AuditEntry) -> list[Any]:
    return [line.subject, line.before, line.after]


def _whole(text: str, number: str) -> str:
    return ERASED if text == number else text


def _blank(part: Any, keys: set[str]) -> Any:
    """A part of a line with the texts under these keys blanked; an empty one told nothing."""
    if not isinstance(part, dict):
        return part
    return {
        key: ERASED if key in keys and each and isinstance(each, str) else each
        for key, each in part.items()
    }


def _own_part(value: Any, number: str, *, is_all: bool) -> Any:
    if is_all or value is None:
        return value
    return {number: value[number]} if isinstance(value, dict) and number in value else None


def _mend(text: str) -> Mend:
    """A number ends where a sign that numbers take ends; E1 is no part of E10 or of E1-2, nor are
    the minutes of a moment."""
    whole = re.compile(rf"(?<![\w.-])(?<!\d:){re.escape(text)}(?![\w-]|\.\w|:\d)")
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
