"""Rigs, where crews are posted, and which rig a person rides today."""

from typing import ClassVar

from django.db import models

from drills.people.models import Person
from drills.rigs.models.layouts import Item, Layout, Place, Revision

WORD_TO_REPORTER = 200


class Station(models.Model):
    """Where crews are posted."""

    slug = models.SlugField(unique=True)
    name = models.CharField(max_length=80)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name


class Rig(models.Model):
    """One vehicle with its unit number; rides one layout, at one revision of it."""

    unit = models.CharField(max_length=20, unique=True)
    layout = models.ForeignKey(Layout, on_delete=models.PROTECT, related_name="rigs")
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="rigs")
    station = models.ForeignKey(
        Station, on_delete=models.SET_NULL, null=True, blank=True, related_name="rigs"
    )

    class Meta:
        ordering: ClassVar = ["unit"]

    def __str__(self) -> str:
        return f"Rig {self.unit}"


class Posting(models.Model):
    """A person's station, for a time."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="postings")
    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="postings")
    starts_on = models.DateField()
    ends_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-starts_on"]

    def __str__(self) -> str:
        return f"{self.person} at {self.station}"


class RigPick(models.Model):
    """That a person rides a rig from a moment on; the newest is today's rig."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="rig_picks")
    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="picks")
    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="+")
    picked_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-picked_at", "-id"]

    def __str__(self) -> str:
        return f"{self.person} rides {self.rig}"


class Answer(models.TextChoices):
    """What a keeper did about a report."""

    PUT_BACK = "put back", "put back"
    AS_LAYOUT = "as layout", "as the layout again"
    DIFFERS = "differs", "differs on this rig"
    LAYOUT_WRONG = "layout wrong", "layout is wrong"


class AbsenceQuerySet(models.QuerySet["Absence"]):
    def open(self) -> "AbsenceQuerySet":
        """Reports that a keeper has not answered yet."""
        return self.filter(answered_at=None)


class Absence(models.Model):
    """A report that a thing is not where the layout says, on one rig.

    Without an item it is the contents of the place that differ; without a place it is the item
    that is not found, wherever the layout says: which of its places was looked at is not known.
    Until it is answered it stays out of drills on that rig. `reported_by` was the first to say
    so; all who did have their row of `Reporting`. `word` is what the keeper says to them.
    """

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="absences")
    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="absences")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="absences", null=True)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="absences", null=True)
    reported_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, related_name="absences_reported"
    )
    reported_at = models.DateTimeField()
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="absences_answered"
    )
    answer = models.CharField(max_length=20, choices=Answer.choices, blank=True)
    word = models.CharField(max_length=WORD_TO_REPORTER, blank=True)

    objects = AbsenceQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-reported_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["rig", "item"],
                condition=models.Q(answered_at=None, item__isnull=False),
                name="one_open_report_of_a_thing",
            ),
            models.UniqueConstraint(
                fields=["rig", "place"],
                condition=models.Q(answered_at=None, item=None),
                name="one_open_report_of_a_place",
            ),
            models.CheckConstraint(
                condition=models.Q(item__isnull=False) | models.Q(place__isnull=False),
                name="report_of_a_thing_or_a_place",
            ),
        ]

    def __str__(self) -> str:
        where = f"not in {self.place}" if self.place else "not where the layout says"
        return f"{self.item or 'contents'} {where} on {self.rig}"


class Reporting(models.Model):
    """That a person reported something, and when they saw what became of it."""

    absence = models.ForeignKey(Absence, on_delete=models.CASCADE, related_name="reportings")
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="reportings")
    reported_at = models.DateTimeField()
    seen_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["reported_at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["absence", "person"], name="one_reporting_per_person")
        ]

    def __str__(self) -> str:
        return f"{self.person}: {self.absence}"


class RigDifferenceQuerySet(models.QuerySet["RigDifference"]):
    def open(self) -> "RigDifferenceQuerySet":
        """What differs now."""
        return self.filter(ended_at=None)


class RigDifference(models.Model):
    """A thing that one rig carries elsewhere than its layout says, for a time.

    `place` is where the layout says it is, none for all its places; `here` is where this rig has
    it, none when it is not aboard. `report` is what it answers, where it answers one.
    """

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="differences")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="differences")
    place = models.ForeignKey(
        Place, on_delete=models.PROTECT, null=True, blank=True, related_name="taken_from"
    )
    here = models.ForeignKey(
        Place, on_delete=models.PROTECT, null=True, blank=True, related_name="put_to"
    )
    note = models.CharField(max_length=WORD_TO_REPORTER, blank=True)
    report = models.ForeignKey(
        Absence, on_delete=models.SET_NULL, null=True, blank=True, related_name="differences"
    )
    since = models.DateTimeField()
    by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, related_name="differences_told"
    )
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="differences_ended"
    )

    objects = RigDifferenceQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["rig", "since", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["rig", "item", "place"],
                condition=models.Q(ended_at=None, place__isnull=False),
                name="one_open_difference_of_a_line",
            ),
            models.UniqueConstraint(
                fields=["rig", "item"],
                condition=models.Q(ended_at=None, place=None),
                name="one_open_difference_of_all_lines",
            ),
        ]

    def __str__(self) -> str:
        where = f"in {self.here}" if self.here else "not aboard"
        return f"{self.item} {where} on {self.rig}, not in {self.place or 'any place of it'}"
