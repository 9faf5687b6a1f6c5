"""The phases of a new hire, what each must show, and what officers noted day by day.

The phases are the agency's own: it names them, orders them and says what each must show.
"""

from typing import ClassVar

from django.db import models
from django.db.models import F, Q

from drills.people.models import Person
from drills.rigs.models import Layout

NAME_LENGTH, WORDS_LENGTH, NOTE_LENGTH = 60, 160, 600


class Phase(models.Model):
    """One phase, by its number in their order."""

    number = models.PositiveSmallIntegerField(unique=True)
    name = models.CharField(max_length=NAME_LENGTH)
    about = models.CharField(max_length=NOTE_LENGTH, blank=True)

    class Meta:
        ordering: ClassVar = ["number"]

    def __str__(self) -> str:
        return f"Phase {self.number}: {self.name}"


class PhaseItem(models.Model):
    """One thing a phase must show.

    With a category it is shown by a sign-off in that category that stands, on the layout where one
    is named, else on any. Without a category an officer says that it was shown.
    """

    phase = models.ForeignKey(Phase, on_delete=models.CASCADE, related_name="items")
    order = models.PositiveSmallIntegerField()
    words = models.CharField(max_length=WORDS_LENGTH)
    category = models.CharField(max_length=60, blank=True)
    layout = models.ForeignKey(
        Layout, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering: ClassVar = ["phase__number", "order", "pk"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(layout=None) | ~Q(category=""), name="layout_of_an_item_has_a_category"
            )
        ]

    def __str__(self) -> str:
        return self.words


class PhaseSpell(models.Model):
    """The time somebody was in a phase; in one at most at a time."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="phase_spells")
    phase = models.ForeignKey(Phase, on_delete=models.PROTECT, related_name="spells")
    began_on = models.DateField()
    ended_on = models.DateField(null=True, blank=True)
    by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering: ClassVar = ["began_on", "pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["person"], condition=Q(ended_on=None), name="in_one_phase_at_a_time"
            ),
            models.CheckConstraint(
                condition=Q(ended_on=None) | Q(ended_on__gte=F("began_on")),
                name="a_phase_ends_after_it_began",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}: {self.phase}, from {self.began_on:%F}"


class ItemShown(models.Model):
    """That an officer saw somebody show an item of a phase that has no category."""

    item = models.ForeignKey(PhaseItem, on_delete=models.CASCADE, related_name="shown")
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="items_shown")
    officer = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, related_name="+")
    shown_on = models.DateField()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["item", "person"], name="item_shown_once"),
            models.CheckConstraint(
                condition=~Q(person=F("officer")), name="item_seen_by_somebody_else"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}: {self.item}"


class DailyNote(models.Model):
    """What an officer noted of somebody's day: what went well, what to work on, what is next."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="daily_notes")
    officer = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, related_name="daily_notes_written"
    )
    phase = models.ForeignKey(Phase, on_delete=models.SET_NULL, null=True, related_name="+")
    day = models.DateField()
    went_well = models.CharField(max_length=NOTE_LENGTH, blank=True)
    work_on = models.CharField(max_length=NOTE_LENGTH, blank=True)
    next_step = models.CharField(max_length=NOTE_LENGTH, blank=True)
    written_at = models.DateTimeField()
    is_simulated = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["-day", "-written_at"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=~Q(went_well="", work_on="", next_step=""), name="a_note_says_something"
            ),
            models.CheckConstraint(
                condition=~Q(person=F("officer")), name="a_note_by_somebody_else"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.day:%F}"
