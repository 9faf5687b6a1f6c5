"""Facts as rows, and every observed outcome on them."""

from collections.abc import Collection
from typing import ClassVar

from django.db import models

from drills.people.models import AuditEntry, Person
from drills.rigs.models import Item, Need, Place, Revision, Rig

# What is kept of whole calls in what a fit says of its quality.
CALLS = "calls"
# What the source of simulated evidence begins with that comes from no run and no sheet.
HISTORY = "simulated history"


class FactQuerySet(models.QuerySet["Fact"]):
    def about(self, things: Collection[str]) -> "FactQuerySet":
        """Those of some things, by key: items, bags and skills."""
        named = models.Q(item__key__in=things) | models.Q(bag__key__in=things)
        return self.filter(named | models.Q(skill__in=things))

    def near(self, things: Collection[str], places: Collection[str]) -> "FactQuerySet":
        """Those of some things, and all that lie in some places, by key."""
        return self.about(things) | self.filter(place__key__in=places)


class Fact(models.Model):
    """One thing to know: that an item, or a bag, is at a place; or a skill, which has no place.

    Exactly one of item, bag and skill is set.
    """

    item = models.ForeignKey(
        Item, on_delete=models.PROTECT, null=True, blank=True, related_name="facts"
    )
    bag = models.ForeignKey(
        Place, on_delete=models.PROTECT, null=True, blank=True, related_name="facts_as_bag"
    )
    place = models.ForeignKey(
        Place, on_delete=models.PROTECT, null=True, blank=True, related_name="facts"
    )
    skill = models.CharField(max_length=120, blank=True)

    objects = FactQuerySet.as_manager()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["item", "place"],
                condition=models.Q(item__isnull=False),
                name="one_fact_per_item_and_place",
            ),
            models.UniqueConstraint(
                fields=["bag", "place"],
                condition=models.Q(bag__isnull=False),
                name="one_fact_per_bag_and_place",
            ),
            models.UniqueConstraint(
                fields=["skill"], condition=~models.Q(skill=""), name="one_fact_per_skill"
            ),
            models.CheckConstraint(
                condition=models.Q(item__isnull=False, bag=None, place__isnull=False, skill="")
                | models.Q(item=None, bag__isnull=False, place__isnull=False, skill="")
                | (models.Q(item=None, bag=None, place=None) & ~models.Q(skill="")),
                name="fact_of_item_bag_or_skill",
            ),
        ]

    def __str__(self) -> str:
        return self.skill or f"{self.item or self.bag} at {self.place}"


class Modality(models.TextChoices):
    SCREEN = "screen", "on screen"
    SCAN = "scan", "scan alone"
    HANDS_ON = "hands-on", "hands-on, observed"


class EvidenceQuerySet(models.QuerySet["Evidence"]):
    def standing(self) -> "EvidenceQuerySet":
        """Evidence that was not voided."""
        return self.filter(voided_at=None)


class Evidence(models.Model):
    """One observed outcome for one person on one fact, whatever door it came through.

    The need is copied from the item as of the revision; a skill has neither. `prediction` is the
    chance of this fact as it was thought before the answer, and `predicted_by` the model that
    thought it. `source` is opaque: it names the answer it came from in the words of a higher
    room. A person erased leaves unlinked counts. What is imported was written down before or
    elsewhere and nobody here saw it: `reference` is the agency's own word for where it stands,
    `observed_by` whoever watched then, as far as they are here, and `taken_in` the line of the
    audit that tells of the file it came with.
    """

    person = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, related_name="evidence"
    )
    fact = models.ForeignKey(Fact, on_delete=models.PROTECT, related_name="evidence")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, null=True, related_name="evidence")
    need = models.ForeignKey(Need, on_delete=models.SET_NULL, null=True, related_name="evidence")
    rig = models.ForeignKey(Rig, on_delete=models.SET_NULL, null=True, related_name="evidence")
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="evidence")
    at = models.DateTimeField(db_index=True)

    kind = models.CharField(max_length=10)
    outcome = models.CharField(max_length=20)
    depth_asked = models.CharField(max_length=10, blank=True)
    depth_reached = models.CharField(max_length=10, blank=True)
    choices_offered = models.PositiveIntegerField()
    chosen_by = models.CharField(max_length=10)
    prediction = models.FloatField(null=True, blank=True)
    predicted_by = models.CharField(max_length=40, blank=True)
    is_first = models.BooleanField()

    seconds = models.FloatField(null=True, blank=True)
    time_state = models.CharField(max_length=12, blank=True)
    time_verdict = models.CharField(max_length=10, blank=True)
    limit_seconds = models.FloatField(null=True, blank=True)
    allowance = models.FloatField(default=1.0)

    modality = models.CharField(max_length=10, choices=Modality.choices, default=Modality.SCREEN)
    is_assisted = models.BooleanField(default=False)
    device_class = models.CharField(max_length=10, blank=True)
    is_simulated = models.BooleanField(default=False)
    is_imported = models.BooleanField(default=False)
    reference = models.CharField(max_length=80, blank=True)
    observed_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="evidence_seen"
    )
    taken_in = models.ForeignKey(
        AuditEntry, on_delete=models.SET_NULL, null=True, blank=True, related_name="evidence"
    )
    source = models.CharField(max_length=120)
    voided_at = models.DateTimeField(null=True, blank=True)
    voided_by = models.CharField(max_length=80, blank=True)

    objects = EvidenceQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["at", "id"]
        indexes: ClassVar = [
            models.Index(fields=["person", "fact", "at"], name="evidence_of_person")
        ]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["source", "fact"], name="one_outcome_per_answer_and_fact"
            )
        ]

    def __str__(self) -> str:
        return f"{self.person}: {self.fact} {self.outcome}"


class Fit(models.Model):
    """The model as it was fitted to all evidence up to a row, by a refit; the newest one stands.

    `figures` are what people share, by name: coefficients, offsets of needs, facts, categories and
    kinds with what is not known of them, variances and times. `quality` says how good the chances
    of the latest month would have been, by a fit to what came before it, and under `CALLS` what
    past kits set right. What is a person's own stands in `PersonOffset`. `voided` are the rows up
    to `through` that were void when it began, as the first and last of each run of them.
    """

    made_at = models.DateTimeField()
    through = models.PositiveBigIntegerField()
    voided = models.JSONField(default=list)
    answers = models.PositiveIntegerField()
    people = models.PositiveIntegerField()
    seconds = models.FloatField()
    figures = models.JSONField()
    quality = models.JSONField(default=dict)

    class Meta:
        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        return f"fit {self.pk}"


class Expected(models.Model):
    """What a fit expects of each first answer it was made of, the thing itself left out; kept of
    the fit that stands.

    `rows` are the numbers of the rows of evidence, rising, and `chances` theirs: bytes of
    `expecting.ROW` and `expecting.CHANCE`.
    """

    fit = models.OneToOneField(Fit, on_delete=models.CASCADE, related_name="expected")
    rows = models.BinaryField()
    chances = models.BinaryField()

    def __str__(self) -> str:
        return f"expected by {self.fit}"


class PersonOffset(models.Model):
    """How a person differs from what a fit expects of anybody, on the log-odds scale.

    `mean` and `variance` move with each answer since the fit, whose own are `fitted_mean` and
    `fitted_variance`; `forgetting` is times the logarithm of 1 + days since a thing was asked;
    `speed` is added to the logarithm of seconds. `came_at` is when those first answered who came
    lately, none of others.
    """

    person = models.OneToOneField(Person, on_delete=models.CASCADE, related_name="model_offset")
    fit = models.ForeignKey(Fit, on_delete=models.CASCADE, related_name="offsets")
    fitted_mean = models.FloatField()
    fitted_variance = models.FloatField()
    mean = models.FloatField()
    variance = models.FloatField()
    forgetting = models.FloatField()
    forgetting_variance = models.FloatField()
    speed = models.FloatField(default=0.0)
    came_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"{self.person} in {self.fit}"


class Refit(models.Model):
    """A refit that is under way: one at a time, as `alone` holds it. What it says of itself renews
    `seen_at`; `process` is its number and the name of its machine."""

    is_one = models.BooleanField(default=True, unique=True)
    started_at = models.DateTimeField()
    seen_at = models.DateTimeField()
    stage = models.CharField(max_length=80, blank=True)
    process = models.CharField(max_length=120, blank=True)

    def __str__(self) -> str:
        return f"refit since {self.started_at}"
