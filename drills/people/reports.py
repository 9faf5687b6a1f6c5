"""What a person may do, and who cannot sign in yet, as others ask it."""

from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.hashers import UNUSABLE_PASSWORD_PREFIX

from drills.people.models import CertificationLevel, Person


@dataclass(frozen=True, slots=True)
class Waiting:
    """Who is here and has no password: without a code, or with one they have not used yet."""

    without: tuple[Person, ...]
    unused: tuple[Person, ...]


def waiting_for_slips(*, now: datetime) -> Waiting:
    """Everybody who cannot sign in without a slip, by name."""
    rows = Person.objects.filter(is_active=True, password__startswith=UNUSABLE_PASSWORD_PREFIX)
    people = tuple(rows)
    holding = set(rows.filter(code__lapses_at__gt=now).values_list("pk", flat=True))
    return Waiting(
        without=tuple(person for person in people if person.pk not in holding),
        unused=tuple(person for person in people if person.pk in holding),
    )


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
