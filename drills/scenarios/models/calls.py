"""What calls are made from: kinds of call, problems, ages and places, kept as documents.

What only the engine reads is one JSON column: the phrases, patients and needs of a call type, the
states and vital signs of a problem. `reading` turns them into the engine's objects.
"""

from typing import ClassVar

from django.db import models


class CallTypeManager(models.Manager["CallType"]):
    def get_by_natural_key(self, slug: str) -> "CallType":
        return self.get(slug=slug)


class CallType(models.Model):
    """A kind of call and what it needs, with source, owner, date and who reviewed it and when.

    `hazards` are words of its own; `hazards_here` and `hazards_possible` are keys of the hazards
    that everybody chooses from, `asks_for` and `may_ask_for` of who may be asked for.

    A change takes the review away: it was of other words. No drill is made from one that is
    retired; what was made stays.
    """

    slug = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=80)
    priority = models.CharField(max_length=20)
    patients_least = models.PositiveSmallIntegerField()
    patients_most = models.PositiveSmallIntegerField()
    scene = models.CharField(max_length=120)
    size_up = models.CharField(max_length=300)
    hazards = models.JSONField(default=list, blank=True)
    hazards_here = models.JSONField(default=list, blank=True)
    hazards_possible = models.JSONField(default=list, blank=True)
    asks_for = models.JSONField(default=list, blank=True)
    may_ask_for = models.JSONField(default=list, blank=True)
    road_kinds = models.JSONField(default=list, blank=True)
    phrases = models.JSONField(default=list)
    patients = models.JSONField(default=list)
    needs = models.JSONField(default=list)
    version = models.PositiveIntegerField(default=1)
    source = models.CharField(max_length=200)
    owner = models.CharField(max_length=120)
    date = models.DateField()
    reviewed_by = models.CharField(max_length=120, blank=True)
    reviewed_on = models.DateField(null=True, blank=True)
    retired_on = models.DateField(null=True, blank=True)

    objects: ClassVar[CallTypeManager] = CallTypeManager()

    class Meta:
        ordering: ClassVar = ["slug"]

    def __str__(self) -> str:
        return self.name

    def natural_key(self) -> tuple[str]:
        return (self.slug,)


class ProblemManager(models.Manager["Problem"]):
    def get_by_natural_key(self, slug: str) -> "Problem":
        return self.get(slug=slug)


class Problem(models.Model):
    """What may be wrong with a patient: findings by severity, vital signs by severity and age."""

    slug = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=20)
    states = models.JSONField(default=list)
    vitals = models.JSONField(default=list)

    objects: ClassVar[ProblemManager] = ProblemManager()

    class Meta:
        ordering: ClassVar = ["slug"]

    def __str__(self) -> str:
        return self.name

    def natural_key(self) -> tuple[str]:
        return (self.slug,)


class AgeBandManager(models.Manager["AgeBand"]):
    def get_by_natural_key(self, key: str) -> "AgeBand":
        return self.get(key=key)


class AgeBand(models.Model):
    """Ages in years from `age_from_y` to below `age_to_y`, and the size of things they take."""

    key = models.SlugField(max_length=20, unique=True)
    age_from_y = models.FloatField()
    age_to_y = models.FloatField()
    size = models.CharField(max_length=10)
    source = models.CharField(max_length=200)
    status = models.CharField(max_length=120)

    objects: ClassVar[AgeBandManager] = AgeBandManager()

    class Meta:
        ordering: ClassVar = ["age_from_y"]

    def __str__(self) -> str:
        return self.key

    def natural_key(self) -> tuple[str]:
        return (self.key,)


class LocalityManager(models.Manager["Locality"]):
    def get_by_natural_key(self, kind: str, name: str) -> "Locality":
        return self.get(kind=kind, name=name)


class Locality(models.Model):
    """A named place or road on the ground; times are minutes."""

    kind = models.CharField(max_length=10)
    name = models.CharField(max_length=80)
    road_kind = models.CharField(max_length=20, blank=True)
    nearest_post = models.CharField(max_length=80)
    minutes_to_hospital = models.PositiveSmallIntegerField(null=True, blank=True)

    objects: ClassVar[LocalityManager] = LocalityManager()

    class Meta:
        ordering: ClassVar = ["kind", "name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["kind", "name"], name="one_locality_of_a_name")
        ]

    def __str__(self) -> str:
        return self.name

    def natural_key(self) -> tuple[str, str]:
        return (self.kind, self.name)
