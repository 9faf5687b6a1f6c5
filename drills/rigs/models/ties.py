"""What keepers decided of items that no rule ties, and how many of a need one of an item holds."""

from typing import ClassVar

from django.db import models

from drills.engine.workbook.columns import WORD_LENGTH
from drills.people.models import Person
from drills.rigs.models.layouts import Item
from drills.rigs.models.needs import Need

# Ours, no source: more in one pack of anything is a slip of the hand.
MOST_IN_A_PACK = 200


class TieDecision(models.Model):
    """A keeper's word that an item is a need, or none of them, on every layout that carries it.

    It speaks where no rule ties the item, in the revisions there are and in those to come.
    `medicine` is set where the item is no standard need but that medicine in a strength of its own,
    which counts for doses. `strengths` are the words of a tie across strengths that the keeper
    confirmed a second time; such a tie serves kits and never a dose.
    """

    item = models.OneToOneField(Item, on_delete=models.PROTECT, related_name="decision")
    need = models.ForeignKey(Need, on_delete=models.PROTECT, null=True, related_name="decisions")
    medicine = models.CharField(max_length=60, blank=True)
    strengths = models.CharField(max_length=120, blank=True)
    decided_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, related_name="ties_decided"
    )
    decided_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["item"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(need=None) | models.Q(medicine=""),
                name="a_need_or_a_strength_of_its_own",
            )
        ]

    def __str__(self) -> str:
        return f"{self.item}: {self.said}"

    @property
    def said(self) -> str:
        """What was decided, in words."""
        if self.medicine:
            return f"{self.medicine.replace('-', ' ')} in its own strength"
        return str(self.need or "no standard need")


class PackFactor(models.Model):
    """How many of what an item is tied to one counted unit of it is; where no row says, one.

    It is of the need, by its key, and of the unit, without differences of case, that it was said
    of: an item that is tied otherwise or counted otherwise later is one of one until somebody
    says. `need` is empty for a medicine in a strength of its own.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="pack_factors")
    need = models.CharField(max_length=60, blank=True)
    unit = models.CharField(max_length=3 * WORD_LENGTH, blank=True)
    holds = models.PositiveSmallIntegerField()
    decided_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, related_name="pack_factors"
    )
    decided_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["item", "need", "unit"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["item", "need", "unit"], name="one_pack_factor_of_a_tie_and_unit"
            ),
            models.CheckConstraint(
                condition=models.Q(holds__gte=1, holds__lte=MOST_IN_A_PACK),
                name="a_pack_of_one_to_two_hundred",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item}: {self.unit or 'one'} is {self.holds}"
