"""Setting the motion table of the service, and going back to our own."""

from datetime import datetime

from django.db import transaction

from drills.engine.optimum.motions import OURS, Multipliers
from drills.people.access import require_role
from drills.people.audit import record
from drills.people.models import Person, Role
from drills.rigs.models import MotionTable

MOTION_KEEPERS = (Role.KEEPER, Role.EDUCATOR)


def motion_table() -> MotionTable | None:
    """The setting in force; None while nobody set any, which is our own table."""
    return MotionTable.objects.first()


def motions_in_force() -> Multipliers:
    """What drills that are made now go by."""
    found = motion_table()
    return found.multipliers if found else OURS


@transaction.atomic
def take_over_motions(
    multipliers: Multipliers, *, runs: int, people: int, by: Person, now: datetime
) -> MotionTable:
    """Put multipliers that were fitted to runs in force; the same once more changes nothing."""
    require_role(by, *MOTION_KEEPERS)
    before = motion_table()
    if before and not before.is_ours and before.multipliers == multipliers:
        return before
    return _set(before, multipliers, runs=runs, people=people, by=by, now=now)


@transaction.atomic
def motions_as_ours(*, by: Person, now: datetime) -> MotionTable | None:
    """Go back to our own table; where it is in force nothing changes."""
    require_role(by, *MOTION_KEEPERS)
    before = motion_table()
    if before is None or before.is_ours:
        return before
    return _set(before, OURS, runs=0, people=0, by=by, now=now)


def _set(
    before: MotionTable | None,
    multipliers: Multipliers,
    *,
    runs: int,
    people: int,
    by: Person,
    now: datetime,
) -> MotionTable:
    made = MotionTable.objects.create(
        walking=multipliers.walking,
        opening=multipliers.opening,
        taking=multipliers.taking,
        runs=runs,
        people=people,
        set_at=now,
    )
    record("set motion table", "motions", by=by, now=now, before=_told(before), after=_told(made))
    return made


def _told(table: MotionTable | None) -> dict[str, int]:
    table = table or MotionTable()
    names = ("walking", "opening", "taking", "runs", "people")
    return {name: getattr(table, name) for name in names}
