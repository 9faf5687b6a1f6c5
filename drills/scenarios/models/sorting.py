"""How the service sorts patients, where the schemes and services do not agree."""

from typing import ClassVar

from django.db import models
from django.db.models import Q

from drills.engine.incidents import Sorting
from drills.engine.incidents.findings import MOST_THRESHOLD, USUAL_THRESHOLD
from drills.engine.triage import SALT_FAMILY, START_FAMILY
from drills.engine.triage.findings import RADIAL, REFILL

SCHEMES = [(START_FAMILY, "START, and JumpSTART for children"), (SALT_FAMILY, "SALT")]
PERFUSION = [(RADIAL, "the pulse at the wrist"), (REFILL, "capillary refill")]
DECIDED_LENGTH = 200
THE_ONE = 1


class SortingSettings(models.Model):
    """The one row of a service, with who or which document of medical direction decided it.

    Without it patients are sorted by START and JumpSTART, perfusion by the pulse at the wrist, from
    3 patients on.
    """

    number = models.PositiveSmallIntegerField(primary_key=True, default=THE_ONE)
    scheme = models.CharField(max_length=30, choices=SCHEMES, default=START_FAMILY)
    perfusion = models.CharField(max_length=10, choices=PERFUSION, default=RADIAL)
    threshold = models.PositiveSmallIntegerField(default=USUAL_THRESHOLD)
    decided = models.CharField(max_length=DECIDED_LENGTH)
    changed_at = models.DateTimeField()

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(number=THE_ONE), name="sorting_is_set_once"),
            models.CheckConstraint(
                condition=Q(threshold__gte=2, threshold__lte=MOST_THRESHOLD),
                name="sorting_begins_with_some_patients",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.words}."

    @property
    def words(self) -> str:
        """The settings in one sentence."""
        test = f", perfusion by {self.get_perfusion_display()}" if self.is_start else ""
        return f"{self.get_scheme_display()}{test}; from {self.threshold} patients on"

    @property
    def is_start(self) -> bool:
        """Whether it is the scheme that has two tests of perfusion."""
        return self.scheme == START_FAMILY

    @property
    def sorting(self) -> Sorting:
        """The same as the engine works with."""
        return Sorting(self.scheme, self.perfusion, self.threshold)
