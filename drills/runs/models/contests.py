"""Marks that somebody contests: of answers, and of what an officer wrote at the open doors."""

from typing import Any, ClassVar

from django.db import models

from drills.people.models import Person
from drills.runs.models.hands_on import Sheet
from drills.runs.models.runs import Presentation


class Verdict(models.TextChoices):
    UPHELD = "upheld", "upheld"
    VOIDED = "voided", "voided"


class ContestQuerySet(models.QuerySet[Any]):
    def waiting(self) -> "ContestQuerySet":
        """Those that nobody has decided."""
        return self.filter(decided_at=None)


class Contested(models.Model):
    """That a person says a mark of theirs is wrong, and what was decided.

    Upheld, the mark stands; voided, it counts for nothing. What was decided once is.
    """

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
        abstract = True


def _decided_with_its_time(name: str) -> models.CheckConstraint:
    waits = models.Q(verdict="", decided_at=None)
    is_decided = models.Q(verdict__in=Verdict.values, decided_at__isnull=False)
    return models.CheckConstraint(condition=waits | is_decided, name=name)


class Contest(Contested):
    """The contest of an answer. An answer is contested once."""

    presentation = models.OneToOneField(
        Presentation, on_delete=models.CASCADE, related_name="contest"
    )

    class Meta:
        ordering: ClassVar = ["made_at"]
        constraints: ClassVar = [_decided_with_its_time("contest_decided_with_its_time")]

    def __str__(self) -> str:
        return f"{self.presentation}: {self.verdict or 'waiting'}"


class SheetContest(Contested):
    """The contest of one thing an officer wrote on a sheet: the mark of a line, by its number as
    text, the time, or the wrong doors. Each is contested once."""

    sheet = models.ForeignKey(Sheet, on_delete=models.CASCADE, related_name="contests")
    part = models.CharField(max_length=6)

    class Meta:
        ordering: ClassVar = ["made_at", "pk"]
        constraints: ClassVar = [
            _decided_with_its_time("sheet_contest_decided_with_its_time"),
            models.UniqueConstraint(fields=["sheet", "part"], name="one_contest_of_a_mark"),
        ]

    def __str__(self) -> str:
        return f"{self.part} of {self.sheet}: {self.verdict or 'waiting'}"
