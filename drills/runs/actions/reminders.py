"""How people hear of what is due outside the site: the address of a calendar, and mail."""

import secrets
from datetime import datetime
from hashlib import sha256

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction

from drills.people.audit import record
from drills.people.models import Person
from drills.runs.models import CalendarFeed, ReminderAddress

TOKEN_BYTES = 32
LONGEST_ADDRESS = 254


@transaction.atomic
def make_feed(person: Person, *, now: datetime) -> str:
    """Give a person's calendar an address; the token in it cannot be read again from what is kept.

    The address it had before leads nowhere any more.
    """
    token = secrets.token_urlsafe(TOKEN_BYTES)
    kept = {"hashed": hashed(token), "made_at": now}
    CalendarFeed.objects.update_or_create(person=person, defaults=kept)
    record("make calendar", person.employee_number, by=person, now=now)
    return token


@transaction.atomic
def revoke_feed(person: Person, *, now: datetime) -> bool:
    """Let the address of a person's calendar lead nowhere; whether there was one."""
    had_one = bool(CalendarFeed.objects.filter(person=person).delete()[0])
    if had_one:
        record("revoke calendar", person.employee_number, by=person, now=now)
    return had_one


def hashed(token: str) -> str:
    """What is kept of a token; 256 drawn bits need no slow hash."""
    return sha256(token.encode()).hexdigest()


@transaction.atomic
def set_reminders(person: Person, address: str, *, now: datetime) -> None:
    """Write to a person at an address of what is due; without one, no more.

    Raises `ValueError` for what is no address.
    """
    wanted = address.strip()
    if not wanted:
        if ReminderAddress.objects.filter(person=person).delete()[0]:
            record("stop reminders", person.employee_number, by=person, now=now)
        return
    try:
        validate_email(wanted)
    except ValidationError:
        raise ValueError(
            f"{wanted!r} came in, which is no address for mail; one such as name@agency.example "
            "is accepted, or nothing for no mail."
        ) from None
    if len(wanted) > LONGEST_ADDRESS:
        raise ValueError(f"{len(wanted)} characters came in; {LONGEST_ADDRESS} are accepted.")
    ReminderAddress.objects.update_or_create(person=person, defaults={"address": wanted})
    record("set reminders", person.employee_number, by=person, now=now)
