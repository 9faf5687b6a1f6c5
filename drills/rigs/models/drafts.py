"""What was done to a draft, step by step, so that it can be undone."""

from typing import ClassVar

from django.db import models

from drills.people.models import Person
from drills.rigs.models.layouts import Revision


class DraftStep(models.Model):
    """One change of a draft; `before` is what it said until then, as a workbook of CSV files."""

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="steps")
    number = models.PositiveIntegerField()
    what = models.CharField(max_length=200)
    changed_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, related_name="draft_steps"
    )
    changed_at = models.DateTimeField()
    before = models.BinaryField()

    class Meta:
        ordering: ClassVar = ["-number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["revision", "number"], name="one_step_per_number")
        ]

    def __str__(self) -> str:
        return f"{self.revision}: {self.what}"
