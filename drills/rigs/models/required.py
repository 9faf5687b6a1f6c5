"""What lists require of a rig, and what keepers decided that answers each row."""

from typing import ClassVar

from django.db import models

from drills.engine.required import OBLIGATIONS, UNSAID
from drills.engine.required_file import (
    ITEM_LENGTH,
    NEEDS_LENGTH,
    TEXT_LENGTH,
    WORD_LENGTH,
)
from drills.people.models import Person

LIST_NAME_LENGTH, NOTE_LENGTH = 80, 300


class RequiredListManager(models.Manager["RequiredList"]):
    def get_by_natural_key(self, slug: str) -> "RequiredList":
        return self.get(slug=slug)


class RequiredList(models.Model):
    """A list of what must be aboard, of an agency or published. Each row says where it is from.

    A sample comes with the program and is replaced by its next release, so nobody ties its rows
    anew: who wants it otherwise loads it under a name of their own.
    """

    slug = models.SlugField(max_length=LIST_NAME_LENGTH, unique=True)
    name = models.CharField(max_length=LIST_NAME_LENGTH)
    is_sample = models.BooleanField(default=False)
    loaded_at = models.DateTimeField()

    objects = RequiredListManager()

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name

    def natural_key(self) -> tuple[str]:
        return (self.slug,)


class RequiredRowManager(models.Manager["RequiredRow"]):
    def get_by_natural_key(self, slug: str, level: str, item: str) -> "RequiredRow":
        return self.get(of__slug=slug, level=level, item=item)


class RequiredRow(models.Model):
    """One thing a list asks for, and the needs that answer it.

    `needs` is as `drills.engine.required.read_wanted` reads it. Nothing is decided while
    `decided_at` is empty; decided without a need, no need answers the row, and `note` says why.
    """

    of = models.ForeignKey(RequiredList, on_delete=models.CASCADE, related_name="rows")
    order = models.PositiveIntegerField()
    source = models.CharField(max_length=TEXT_LENGTH)
    status = models.CharField(max_length=TEXT_LENGTH, blank=True)
    level = models.CharField(max_length=WORD_LENGTH, blank=True)
    item = models.CharField(max_length=ITEM_LENGTH)
    quantity = models.PositiveIntegerField(null=True, blank=True)
    unit = models.CharField(max_length=WORD_LENGTH, blank=True)
    obligation = models.CharField(
        max_length=10, choices=[(word, word) for word in OBLIGATIONS], default=UNSAID
    )
    needs = models.CharField(max_length=NEEDS_LENGTH, blank=True)
    note = models.CharField(max_length=NOTE_LENGTH, blank=True)
    decided_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="rows_tied"
    )
    decided_at = models.DateTimeField(null=True, blank=True)

    objects = RequiredRowManager()

    class Meta:
        ordering: ClassVar = ["of", "order"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["of", "level", "item"], name="one_row_per_level_item")
        ]

    def __str__(self) -> str:
        return f"{self.of}: {self.item}"

    def natural_key(self) -> tuple[str, str, str]:
        return (self.of.slug, self.level, self.item)
