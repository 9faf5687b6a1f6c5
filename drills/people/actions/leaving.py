"""People who leave: nothing lets them in any more, and everything they did is kept."""

from collections.abc import Sequence
from datetime import datetime

from django.db.models import Q

from drills.people.models import Pairing, Person, PersonalCode, SignInCode


def leave(people: Sequence[Person], *, now: datetime) -> None:
    """Let people leave, within the transaction of the change that says so.

    Without their password no browser in which they are signed in is known any more, so that none
    of them wakes up again when they come back: then a new code lets them in.
    """
    for person in people:
        person.is_active, person.left_at = False, now
        person.assessed_prompt_until = person.scan_prompt_until = None
        person.set_unusable_password()
    Person.objects.bulk_update(
        people, ["is_active", "left_at", "assessed_prompt_until", "scan_prompt_until", "password"]
    )
    SignInCode.objects.filter(person__in=people).delete()
    PersonalCode.objects.filter(person__in=people).delete()
    theirs = Q(fto__in=people) | Q(crew__in=people)
    Pairing.objects.running(now).filter(theirs).update(ends_at=now)
