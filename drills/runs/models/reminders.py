"""How a person wishes to hear of what is due outside the site: a calendar, and mail."""

from datetime import date
from typing import ClassVar

from django.db import models

from drills.people.models import Person


class CalendarFeed(models.Model):
    """The address of a person's calendar of what is due, as a hash: who has the address reads it
    without signing in, until its person revokes it or makes another."""

    person = models.OneToOneField(Person, on_delete=models.CASCADE, related_name="calendar_feed")
    hashed = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"calendar of {self.person}"


class ReminderAddress(models.Model):
    """Where a person is written to of what is due, and the day they last were.

    Nothing goes there before it was `confirmed_at` by the link of a letter, of which a hash is kept
    until then; `asked_at` is when that letter went.
    """

    person = models.OneToOneField(Person, on_delete=models.CASCADE, related_name="reminders")
    address = models.EmailField()
    told_on = models.DateField(null=True, blank=True)
    asked_at = models.DateTimeField(null=True, blank=True)
    hashed = models.CharField(max_length=64, blank=True)
    confirmed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["person__employee_number"]

    def __str__(self) -> str:
        return f"reminders to {self.person}"

    def was_told_on(self, day: date) -> bool:
        """Whether they were written to on a day, or later."""
        return self.told_on is not None and self.told_on >= day
