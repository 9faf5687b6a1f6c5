"""What a person may do, and who cannot sign in yet, as others ask it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.hashers import UNUSABLE_PASSWORD_PREFIX

from drills.people.models import CertificationLevel, Person

EVERYBODY = "all"


@dataclass(frozen=True, slots=True)
class Group:
    """Some of those without a slip, by the key that a form sends."""

    key: str
    name: str
    people: tuple[Person, ...]


@dataclass(frozen=True, slots=True)
class Waiting:
    """Who is here and has no password: without a code, or with one they have not used yet.

    `groups` are those without a code: all, who never signed in, and those of each cohort.
    """

    without: tuple[Person, ...]
    unused: tuple[Person, ...]
    groups: tuple[Group, ...]


def waiting_for_slips(*, now: datetime) -> Waiting:
    """Everybody who cannot sign in without a slip, by name."""
    rows = Person.objects.filter(is_active=True, password__startswith=UNUSABLE_PASSWORD_PREFIX)
    people = tuple(rows.prefetch_related("cohorts"))
    holding = set(rows.filter(code__lapses_at__gt=now).values_list("pk", flat=True))
    without = tuple(person for person in people if person.pk not in holding)
    return Waiting(
        without=without,
        unused=tuple(person for person in people if person.pk in holding),
        groups=tuple(each for each in _groups(without) if each.people),
    )


def _groups(people: tuple[Person, ...]) -> Iterator[Group]:
    yield Group(EVERYBODY, "Everybody without a slip", people)
    new = tuple(person for person in people if person.last_login is None)
    yield Group("new", "Only who never signed in", new)
    cohorts = {cohort for person in people for cohort in person.cohorts.all()}
    for cohort in sorted(cohorts, key=lambda each: each.name):
        theirs = tuple(person for person in people if cohort in person.cohorts.all())
        yield Group(f"cohort:{cohort.slug}", f"Only {cohort.name}", theirs)


def level_above(person: Person | None, level: str) -> str:
    """The name of a certification level when it is above a person's own, else nothing.

    A person without a level has every level above them, and a level that nobody keeps is above
    everybody: what is not known is never allowed. Nobody, since erased, has none above.
    """
    if person is None or not level:
        return ""
    wanted = CertificationLevel.objects.filter(key=level).first()
    if wanted is None:
        return level
    own = person.certification.rank if person.certification else -1
    return wanted.name if wanted.rank > own else ""
