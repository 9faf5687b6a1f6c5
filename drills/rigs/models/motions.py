"""What this service multiplies the seconds of motions by."""

from typing import ClassVar

from django.db import models

from drills.engine.optimum.motions import LEAST_PERCENT, MOST_PERCENT, PARTS, Multipliers

_IN_RANGE = models.Q(
    *(
        condition
        for part in PARTS
        for condition in ((f"{part}__gte", LEAST_PERCENT), (f"{part}__lte", MOST_PERCENT))
    )
)


class MotionTable(models.Model):
    """One setting of the motion table, in percent of our own seconds; the newest is in force.

    It was fitted to so many `runs` of so many `people`; our own table again, to none. Who set it
    is in the audit.
    """

    walking = models.PositiveSmallIntegerField(default=100)
    opening = models.PositiveSmallIntegerField(default=100)
    taking = models.PositiveSmallIntegerField(default=100)
    runs = models.PositiveIntegerField(default=0)
    people = models.PositiveIntegerField(default=0)
    set_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-set_at", "-pk"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=_IN_RANGE, name="motion_table_in_range")
        ]

    def __str__(self) -> str:
        return f"walking {self.walking} %, opening {self.opening} %, taking {self.taking} %"

    @property
    def is_ours(self) -> bool:
        """Whether it is our own table."""
        return not self.runs

    @property
    def multipliers(self) -> Multipliers:
        """As the engine takes it."""
        return Multipliers(self.walking, self.opening, self.taking)
