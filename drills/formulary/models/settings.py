"""How the service works doses out, where published practice disagrees."""

from fractions import Fraction
from typing import ClassVar

from django.db import models
from django.db.models import Q

from drills.engine.dosing.fields import HALF_UP, LB_BY_TABLE, LB_EXACTLY, NEVER_UP
from drills.engine.dosing.results import MEASURABLE_WITHIN
from drills.engine.dosing.treatment import Settings
from drills.formulary.models.texts import TEXT_LENGTH

POUNDS = [(LB_BY_TABLE, "divided by 2.2"), (LB_EXACTLY, "exactly, 0.45359237 kg each")]
ROUNDING = [(HALF_UP, "half up"), (NEVER_UP, "never up")]
THE_ONE = 1
# In percent; what is drawn up may be no further off.
MOST_OFF = int(MEASURABLE_WITHIN * 100)


class DosingSettings(models.Model):
    """The one row of a service, with who or which document of medical direction decided it.

    Without it pounds are divided by 2.2, exactly half goes up, and nothing is drawn up that the
    marks miss by a tenth or more; `refused_from` is that share in percent.
    """

    number = models.PositiveSmallIntegerField(primary_key=True, default=THE_ONE)
    pounds = models.CharField(max_length=10, choices=POUNDS, default=LB_BY_TABLE)
    rounding = models.CharField(max_length=10, choices=ROUNDING, default=HALF_UP)
    refused_from = models.PositiveSmallIntegerField(default=MOST_OFF)
    decided = models.CharField(max_length=TEXT_LENGTH)
    changed_at = models.DateTimeField()

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(number=THE_ONE), name="dosing_is_set_once"),
            models.CheckConstraint(
                condition=Q(refused_from__range=(1, MOST_OFF)), name="dosing_is_refused_by_a_tenth"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.words}."

    @property
    def words(self) -> str:
        """The three settings in one sentence."""
        dose = "never rounded up" if self.rounding == NEVER_UP else "rounded half up"
        draw = f"a draw refused from {self.refused_from}% off"
        return f"Pounds {self.get_pounds_display()}; a child's dose {dose}; {draw}"

    @property
    def settings(self) -> Settings:
        """The same as the engine works with."""
        return Settings(
            is_exact_pounds=self.pounds == LB_EXACTLY,
            is_never_up_for_children=self.rounding == NEVER_UP,
            refused_from=Fraction(self.refused_from, 100),
        )
