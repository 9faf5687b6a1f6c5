"""Medicines, revisions of the formulary, and their dose rules as printed."""

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q

from drills.engine.medicines import printed_dose
from drills.people.models import Person
from drills.rigs.models import Need

TEXT_LENGTH = 200
SHORT_LENGTH = 40


class MedicineManager(models.Manager["Medicine"]):
    def get_by_natural_key(self, key: str) -> "Medicine":
        return self.get(key=key)


class Medicine(models.Model):
    """A medicine by its generic name; an energy that is given has its place here as well."""

    key = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=120)

    objects = MedicineManager()

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name

    def natural_key(self) -> tuple[str]:
        return (self.key,)


class FormularyState(models.TextChoices):
    DRAFT = "draft", "draft"
    APPROVED = "approved", "approved"
    SUPERSEDED = "superseded", "superseded"


class FormularyRevisionManager(models.Manager["FormularyRevision"]):
    def get_by_natural_key(self, number: int) -> "FormularyRevision":
        return self.get(number=number)


class FormularyRevision(models.Model):
    """One numbered state of the formulary, drilled once a medical director has approved it.

    The name of who approved is kept as text, since the person may be erased. Number 0 is the
    demonstration formulary, which the database itself keeps from ever being approved.
    """

    number = models.PositiveIntegerField(unique=True)
    state = models.CharField(
        max_length=10, choices=FormularyState.choices, default=FormularyState.DRAFT
    )
    approved_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="formularies"
    )
    approved_by_name = models.CharField(max_length=120, blank=True)
    approved_on = models.DateField(null=True, blank=True)
    document = models.CharField(max_length=TEXT_LENGTH, blank=True)
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
                condition=Q(state="draft")
                | (Q(approved_on__isnull=False) & ~Q(approved_by_name="") & ~Q(document="")),
                name="approval_says_who_when_and_which_document",
            ),
        ]

    def __str__(self) -> str:
        return "Demonstration formulary" if self.is_demo else f"Formulary, revision {self.number}"

    def natural_key(self) -> tuple[int]:
        return (self.number,)

    def is_older_than(self, other: "FormularyRevision") -> bool:
        """By number: a draft that waited while a later one was approved."""
        return self.number < other.number


class Basis(models.TextChoices):
    """What a dose is counted by."""

    FIXED = "fixed", "fixed"
    PER_KG = "per kg", "per kg"
    RANGE = "range", "range"
    RANGE_PER_KG = "range per kg", "range per kg"
    PER_MINUTE = "per minute", "per minute"
    PER_KG_PER_MINUTE = "per kg per minute", "per kg per minute"
    PER_HOUR = "per hour", "per hour"
    ML_PER_KG = "mL per kg", "mL per kg"
    ML_PER_KG_PER_PERCENT = "mL per kg per percent", "mL per kg per percent"
    J_PER_KG = "J per kg", "J per kg"


class RuleStatus(models.TextChoices):
    """How sure the source is: the document was read, it is recalled, or there is none."""

    CONFIRMED = "confirmed", "confirmed"
    FROM_MEMORY = "from memory", "from memory"
    DEMONSTRATION = "demonstration value", "demonstration value"


class RuleIsKeptError(TypeError):
    """Raised when a rule of a revision that is no draft would be changed or removed."""

    def __init__(self) -> None:
        super().__init__("A rule that was approved is never changed; make a new revision.")


class DoseRuleManager(models.Manager["DoseRule"]):
    def get_by_natural_key(self, number: int, code: str) -> "DoseRule":
        return self.get(revision__number=number, code=code)


class DoseRule(models.Model):
    """One dose as its source prints it: amounts are text, read when they are asked about.

    `problems` lists `{"problem": slug, "severities": [...]}`; no severities is any. Ages and
    weights are from the first figure to below the second. `is_mixed` says that the dilution
    changes the strength that is drawn up. `level` is the key of a certification level.
    """

    revision = models.ForeignKey(FormularyRevision, on_delete=models.CASCADE, related_name="rules")
    code = models.CharField(max_length=20)
    medicine = models.ForeignKey(Medicine, on_delete=models.PROTECT, related_name="rules")
    need = models.ForeignKey(
        Need, on_delete=models.PROTECT, null=True, blank=True, related_name="dose_rules"
    )
    level = models.SlugField()
    indication = models.CharField(max_length=TEXT_LENGTH)
    problems = models.JSONField(default=list, blank=True)
    population = models.CharField(max_length=80, blank=True)
    age_from_y = models.DecimalField(max_digits=6, decimal_places=3, null=True, blank=True)
    age_below_y = models.DecimalField(max_digits=6, decimal_places=3, null=True, blank=True)
    weight_from_kg = models.DecimalField(max_digits=6, decimal_places=3, null=True, blank=True)
    weight_below_kg = models.DecimalField(max_digits=6, decimal_places=3, null=True, blank=True)
    route = models.CharField(max_length=SHORT_LENGTH)
    basis = models.CharField(max_length=30, choices=Basis.choices)
    dose = models.CharField(max_length=SHORT_LENGTH)
    dose_high = models.CharField(max_length=SHORT_LENGTH, blank=True)
    minimum = models.CharField(max_length=SHORT_LENGTH, blank=True)
    maximum = models.CharField(max_length=SHORT_LENGTH, blank=True)
    repeat_min = models.PositiveSmallIntegerField(null=True, blank=True)
    repeat_times = models.PositiveSmallIntegerField(null=True, blank=True)
    repeat_note = models.CharField(max_length=TEXT_LENGTH, blank=True)
    max_total = models.CharField(max_length=SHORT_LENGTH, blank=True)
    over_min = models.PositiveSmallIntegerField(null=True, blank=True)
    over_note = models.CharField(max_length=TEXT_LENGTH, blank=True)
    dilution = models.CharField(max_length=TEXT_LENGTH, blank=True)
    is_mixed = models.BooleanField(default=False)
    presentation = models.CharField(max_length=80, blank=True)
    source = models.CharField(max_length=TEXT_LENGTH, blank=True)
    version = models.CharField(max_length=80, blank=True)
    date = models.DateField(null=True, blank=True)
    status = models.CharField(max_length=20, choices=RuleStatus.choices)
    reviewed_by = models.CharField(max_length=120, blank=True)
    notes = models.CharField(max_length=300, blank=True)

    objects = DoseRuleManager()

    class Meta:
        ordering: ClassVar = ["code"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["revision", "code"], name="one_rule_per_code")
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.medicine}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        self._refuse_kept()
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        self._refuse_kept()
        return super().delete(*args, **kwargs)

    def natural_key(self) -> tuple[int, str]:
        return (self.revision.number, self.code)

    @property
    def lacking(self) -> list[str]:
        """What of its source is not there; a rule that lacks any of it is not drilled."""
        told = (("source", self.source.strip()), ("version", self.version.strip()))
        return [name for name, value in (*told, ("date", self.date)) if not value]

    @property
    def printed(self) -> str:
        """The dose as a person reads it."""
        return printed_dose(
            self.dose, high=self.dose_high, minimum=self.minimum, maximum=self.maximum
        )

    def _refuse_kept(self) -> None:
        if self.revision.state != FormularyState.DRAFT:
            raise RuleIsKeptError
