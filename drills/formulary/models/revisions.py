"""Revisions of the formulary, from the draft to the approval, and the document that was signed."""

from typing import Any, ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from drills.formulary.models.texts import (
    DEMO_NAME,
    DEMO_NOTICE,
    NAME_LENGTH,
    PRINTED_LENGTH,
    TEXT_LENGTH,
)
from drills.people.models import Person


class FormularyState(models.TextChoices):
    DRAFT = "draft", "draft"
    SUBMITTED = "submitted", "submitted"
    APPROVED = "approved", "approved"
    SUPERSEDED = "superseded", "superseded"


NOT_APPROVED = (FormularyState.DRAFT, FormularyState.SUBMITTED)


class FormularyRevisionManager(models.Manager["FormularyRevision"]):
    def get_by_natural_key(self, number: int) -> "FormularyRevision":
        return self.get(number=number)


class FormularyRevision(models.Model):
    """One numbered state of the formulary, drilled once a medical director has approved it.

    An educator submits a draft (`submitted_by`, `submitted_at`); the director may send it back
    (`sent_back_because`). The director approves it here, or signs on paper and an educator records
    that (`recorded_by`), with a `SignedDocument`. `document` names what it is approved by. The
    names of who approved and who recorded are kept as text, since a person may be erased.
    `contradictions_shown` is how many contradictions stood before who approved, and
    `changes_meant` the flagged changes that were said to be meant, in words. `name` and `notes`
    are its own, and `written_from` with its version and day is the document that a workbook says
    it was written from. Number 0 is the demonstration formulary, which the database itself keeps
    from ever being approved.
    """

    number = models.PositiveIntegerField(unique=True)
    state = models.CharField(
        max_length=10, choices=FormularyState.choices, default=FormularyState.DRAFT
    )
    submitted_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    submitted_at = models.DateTimeField(null=True, blank=True)
    sent_back_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    sent_back_because = models.CharField(max_length=TEXT_LENGTH, blank=True)
    approved_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="formularies"
    )
    approved_by_name = models.CharField(max_length=NAME_LENGTH, blank=True)
    approved_on = models.DateField(null=True, blank=True)
    recorded_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    recorded_by_name = models.CharField(max_length=NAME_LENGTH, blank=True)
    document = models.CharField(max_length=TEXT_LENGTH, blank=True)
    changes_meant = models.JSONField(default=list, blank=True)
    contradictions_shown = models.PositiveSmallIntegerField(null=True, blank=True)
    name = models.CharField(max_length=NAME_LENGTH, blank=True)
    written_from = models.CharField(max_length=TEXT_LENGTH, blank=True)
    written_version = models.CharField(max_length=PRINTED_LENGTH, blank=True)
    written_on = models.DateField(null=True, blank=True)
    notes = models.CharField(max_length=300, blank=True)
    is_demo = models.BooleanField(default=False)
    notice = models.CharField(max_length=TEXT_LENGTH, blank=True)

    objects = FormularyRevisionManager()

    class Meta:
        ordering: ClassVar = ["number"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["state"], condition=Q(state="approved"), name="one_approved_formulary"
            ),
            models.CheckConstraint(
                condition=Q(is_demo=False) | Q(state="draft"),
                name="demonstration_formulary_is_never_approved",
            ),
            models.CheckConstraint(
                condition=Q(state__in=["draft", "submitted"])
                | (Q(approved_on__isnull=False) & ~Q(approved_by_name="") & ~Q(document="")),
                name="approval_says_who_when_and_which_document",
            ),
        ]

    def __str__(self) -> str:
        return DEMO_NAME if self.is_demo else f"Formulary, revision {self.number}"

    def natural_key(self) -> tuple[int]:
        return (self.number,)

    @property
    def warning(self) -> str:
        """What stands wherever it is shown: its own notice; and on a site that is a demonstration
        each revision is for demonstration, whoever approved it."""
        return self.notice or (DEMO_NOTICE if settings.READINESS_DEMO else "")

    @property
    def was_handed_in(self) -> bool:
        """Submitted, or submitted once and sent back."""
        return self.state == FormularyState.SUBMITTED or bool(self.sent_back_because)

    def is_older_than(self, other: "FormularyRevision") -> bool:
        """By number: a draft that waited while a later one was approved."""
        return self.number < other.number


class SignedDocument(models.Model):
    """The paper that a medical director signed, as a PDF or a picture, kept in the database so
    that a backup holds it; apart from its revision, which is read often."""

    revision = models.OneToOneField(
        FormularyRevision, on_delete=models.CASCADE, related_name="signed"
    )
    name = models.CharField(max_length=NAME_LENGTH)
    content_type = models.CharField(max_length=40)
    content = models.BinaryField()
    sha256 = models.CharField(max_length=64)

    def __str__(self) -> str:
        return f"{self.name}, signed for {self.revision}"


class RuleIsKeptError(TypeError):
    """Raised when what belongs to a revision that is no draft would be changed or removed."""

    def __init__(self) -> None:
        super().__init__("A rule that was approved is never changed; make a new revision.")


class OfRevision(models.Model):
    """What belongs to a revision, and stays as it is once that is no draft."""

    class Meta:
        abstract = True

    revision: Any

    def save(self, *args: Any, **kwargs: Any) -> None:
        self._refuse_kept()
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        self._refuse_kept()
        return super().delete(*args, **kwargs)

    def _refuse_kept(self) -> None:
        if self.revision.state != FormularyState.DRAFT:
            raise RuleIsKeptError
