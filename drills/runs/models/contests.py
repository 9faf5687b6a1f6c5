"""Answers whose mark somebody contests."""

from typing import ClassVar

from django.db import models

from drills.people.models import Person
from drills.runs.models.runs import Presentation


class Verdict(models.TextChoices):
    UPHELD = "upheld", "upheld"
    VOIDED = "voided", "voided"


class ContestQuerySet(models.QuerySet["Contest"]):
    def waiting(self) -> "ContestQuerySet":
        """Those that nobody has decided."""
        return self.filter(decided_at=None)


class Contest(models.Model):
    """That a person says the mark of an answer of theirs is wrong, and what was decided.

    Upheld, the mark stands; voided, the answer counts for nothing. An answer is contested once.
    """

    presentation = models.OneToOneField(
        Presentation, on_delete=models.CASCADE, related_name="contest"
    )
    because = models.CharField(max_length=300)
    made_at = models.DateTimeField()
    verdict = models.CharField(max_length=10, choices=Verdict.choices, blank=True)
    decided_at = models.DateTimeField(null=True, blank=True)
    decided_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    answer = models.CharField(max_length=300, blank=True)

    objects = ContestQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["made_at"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(verdict="", decided_at=None)
                | models.Q(verdict__in=Verdict.values, decided_at__isnull=False),
                name="contest_decided_with_its_time",
            )
        ]

    def __str__(self) -> str:
        return f"{self.presentation}: {self.verdict or 'waiting'}"
