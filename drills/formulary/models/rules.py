"""Dose rules as their sources print them."""

from collections.abc import Iterable
from functools import cached_property
from typing import ClassVar

from django.db import models
from django.db.models import Q

from drills.engine.changed_figures import Figures, against_its_note
from drills.engine.medicines import printed_dose
from drills.formulary.models.medicines import Medicine, Presentation
from drills.formulary.models.revisions import FormularyRevision, OfRevision
from drills.formulary.models.texts import PRINTED_LENGTH, SHORT_LENGTH, TEXT_LENGTH

NO_PAGE = "no page"


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


class DoseRuleManager(models.Manager["DoseRule"]):
    def get_by_natural_key(self, number: int, code: str) -> "DoseRule":
        return self.get(revision__number=number, code=code)


class DoseRule(OfRevision):
    """One dose as its source prints it: amounts are text, read when they are asked about.

    Who: `problems` lists `{"problem": slug, "severities": [...]}`; no severities is any.
    `age_from_y`, `age_below_y`, `weight_from_kg` and `weight_below_kg` are from the first figure
    to below the second; none is no bound. `level` is the key of a certification level.

    How much: `dose` and `dose_high`, of a range, as `basis` counts it: `1 mg`, `0.1 mg/kg`,
    `5 mcg/kg/min`, `250 mL/h`, `2 mL/kg/%`, `4 J/kg`. `minimum` and `maximum` are of one dose,
    `max_total` of all. `repeat_min` are the least minutes between two, `repeat_times` how many
    more. `over_min` are the minutes to give it in.

    Of what: `presentations` lists keys of the revision's presentations; none is any of the
    medicine. `dilution` is the printed text of how it is mixed; what it says stands as data
    beside it: `take` of the presentation (`1 mL`, `1 mg`; empty is all of one), in
    `diluent_volume` (`9 mL`) of `diluent` (`normal saline`), which makes `final_strength`
    (`10 mcg/mL`). `is_mixed` says that this changes the strength that is drawn up.

    How sure: `source`, `version`, `page` (`no page` where it has none) and `date` of reading.
    `error_limit` is the percentage from which an answer is unsafe, where that is less than 20.
    """

    revision = models.ForeignKey(FormularyRevision, on_delete=models.CASCADE, related_name="rules")
    code = models.CharField(max_length=20)
    medicine = models.ForeignKey(Medicine, on_delete=models.PROTECT, related_name="rules")
    presentations = models.JSONField(default=list, blank=True)
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
    take = models.CharField(max_length=SHORT_LENGTH, blank=True)
    diluent = models.CharField(max_length=PRINTED_LENGTH, blank=True)
    diluent_volume = models.CharField(max_length=SHORT_LENGTH, blank=True)
    final_strength = models.CharField(max_length=SHORT_LENGTH, blank=True)
    is_mixed = models.BooleanField(default=False)
    error_limit = models.PositiveSmallIntegerField(null=True, blank=True)
    source = models.CharField(max_length=TEXT_LENGTH, blank=True)
    version = models.CharField(max_length=80, blank=True)
    page = models.CharField(max_length=80, blank=True)
    date = models.DateField(null=True, blank=True)
    status = models.CharField(max_length=20, choices=RuleStatus.choices)
    reviewed_by = models.CharField(max_length=120, blank=True)
    notes = models.CharField(max_length=300, blank=True)

    objects = DoseRuleManager()

    class Meta:
        ordering: ClassVar = ["code"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["revision", "code"], name="one_rule_per_code"),
            models.CheckConstraint(
                condition=Q(error_limit__isnull=True) | Q(error_limit__range=(1, 19)),
                name="error_limit_is_tighter_than_usual",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.medicine}"

    def natural_key(self) -> tuple[int, str]:
        return (self.revision.number, self.code)

    @property
    def lacking(self) -> list[str]:
        """What of its source is not there; a rule that lacks any of it is not drilled."""
        texts = (("source", self.source), ("version", self.version), ("page", self.page))
        told = [*((name, value.strip()) for name, value in texts), ("date", self.date)]
        return [name for name, value in told if not value]

    @property
    def from_memory(self) -> str:
        """What of a rule that is confirmed its note says is from memory; empty where nothing is."""
        said = [each.strip() for each in self.notes.split(";")]
        is_confirmed = self.status == RuleStatus.CONFIRMED
        return "; ".join(each for each in said if is_confirmed and "from memory" in each.casefold())

    @property
    def against_note(self) -> str:
        """What its note says against its dose, in words; empty where it does not."""
        return against_its_note(Figures(dose=self.dose, dose_high=self.dose_high, note=self.notes))

    @property
    def status_told(self) -> str:
        """How sure the source is, and of a confirmed one what is not covered by that."""
        return "; ".join(filter(None, (self.get_status_display(), self.from_memory)))

    @property
    def printed(self) -> str:
        """The dose as a person reads it."""
        return printed_dose(
            self.dose, high=self.dose_high, minimum=self.minimum, maximum=self.maximum
        )

    @cached_property
    def comes_as(self) -> list[Presentation]:
        """The presentations it is given from, the one that is named first before the others."""
        return self.picked(self.revision.presentations.select_related("medicine", "need"))

    def picked(self, presentations: Iterable[Presentation]) -> list[Presentation]:
        """Of a revision's presentations those of this rule; a key that is none of them is left."""
        of_medicine = [each for each in presentations if each.medicine_id == self.medicine_id]
        if not self.presentations:
            return of_medicine
        by_key = {each.key: each for each in of_medicine}
        return [by_key[key] for key in self.presentations if key in by_key]
