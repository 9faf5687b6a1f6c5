"""What keepers decided of items that no rule ties."""

from typing import ClassVar

from django.db import models

from drills.people.models import Person
from drills.rigs.models.layouts import Item
from drills.rigs.models.needs import Need


class TieDecision(models.Model):
    """A keeper's word that an item is a need, or none of them, on every layout that carries it.

    It speaks where no rule ties the item, in the revisions there are and in those to come.
    """

    item = models.OneToOneField(Item, on_delete=models.PROTECT, related_name="decision")
    need = models.ForeignKey(Need, on_delete=models.PROTECT, null=True, related_name="decisions")
    decided_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, related_name="ties_decided"
    )
    decided_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["item"]

    def __str__(self) -> str:
        return f"{self.item}: {self.need or 'no standard need'}"
