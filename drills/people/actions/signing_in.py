"""Looks at a number with its password or code, and slows guessing down without shutting anyone out.

A try is counted for the pair of number and place before it is looked at, so that tries at the same
moment count as well. The place is the address, which a whole station shares, or a browser in which
this number was let in before: whoever fails elsewhere in somebody's name does not slow that one.
After five failures the pair waits, ever longer. A pair that never got in waits also when many fail
with its number, or from its place; but its own turn comes, whatever the others do meanwhile.
A number counts as the same however its letters are written.
All figures here are ours, no source.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.contrib.auth.hashers import make_password
from django.db import transaction
from django.db.models import Q, QuerySet, Sum
from django.utils.crypto import salted_hmac

from drills.people.actions.codes import code_fits, running_code
from drills.people.models import Person, SignInCode, SignInTry

FREE_TRIES = 5
FREE_OF_NUMBER, FREE_OF_PLACE = 20, 100  # in the last hour, by all others together
NO_WAIT = timedelta(0)
FIRST_WAIT, FIRST_CROWD_WAIT = timedelta(seconds=10), timedelta(seconds=30)
LONGEST_WAIT, LONGEST_WHERE_KNOWN = timedelta(minutes=5), timedelta(minutes=1)
FORGOTTEN_AFTER, KNOWN_FOR = timedelta(hours=1), timedelta(days=90)


@dataclass(frozen=True, slots=True)
class Answer:
    """Who is let in, with the code they came by if any; or how long to wait; or neither."""

    person: Person | None = None
    code: SignInCode | None = None
    wait: timedelta = NO_WAIT


def look(number: str, secret: str, *, address: str, device: str, now: datetime) -> Answer:
    """Let a person in who knows their password or holds a code, unless the pair must wait.

    A number that nobody has is answered alike, after about the same work.
    """
    person = named(number)
    counted_as = person.employee_number if person else number.upper()
    key, place = _hash("number", counted_as), _hash("address", address)
    browser = _hash("device", device)
    known = SignInTry.objects.filter(number=key, place=browser, let_in_at__isnull=False).exists()
    used = browser if known else place
    wait = _counted(key, used, now=now)
    if wait:
        return Answer(wait=wait)
    found = _looked_at(person if person and person.is_active else None, secret, now=now)
    if found.person:
        _let_in(key, used, {place, browser}, now=now)
    return found


def named(number: str) -> Person | None:
    """Whose number it is: as it was written, else however its letters are, if that is one alone."""
    alike = Person.objects.filter(employee_number__iexact=number)
    rows = {each.employee_number: each for each in alike}
    return rows.get(number) or (next(iter(rows.values())) if len(rows) == 1 else None)


def _looked_at(person: Person | None, secret: str, *, now: datetime) -> Answer:
    if person and person.has_password:
        return Answer(person) if person.check_password(secret) else Answer()
    make_password(secret)  # the work that looking at a password would have been
    code = running_code(person, now=now) if person else None
    return Answer(person, code) if code and code_fits(secret, code) else Answer()


def tries_of(employee_number: str) -> QuerySet[SignInTry]:
    """Every row of tries with a number, from wherever."""
    return SignInTry.objects.filter(number=_hash("number", employee_number))


@transaction.atomic
def _counted(number: str, place: str, *, now: datetime) -> timedelta:
    """Count a try as failed until it is found good; how long to wait instead, if at all."""
    rows = SignInTry.objects.select_for_update()
    row, is_new = rows.get_or_create(number=number, place=place)
    if is_new:
        _forget(now)
    free_at: datetime = row.free_at or now
    if free_at > now:
        return free_at - now
    crowd = _crowd_wait(row, now)
    if crowd and not _has_waited(row, now):
        row.free_at = now + crowd
        row.save(update_fields=["free_at"])
        return crowd
    row.failures = row.failures + 1 if _is_fresh(row.failed_at, now) else 1
    row.failed_at = now
    row.free_at = now + max(crowd, _own_wait(row))
    row.save(update_fields=["failures", "failed_at", "free_at"])
    return NO_WAIT


def _has_waited(row: SignInTry, now: datetime) -> bool:
    """Whether the pair was told to wait, and did: then its turn has come.

    A try after which nobody had to wait is free again at the moment it failed.
    """
    return _is_fresh(row.free_at, now) and row.free_at != row.failed_at


def _is_fresh(at: datetime | None, now: datetime) -> bool:
    return at is not None and now - at <= FORGOTTEN_AFTER


def _own_wait(row: SignInTry) -> timedelta:
    """10 seconds after the fifth failure, twice as long after each further one."""
    if row.failures < FREE_TRIES:
        return NO_WAIT
    longest = LONGEST_WHERE_KNOWN if row.let_in_at else LONGEST_WAIT
    return min(longest, FIRST_WAIT * (1 << min(row.failures - FREE_TRIES, 10)))


def _crowd_wait(row: SignInTry, now: datetime) -> timedelta:
    """What others that fail with this number, or from this place, make one wait who never got in
    with it from there."""
    if row.let_in_at:
        return NO_WAIT
    others = SignInTry.objects.exclude(pk=row.pk).filter(failed_at__gt=now - FORGOTTEN_AFTER)
    by_number, by_place = (
        others.filter(which).aggregate(all=Sum("failures"))["all"] or 0
        for which in (Q(number=row.number), Q(place=row.place))
    )
    over = max(by_number // FREE_OF_NUMBER, by_place // FREE_OF_PLACE)
    return min(LONGEST_WAIT, FIRST_CROWD_WAIT * (1 << min(over - 1, 10))) if over else NO_WAIT


@transaction.atomic
def _let_in(number: str, used: str, places: set[str], *, now: datetime) -> None:
    """Forget the failures of the pair, and know the number in these places from now on."""
    for place in sorted(places):  # in one order, so that no two of these wait for each other
        SignInTry.objects.update_or_create(number=number, place=place, defaults={"let_in_at": now})
    rows = SignInTry.objects.filter(number=number, place=used)
    rows.update(failures=0, failed_at=None, free_at=None)


def _forget(now: datetime) -> None:
    """Remove what slows nobody any more."""
    before = now - FORGOTTEN_AFTER
    stale = Q(failed_at__lt=before) | Q(failed_at=None, free_at__lt=before)
    SignInTry.objects.filter(stale & Q(let_in_at=None) | Q(let_in_at__lt=now - KNOWN_FOR)).delete()


def _hash(kind: str, value: str) -> str:
    return salted_hmac(f"people.sign-in.{kind}", value, algorithm="sha256").hexdigest()
