"""Looks at a number with its password or code, and slows guessing down without shutting anyone out.

A try is counted for the pair of number and place before it is looked at, so that tries at the same
moment count as well. The place is the address, which a whole station shares, or a browser in which
this number was let in before: whoever fails elsewhere in somebody's name does not slow that one.
After five failures the pair waits, ever longer. A pair that never got in waits also when many fail
with its number, or from its place; but its own turn comes, whatever the others do meanwhile.
All figures here are ours, no source.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.contrib.auth.hashers import make_password
from django.db import transaction
from django.db.models import Q, Sum
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
    key, place = _hash("number", number), _hash("address", address)
    browser = _hash("device", device)
    known = SignInTry.objects.filter(number=key, place=browser, let_in_at__isnull=False).exists()
    used = browser if known else place
    wait = _counted(key, used, now=now)
    if wait:
        return Answer(wait=wait)
    person = Person.objects.filter(employee_number=number, is_active=True).first()
    found = _looked_at(person, secret, now=now)
    if found.person:
        _let_in(key, used, {place, browser}, now=now)
    return found


def _looked_at(person: Person | None, secret: str, *, now: datetime) -> Answer:
    if person and person.has_password:
        return Answer(person) if person.check_password(secret) else Answer()
    make_password(secret)  # the work that looking at a password would have been
    code = running_code(person, now=now) if person else None
    return Answer(person, code) if code and code_fits(secret, code) else Answer()


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
    is_known = row.let_in_at is not None
    crowd = NO_WAIT if is_known else _crowd_wait(row, now)
    had_to_wait = row.free_at is not None and now - row.free_at < FORGOTTEN_AFTER
    if crowd and not had_to_wait:
        row.free_at = now + crowd
        row.save(update_fields=["free_at"])
        return crowd
    lapsed = row.failed_at is None or now - row.failed_at > FORGOTTEN_AFTER
    row.failures = 1 if lapsed else row.failures + 1
    row.failed_at = now
    wait = max(crowd, _own_wait(row.failures, is_known=is_known))
    row.free_at = now + wait if wait else None
    row.save(update_fields=["failures", "failed_at", "free_at"])
    return NO_WAIT


def _own_wait(failures: int, *, is_known: bool) -> timedelta:
    """10 seconds after the fifth failure, twice as long after each further one."""
    if failures < FREE_TRIES:
        return NO_WAIT
    longest = LONGEST_WHERE_KNOWN if is_known else LONGEST_WAIT
    return min(longest, FIRST_WAIT * (1 << min(failures - FREE_TRIES, 10)))


def _crowd_wait(row: SignInTry, now: datetime) -> timedelta:
    """What others that fail with this number, or from this place, make a stranger wait."""
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
