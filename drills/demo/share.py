"""How much is known of those who have been here for long: a sentence that seeding ends with."""

from datetime import datetime, timedelta

from django.utils import timezone

from drills.boards.known import Numbered, musts_numbered
from drills.people.models import Person, Role

# From so many days after their first posting somebody counts as experienced.
EXPERIENCED_DAYS = 180


def experienced(now: datetime) -> list[Person]:
    """Who rides in the demonstration and was posted half a year ago or earlier."""
    since = timezone.localdate(now - timedelta(days=EXPERIENCED_DAYS))
    people = Person.objects.filter(
        is_demo=True, grants__role=Role.CREW, postings__starts_on__lte=since
    )
    return list(people.distinct().order_by("employee_number"))


def told_share(now: datetime) -> str:
    """The must-haves of experienced people that carry a number, as a sentence."""
    found: Numbered = musts_numbered(experienced(now), now=now)
    return (
        f"Of the must-haves of all calls, {found.in_100} in 100 carry a number for the "
        f"{found.people} people who have been here for half a year, each on the rig they ride "
        f"({found.numbered:,} of {found.things:,}; simulated)."
    )
