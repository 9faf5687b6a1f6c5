"""Photos of places, kept in the database so that a backup holds them."""

from typing import ClassVar

from django.db import models

from drills.people.models import Person
from drills.rigs.models.layouts import Place

ALT_LENGTH = 200


class PlacePhoto(models.Model):
    """How a place looks, at most one for each, with the words for who cannot see it.

    `token` is random and new with each picture: it tells nothing of the place.
    """

    place = models.OneToOneField(Place, on_delete=models.CASCADE, related_name="photo")
    token = models.CharField(max_length=40, unique=True)
    image = models.BinaryField()
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    alt = models.CharField(max_length=ALT_LENGTH)
    uploaded_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, related_name="place_photos"
    )
    uploaded_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["place"]

    def __str__(self) -> str:
        return f"photo of {self.place}"
