"""What officers signed of people, and how long it stands."""

from datetime import timedelta
from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from drills.engine.signing import DRILL_AFTER_DAYS, LAPSES_AFTER_DAYS, Signed, Span
from drills.people.models import Person
from drills.rigs.models import Revision
from drills.runs.models.hands_on import Sheet

BECAUSE_LENGTH = 300
# Training records on bloodborne pathogens are kept three years in the US (29 CFR 1910.1030, as a
# second source tells it). For sign-offs as such no source: a service sets what its law asks.
HOLD_YEARS = 3
MOST_DAYS, MOST_YEARS = 3650, 100
THE_ONE = 1


class SigningSettings(models.Model):
    """The one row of a service: how long sign-offs stand, and how long they are held by law.

    Without it a drill is due at 90 days, a new run at 180, and they are held three years.
    """

    number = models.PositiveSmallIntegerField(primary_key=True, default=THE_ONE)
    drill_after_days = models.PositiveSmallIntegerField(default=DRILL_AFTER_DAYS)
    lapses_after_days = models.PositiveSmallIntegerField(default=LAPSES_AFTER_DAYS)
    hold_years = models.PositiveSmallIntegerField(default=HOLD_YEARS)
    changed_at = models.DateTimeField()

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(number=THE_ONE), name="signing_is_set_once"),
            models.CheckConstraint(
                condition=Q(drill_after_days__gte=1, drill_after_days__lt=F("lapses_after_days")),
                name="a_drill_is_due_before_a_run",
            ),
        ]

    def __str__(self) -> str:
        years = f"{self.hold_years} year{'s' * (self.hold_years != 1)}"
        return f"{self.words} Sign-offs of an erased person are held {years}."

    @property
    def words(self) -> str:
        """How long one stands, in a sentence."""
        return (
            f"A drill is due {self.drill_after_days} days after a run was seen, a new run after "
            f"{self.lapses_after_days}."
        )

    @property
    def span(self) -> Span:
        """The two numbers as the engine works with them."""
        return Span(self.drill_after_days, self.lapses_after_days)

    @property
    def hold(self) -> timedelta:
        """How long a sign-off is held, at the least."""
        return timedelta(days=366 * self.hold_years)


class SignOff(models.Model):
    """An officer's dated word that a person met the standard at the rig, in some categories.

    It counts from when the run was seen. Whether it stands is worked out, never stored. The two
    names are empty while both are people of the service: they are written when one of them is
    erased and the law holds the sign-off.
    """

    person = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, related_name="sign_offs"
    )
    officer = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, related_name="sign_offs_given"
    )
    person_name = models.CharField(max_length=160, blank=True)
    officer_name = models.CharField(max_length=160, blank=True)
    sheet = models.OneToOneField(
        Sheet, on_delete=models.SET_NULL, null=True, related_name="sign_off"
    )
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="sign_offs")
    categories = models.JSONField()
    seen_at = models.DateTimeField()
    signed_at = models.DateTimeField()
    is_simulated = models.BooleanField(default=False)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    withdrawn_because = models.CharField(max_length=BECAUSE_LENGTH, blank=True)

    class Meta:
        ordering: ClassVar = ["-seen_at", "-pk"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=~Q(person=F("officer")), name="sign_off_of_somebody_else"
            ),
            models.CheckConstraint(
                condition=Q(withdrawn_at=None, withdrawn_because="")
                | (Q(withdrawn_at__isnull=False) & ~Q(withdrawn_because="")),
                name="sign_off_withdrawn_with_a_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.listed}, on {self.revision}, seen {timezone.localdate(self.seen_at):%F}"

    @property
    def listed(self) -> str:
        """The categories in one line."""
        return ", ".join(self.categories)

    @property
    def by(self) -> str:
        """Who signed."""
        return self.officer.name if self.officer else self.officer_name or "an officer erased since"

    @property
    def signed(self) -> Signed:
        """The same as the engine works with."""
        return Signed(
            mark=self.pk,
            layout=self.revision.layout_id,
            categories=frozenset(self.categories),
            seen_at=self.seen_at,
            day=timezone.localdate(self.seen_at),
            is_withdrawn=self.withdrawn_at is not None,
        )
