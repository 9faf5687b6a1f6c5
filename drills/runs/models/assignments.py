"""Recipes given to people, with a due date and a standard to meet."""

import uuid
from typing import ClassVar

from django.db import models

from drills.engine.series import name_of
from drills.people.models import Person
from drills.rigs.models import Layout
from drills.scenarios.models import PassTerms, Recipe, RecipeVersion


class Series(models.Model):
    """A series of recipes that was given to people as one: an assignment for each day of it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    slug = models.SlugField(max_length=60)
    given_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, related_name="series_given"
    )
    given_at = models.DateTimeField()
    every = models.PositiveSmallIntegerField(default=1)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["-given_at"]
        verbose_name_plural = "series"

    def __str__(self) -> str:
        return name_of(self.slug)


class Assignment(PassTerms):
    """A recipe given to people at once, as the version was that it was given in.

    The standard is the recipe's unless it was changed.
    `due_on` is the last day. Who joins a cohort afterwards is not given it. `layout` is the one
    that it is drilled on whatever rig one rides, none where it is the rig of the day. `attempts`
    are how many each may make, none where as many as it takes. One of a `series` is changed and
    withdrawn with it.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    recipe = models.ForeignKey(Recipe, on_delete=models.PROTECT, related_name="assignments")
    recipe_version = models.PositiveIntegerField(default=1)
    given_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, related_name="assignments_given"
    )
    given_at = models.DateTimeField()
    due_on = models.DateField()
    minutes = models.PositiveSmallIntegerField()
    attempts = models.PositiveSmallIntegerField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)
    layout = models.ForeignKey(
        Layout, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    series = models.ForeignKey(
        Series, on_delete=models.CASCADE, null=True, blank=True, related_name="assignments"
    )

    class Meta:
        ordering: ClassVar = ["due_on", "-given_at"]

    def __str__(self) -> str:
        return f"{self.recipe}, due {self.due_on:%F}"

    @property
    def made_from(self) -> Recipe | RecipeVersion:
        """The recipe as it was when it was given."""
        return self.recipe.at(self.recipe_version)


class Assigned(models.Model):
    """An assignment as one person has it. Excused is never without a reason."""

    assignment = models.ForeignKey(Assignment, on_delete=models.CASCADE, related_name="assigned")
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="assigned")
    excused_at = models.DateTimeField(null=True, blank=True)
    excused_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    excused_because = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["person__name", "person__employee_number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["assignment", "person"], name="assigned_once"),
            models.CheckConstraint(
                condition=models.Q(excused_at=None, excused_because="")
                | (models.Q(excused_at__isnull=False) & ~models.Q(excused_because="")),
                name="excused_with_a_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}: {self.assignment}"
