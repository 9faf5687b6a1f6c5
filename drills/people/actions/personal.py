"""Personal codes: how crew take over a shared screen from each other between two calls.

A code of six digits is no password. It is taken only where somebody signed in with a password or a
slip not long ago, for who is crew and nothing else, and after five wrong ones no more until its
person signs in and chooses another. All figures here are ours, no source.
"""

import re
from datetime import datetime, timedelta

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction
from django.db.models import F

from drills.people.actions.signing_in import named
from drills.people.audit import record
from drills.people.models import Person, PersonalCode, Role

DIGITS, LEAST_APART = 6, 3
FREE_TRIES = 5
# A shift of twelve hours: a screen is shared no longer after it was opened with a password.
SHARED_FOR = timedelta(hours=12)
_ROW = "01234567890"
_CODE, _NO_DIGITS = re.compile(rf"[0-9]{{{DIGITS}}}"), re.compile("[^0-9]")
TAKES = (
    f"A personal code takes {DIGITS} digits: at least {LEAST_APART} different ones, no row such as "
    "123456, and not those of your employee number."
)


def may_take_over(person: Person) -> bool:
    """Whether a person may have a personal code: crew who are nothing else."""
    return person.is_active and person.roles == {Role.CREW}


def refuse_code(code: str, person: Person) -> None:
    """Raise `ValueError` of a code that is none, or that anybody would try first."""
    own = _NO_DIGITS.sub("", person.employee_number)
    is_plain = code in _ROW + _ROW[::-1] or len(set(code)) < LEAST_APART
    is_own = len(own) >= LEAST_APART and own in code
    if not _CODE.fullmatch(code) or is_plain or is_own:
        raise ValueError(TAKES)


def choose_personal_code(person: Person, code: str, *, now: datetime) -> None:
    """Give a person the code they chose, in place of the one before; `ValueError` if it does not
    do, or they may have none."""
    if not may_take_over(person):
        raise ValueError("A personal code is for crew who hold no other role.")
    refuse_code(code, person)
    kept = {"hashed": make_password(code), "failures": 0}
    with transaction.atomic():
        PersonalCode.objects.update_or_create(person=person, defaults=kept)
        record("choose personal code", person.employee_number, by=person, now=now)


@transaction.atomic
def drop_personal_code(person: Person, *, now: datetime) -> None:
    """Take a person's code away; nothing where they have none."""
    if PersonalCode.objects.filter(person=person).delete()[0]:
        record("drop personal code", person.employee_number, by=person, now=now)


def take_over(number: str, code: str) -> Person | None:
    """Who has that number and personal code; None where they do not go together, are not crew
    alone, or too many wrong ones came in. Counted as wrong before it is looked at, so that tries at
    the same moment count as well."""
    person = named(number)
    codes = PersonalCode.objects.filter(person=person, failures__lt=FREE_TRIES)
    is_free = codes.update(failures=F("failures") + 1)
    kept = PersonalCode.objects.filter(person=person).first() if is_free else None
    if person is None or kept is None:
        make_password(code)  # the work that looking at a code would have been
        return None
    if not check_password(code, kept.hashed) or not may_take_over(person):
        return None
    PersonalCode.objects.filter(pk=kept.pk).update(failures=0)
    return person
