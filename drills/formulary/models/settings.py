"""How the service works doses out, where published practice disagrees."""

from typing import ClassVar

from django.db import models
from django.db.models import Q

from drills.engine.dosing.fields import HALF_UP, LB_BY_TABLE, LB_EXACTLY, NEVER_UP
from drills.engine.dosing.treatment import Settings
from drills.formulary.models.texts import TEXT_LENGTH

POUNDS = [(LB_BY_TABLE, "divided by 2.2"), (LB_EXACTLY, "exactly, 0.45359237 kg each")]
ROUNDING = [(HALF_UP, "half up"), (NEVER_UP, "never up")]
THE_ONE = 1


class DosingSettings(models.Model):
    """The one row of a service, with who or which document of medical direction decided it.

    Without it pounds are divided by 2.2 and exactly half goes up.
    """

    number = models.PositiveSmallIntegerField(primary_key=True, default=THE_ONE)
    pounds = models.CharField(max_length=10, choices=POUNDS, default=LB_BY_TABLE)
    rounding = models.CharField(max_length=10, choices=ROUNDING, default=HALF_UP)
    decided = models.CharField(max_length=TEXT_LENGTH)
    changed_at = models.DateTimeField()

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(number=THE_ONE), name="dosing_is_set_once"),
        ]

    def __str__(self) -> str:
        return f"{self.words}."

    @property
    def words(self) -> str:
        """Both settings in one sentence."""
        dose = "never rounded up" if self.rounding == NEVER_UP else "rounded half up"
        return f"Pounds {self.get_pounds_display()}; a child's dose {dose}"

    @property
    def settings(self) -> Settings:
        """The same as the engine works with."""
        return Settings(
            is_exact_pounds=self.pounds == LB_EXACTLY,
            is_never_up_for_children=self.rounding == NEVER_UP,
        )
