"""How people hear of what is due outside the site: the address of a calendar, and mail."""

import secrets
from datetime import datetime, timedelta
from hashlib import sha256

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction
from django.utils import timezone

from drills.people.audit import record
from drills.people.models import Person
from drills.runs.models import CalendarFeed, ReminderAddress

TOKEN_BYTES = 32
# For so long the link of a letter confirms; and a letter goes no sooner after another. Ours, no
# source.
CONFIRMED_WITHIN, BETWEEN_LETTERS = timedelta(days=2), timedelta(minutes=10)
A_MINUTE = 60
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


def is_past_leaving(person: Person, since: datetime) -> bool:
    """Whether what a person asked for at a moment still stands: who left asks anew on return."""
    return person.left_at is None or person.left_at < since


@transaction.atomic
def set_reminders(person: Person, address: str, *, now: datetime) -> str:
    """Have a person written to at an address once it is confirmed; without an address no more.

    Gives the token of the letter that asks for it; none where nothing is to be confirmed. Raises
    `ValueError` for what is no address, and where the last letter went minutes ago.
    """
    wanted = address.strip()
    if not wanted:
        if ReminderAddress.objects.filter(person=person).delete()[0]:
            record("stop reminders", person.employee_number, by=person, now=now)
        return ""
    _refuse_address(wanted)
    row = ReminderAddress.objects.select_for_update(of=("self",)).filter(person=person).first()
    if row and row.address == wanted and is_confirmed(row, person):
        return ""
    if row and row.asked_at:
        _refuse_another(row.address, row.asked_at, now)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    kept = {"address": wanted, "asked_at": now, "hashed": hashed(token), "confirmed_at": None}
    ReminderAddress.objects.update_or_create(person=person, defaults=kept)
    record("set reminders", person.employee_number, by=person, now=now)
    return token


def forget_letter(token: str) -> None:
    """Let another letter be asked for at once, where that of a token did not go."""
    ReminderAddress.objects.filter(hashed=hashed(token)).update(hashed="", asked_at=None)


def waits_for(token: str, *, now: datetime) -> ReminderAddress | None:
    """The address that a letter's token confirms; None once it was, or where it is too old."""
    rows = ReminderAddress.objects.select_related("person").filter(person__is_active=True)
    row = rows.filter(hashed=hashed(token), asked_at__gt=now - CONFIRMED_WITHIN).first()
    return row if row and row.asked_at and is_past_leaving(row.person, row.asked_at) else None


@transaction.atomic
def confirm_address(token: str, *, now: datetime) -> bool:
    """Confirm an address by the token of its letter, once; whether it is one that waits."""
    row = waits_for(token, now=now)
    if row is None:
        return False
    kept = ReminderAddress.objects.filter(pk=row.pk, hashed=hashed(token))
    if not kept.update(hashed="", confirmed_at=now):
        return False
    record("confirm reminders", row.person.employee_number, by=row.person, now=now)
    return True


def is_confirmed(row: ReminderAddress, person: Person) -> bool:
    """Whether letters may go to an address: it was confirmed, and not before its person left."""
    return row.confirmed_at is not None and is_past_leaving(person, row.confirmed_at)


def _refuse_another(address: str, asked_at: datetime, now: datetime) -> None:
    if now - asked_at < BETWEEN_LETTERS:
        raise ValueError(
            f"A letter went to {address} at {timezone.localtime(asked_at):%H:%M}. The next can go "
            f"{BETWEEN_LETTERS.seconds // A_MINUTE} minutes after it."
        )


def _refuse_address(wanted: str) -> None:
    try:
        validate_email(wanted)
    except ValidationError:
        raise ValueError(
            f"{wanted!r} came in, which is no address for mail; one such as name@agency.example "
            "is accepted, or nothing for no mail."
        ) from None
    if len(wanted) > LONGEST_ADDRESS:
        raise ValueError(f"{len(wanted)} characters came in; {LONGEST_ADDRESS} are accepted.")
