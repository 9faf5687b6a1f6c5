"""Labels on the doors of a rig, and how often somebody scans them."""

import secrets
from typing import ClassVar

from django.db import models

from drills.people.models import Person
from drills.rigs.models.fleet import Rig
from drills.rigs.models.layouts import Place

TOKEN_BYTES = 12  # 96 bits: nobody guesses one, and a code stays small


def new_token() -> str:
    """What a label carries; it says nothing of rig or place."""
    return secrets.token_urlsafe(TOKEN_BYTES)


class PlaceLabelQuerySet(models.QuerySet["PlaceLabel"]):
    def open(self) -> "PlaceLabelQuerySet":
        """Labels that have not been renewed or taken off."""
        return self.filter(ended_at=None)


class PlaceLabel(models.Model):
    """The label of a place on one rig. A refit keeps it as long as the place stays.

    Rows are kept when they end, so that no token ever comes again.
    """

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="labels")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="labels")
    token = models.CharField(max_length=32, unique=True, default=new_token)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, related_name="labels_made"
    )
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="labels_ended"
    )

    objects = PlaceLabelQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["rig", "made_at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["rig", "place"],
                condition=models.Q(ended_at=None),
                name="one_open_label_per_place",
            )
        ]

    def __str__(self) -> str:
        return f"label of {self.place} on {self.rig}"


class ScanTally(models.Model):
    """How many labels one person, or one address nobody is signed in at, scanned since a moment.

    `who` is a keyed hash, and a row is dropped once it slows nobody: nothing tells who was where.
    """

    who = models.CharField(max_length=64, unique=True)
    began_at = models.DateTimeField(db_index=True)
    scans = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.scans} scans"
