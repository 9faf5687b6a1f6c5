"""What calls are made from: kinds of call, problems, ages and places, kept as documents.

What only the engine reads is one JSON column: the phrases, patients and needs of a call type, the
states and vital signs of a problem. `reading` turns them into the engine's objects.
"""

import datetime
from typing import Any, ClassVar

from django.db import models
from django.utils import timezone
from django.utils.formats import date_format


class CallTypeManager(models.Manager["CallType"]):
    def get_by_natural_key(self, slug: str) -> "CallType":
        return self.get(slug=slug)


class CallType(models.Model):
    """A kind of call and what it needs, with source, owner, date and who reviewed it and when.

    `hazards` are words of its own; `hazards_here` and `hazards_possible` are keys of the hazards
    that everybody chooses from, `asks_for` and `may_ask_for` of who may be asked for.

    A change takes the review away, its own or one of a problem that its patients may have: it was
    of other words; `review_ended` then says whose it was and what changed. No drill is made from
    one that is retired; what was made stays.
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
    review_ended = models.CharField(max_length=300, blank=True)
    retired_on = models.DateField(null=True, blank=True)

    objects: ClassVar[CallTypeManager] = CallTypeManager()

    class Meta:
        ordering: ClassVar = ["slug"]

    def __str__(self) -> str:
        return self.name

    def natural_key(self) -> tuple[str]:
        return (self.slug,)

    @property
    def problems(self) -> tuple[str, ...]:
        """The keys of what its patients may have, each once."""
        return tuple(dict.fromkeys(each["problem"] for each in self.patients))

    def lose_review(self, what: str, on: datetime.date) -> None:
        """Make it another version, which nobody reviewed since `what` changed; nothing is saved."""
        self.version += 1
        if self.reviewed_by:
            day = date_format(on, "j F Y")
            self.review_ended = f"{self.reviewed_by} reviewed it before {what} changed on {day}."
        self.reviewed_by, self.reviewed_on = "", None


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

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Other findings or signs end the reviews of who draws on it: a release brings them too."""
        before = Problem.objects.filter(pk=self.pk).values("states", "vitals").first()
        super().save(*args, **kwargs)
        if before and before != {"states": self.states, "vitals": self.vitals}:
            self.end_reviews(timezone.localdate())

    def natural_key(self) -> tuple[str]:
        return (self.slug,)

    def drawn_on_by(self) -> list[CallType]:
        """The call types whose patients may have it."""
        rows = CallType.objects.order_by("name")
        return [each for each in rows if self.slug in each.problems]

    def end_reviews(self, on: datetime.date) -> list[str]:
        """Take the reviews of who draws on it away: they were of other patients. Their slugs."""
        reviewed = [each for each in self.drawn_on_by() if each.reviewed_by]
        for each in reviewed:
            each.lose_review(f"the problem {self.name}", on)
            each.save(update_fields=["version", "reviewed_by", "reviewed_on", "review_ended"])
        return [each.slug for each in reviewed]


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
