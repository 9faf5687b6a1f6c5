"""One-time codes, and the passwords that people choose with them."""

import secrets
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.contrib.auth.hashers import PBKDF2PasswordHasher, make_password
from django.db import transaction

from drills.people.audit import Line, record, record_all
from drills.people.models import Person, PersonalCode, SignInCode

# No sign looks like another, and without vowels they spell no words.
ALPHABET = "CDFGHJKMNPQRTWX34679"
GROUPS, GROUP = 3, 4  # 12 signs of 20 are 52 bits
# Ours, no source: a slip printed before the days off is still good after them.
LASTS = timedelta(days=14)


class CodeGoneError(ValueError):
    """Raised when a code was used, replaced or lapsed before a password was chosen with it."""


@dataclass(frozen=True, slots=True)
class Slip:
    """A new code, to be shown once: it cannot be read again from what is kept."""

    person: Person
    code: str
    lapses_at: datetime


class _CodeHasher(PBKDF2PasswordHasher):
    """52 drawn bits need no slow hash, and slips of a whole service are made in one request."""

    iterations = 10_000


def give_codes(people: Iterable[Person], *, by: Person | None, now: datetime) -> list[Slip]:
    """A new code for each who is here; whatever code or password they had is gone, and so is their
    personal code.

    Without the password, whoever is signed in with it is signed out.
    """
    slips = {person.pk: Slip(person, _new_code(), now + LASTS) for person in people}
    hashed = {pk: _hashed(slip.code) for pk, slip in slips.items()}
    with transaction.atomic():
        rows = Person.objects.select_for_update().filter(pk__in=slips, is_active=True)
        here = {person.pk for person in rows}
        reset = _take_passwords(rows)
        SignInCode.objects.filter(person__in=here).delete()
        PersonalCode.objects.filter(person__in=here).delete()
        SignInCode.objects.bulk_create(
            SignInCode(person_id=pk, hashed=hashed[pk], lapses_at=now + LASTS) for pk in here
        )
        given = [slip for pk, slip in slips.items() if pk in here]
        lines = [_line(slip, slip.person.pk in reset) for slip in given]
        record_all("give code", lines, by=by, now=now)
    return given


def _take_passwords(people: Iterable[Person]) -> set[int]:
    """End the password of each who has one, and say whose they were."""
    reset = [person for person in people if person.has_password]
    for person in reset:
        person.set_unusable_password()
    Person.objects.bulk_update(reset, ["password"])
    return {person.pk for person in reset}


def running_code(person: Person, *, now: datetime) -> SignInCode | None:
    """The code that a person may still use, if any."""
    return SignInCode.objects.filter(person=person, lapses_at__gt=now).first()


def code_fits(given: str, code: SignInCode) -> bool:
    """Whether a code is the one that was given out, however it was spaced and written."""
    return _CodeHasher().verify(_plain(given), code.hashed)


def choose_password(code_id: int, password: str, *, now: datetime) -> Person:
    """Give a person the password they chose with a code, which is used up by it."""
    hashed = make_password(password)  # slow by design, so before anything is locked
    with transaction.atomic():
        people = Person.objects.select_for_update(of=("self",)).filter(is_active=True)
        person = people.filter(code=code_id, code__lapses_at__gt=now).first()
        used, _ = SignInCode.objects.filter(pk=code_id, person=person).delete()
        if person is None or not used:
            raise CodeGoneError("The code was used, replaced or has lapsed.")
        _keep(person, hashed)
        record("choose password", person.employee_number, by=person, now=now)
    return person


def change_password(person: Person, password: str, *, now: datetime) -> None:
    """Give a person another password; every other browser they are signed in with is out."""
    hashed = make_password(password)
    with transaction.atomic():
        _keep(person, hashed)
        record("change password", person.employee_number, by=person, now=now)


def _keep(person: Person, hashed: str) -> None:
    person.password = hashed
    person.save(update_fields=["password"])


def _new_code() -> str:
    signs = iter(lambda: secrets.choice(ALPHABET), "")
    return "-".join("".join(next(signs) for _ in range(GROUP)) for _ in range(GROUPS))


def _hashed(code: str) -> str:
    hasher = _CodeHasher()
    return hasher.encode(_plain(code), hasher.salt())


def _plain(code: str) -> str:
    return "".join(sign for sign in code.upper() if sign.isalnum())


def _line(slip: Slip, had_password: bool) -> Line:
    after = {"until": slip.lapses_at.isoformat(), "had_password": had_password}
    return Line(subject=slip.person.employee_number, after=after)
