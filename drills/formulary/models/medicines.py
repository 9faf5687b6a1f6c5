"""Medicines, and how each comes in a revision of the formulary."""

from typing import ClassVar

from django.db import models

from drills.engine.concentrations import packed
from drills.formulary.models.revisions import FormularyRevision, OfRevision
from drills.formulary.models.texts import NAME_LENGTH, PRINTED_LENGTH, SHORT_LENGTH
from drills.rigs.models import Need


class MedicineManager(models.Manager["Medicine"]):
    def get_by_natural_key(self, key: str) -> "Medicine":
        return self.get(key=key)


class Medicine(models.Model):
    """A medicine by its generic name; an energy that is given has its place here as well."""

    key = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=NAME_LENGTH)

    objects = MedicineManager()

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name

    def natural_key(self) -> tuple[str]:
        return (self.key,)


class Container(models.TextChoices):
    """What a presentation is packed in."""

    VIAL = "vial", "vial"
    AMPOULE = "ampoule", "ampoule"
    SYRINGE = "syringe", "syringe"
    AUTOINJECTOR = "autoinjector", "autoinjector"
    BAG = "bag", "bag"
    BOTTLE = "bottle", "bottle"
    NEBULE = "nebule", "nebule"
    SPRAY = "spray", "nasal spray"
    TABLET = "tablet", "tablet"
    TUBE = "tube", "tube"
    POWDER = "powder", "powder"
    KIT = "kit", "kit"


class PresentationManager(models.Manager["Presentation"]):
    def get_by_natural_key(self, number: int, key: str) -> "Presentation":
        return self.get(revision__number=number, key=key)


class Presentation(OfRevision):
    """One way a medicine comes, as a revision of the formulary knows it; named by its `key` there.

    `strength` is a text as `drills.engine.concentrations.written_strength` writes it: `3 mg/mL`,
    `10 mg / 2 mL`, `10 %`, `81 mg`; never a ratio; empty for a plain fluid. `volume` is what one
    container holds, such as `10 mL`; it may be empty where the strength says it, and is for a
    tablet. `need` leads to the item of a rig that is tied to it.
    """

    revision = models.ForeignKey(
        FormularyRevision, on_delete=models.CASCADE, related_name="presentations"
    )
    medicine = models.ForeignKey(Medicine, on_delete=models.PROTECT, related_name="presentations")
    key = models.SlugField(max_length=60)
    strength = models.CharField(max_length=PRINTED_LENGTH, blank=True)
    volume = models.CharField(max_length=SHORT_LENGTH, blank=True)
    container = models.CharField(max_length=20, choices=Container.choices, blank=True)
    need = models.ForeignKey(
        Need, on_delete=models.PROTECT, null=True, blank=True, related_name="presentations"
    )

    objects = PresentationManager()

    class Meta:
        ordering: ClassVar = ["key"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["revision", "key"], name="one_presentation_per_key")
        ]

    def __str__(self) -> str:
        return f"{self.medicine} {self.printed}"

    def natural_key(self) -> tuple[int, str]:
        return (self.revision.number, self.key)

    @property
    def packed(self) -> str:
        """What one holds, such as `10 mg / 2 mL`; empty for what has no volume to draw up.

        Raises `QuantityError` where a text does not read.
        """
        return packed(self.strength, self.volume)

    @property
    def printed(self) -> str:
        """As a person reads it: `10 mg / 2 mL vial`, `0.1 mg/mL, 10 mL syringe`, `81 mg tablet`."""
        says_it = not self.volume or " / " in self.strength
        words = self.strength if says_it else ", ".join(filter(None, (self.strength, self.volume)))
        return f"{words} {self.get_container_display()}".strip()
