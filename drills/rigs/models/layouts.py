"""A layout, its revisions, and all that one revision says."""

from datetime import UTC
from typing import ClassVar

from django.db import models

from drills.engine.workbook.columns import (
    CODE_LENGTH,
    KEY_LENGTH,
    NAME_LENGTH,
    NOTES_LENGTH,
    WORD_LENGTH,
)
from drills.people.prepared import Prepared
from drills.rigs.models.needs import Need

# Every column holds what the workbook may: a letter without case may be three, and a place that
# finds its key taken gets signs behind it.
ITEM_KEY_LENGTH, PLACE_KEY_LENGTH = 3 * NAME_LENGTH, KEY_LENGTH + 40


class Layout(models.Model):
    """How one kind of rig is arranged; has numbered revisions."""

    slug = models.SlugField(max_length=KEY_LENGTH, unique=True)
    name = models.CharField(max_length=NAME_LENGTH)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name

    @property
    def published(self) -> "Revision | None":
        """The revision in force, if any."""
        for found in _PUBLISHED(layout=self.pk):
            found.layout = self
            return found
        return None

    @property
    def coming(self) -> "Revision | None":
        """The revision that is published for a later day, if any."""
        return self.revisions.filter(state=RevisionState.COMING).first()

    @property
    def draft(self) -> "Revision | None":
        return self.revisions.filter(state=RevisionState.DRAFT).first()


class RevisionState(models.TextChoices):
    DRAFT = "draft", "draft"
    COMING = "coming", "to come"
    PUBLISHED = "published", "published"
    RETIRED = "retired", "retired"


class Revision(models.Model):
    """One numbered state of a layout. A published one never changes; a newer one retires it.

    `effective_on` is the day from which it is in force, by the agency's clock, none of a draft.
    One to come is published as well, and waits for that day with `refits`: the unit numbers of the
    rigs that then ride it.
    """

    layout = models.ForeignKey(Layout, on_delete=models.CASCADE, related_name="revisions")
    number = models.PositiveIntegerField()
    state = models.CharField(
        max_length=10, choices=RevisionState.choices, default=RevisionState.DRAFT
    )
    name = models.CharField(max_length=NAME_LENGTH)
    body = models.CharField(max_length=NAME_LENGTH, blank=True)
    length_m = models.CharField(max_length=12, blank=True)
    width_m = models.CharField(max_length=12, blank=True)
    height_m = models.CharField(max_length=12, blank=True)
    notes = models.CharField(max_length=NOTES_LENGTH, blank=True)
    imported_at = models.DateTimeField()
    published_at = models.DateTimeField(null=True, blank=True)
    effective_on = models.DateField(null=True, blank=True)
    refits = models.JSONField(default=list, blank=True)

    class Meta:
        ordering: ClassVar = ["layout", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["layout", "number"], name="one_revision_per_number"),
            models.UniqueConstraint(
                fields=["layout"], condition=models.Q(state="draft"), name="one_draft_per_layout"
            ),
            models.UniqueConstraint(
                fields=["layout"], condition=models.Q(state="coming"), name="one_coming_per_layout"
            ),
            models.UniqueConstraint(
                fields=["layout"],
                condition=models.Q(state="published"),
                name="one_published_per_layout",
            ),
            models.CheckConstraint(
                condition=models.Q(state="draft") ^ models.Q(effective_on__isnull=False),
                name="a_day_in_force_unless_a_draft",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}, rev. {self.number}"

    @property
    def mark(self) -> str:
        """Another one after every change of a draft, so that what was shown can be told."""
        return self.imported_at.astimezone(UTC).isoformat()

    @property
    def slug_and_number(self) -> str:
        """What a page posts to say which revision it showed."""
        return f"{self.layout.slug} {self.number}"

    @property
    def before(self) -> "Revision | None":
        """The revision that this one followed, drafts left out."""
        earlier = self.layout.revisions.filter(number__lt=self.number)
        return earlier.exclude(state=RevisionState.DRAFT).order_by("-number").first()

    @property
    def untied(self) -> "models.QuerySet[ItemTerms]":
        """Terms of the items that neither a rule ties to a need nor a keeper has decided on."""
        return self.terms.filter(need=None, item__decision=None)


_PUBLISHED = Prepared(
    lambda layout: Revision.objects.filter(layout=layout, state=RevisionState.PUBLISHED).order_by()
)


class Place(models.Model):
    """A compartment's identity across the revisions of its layout."""

    layout = models.ForeignKey(Layout, on_delete=models.CASCADE, related_name="places")
    key = models.CharField(max_length=PLACE_KEY_LENGTH)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["layout", "key"], name="one_place_per_key")
        ]

    def __str__(self) -> str:
        return self.key


class Compartment(models.Model):
    """A place as one revision has it: name, parent, where it is drawn, how it opens."""

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="compartments")
    place = models.ForeignKey(Place, on_delete=models.RESTRICT, related_name="compartments")
    order = models.PositiveIntegerField()
    code = models.CharField(max_length=CODE_LENGTH)
    name = models.CharField(max_length=NAME_LENGTH)
    inside = models.ForeignKey(
        "self", on_delete=models.CASCADE, null=True, blank=True, related_name="holds"
    )
    face = models.CharField(max_length=20, blank=True)
    rect = models.JSONField(null=True, blank=True)
    also_face = models.CharField(max_length=20, blank=True)
    also_rect = models.JSONField(null=True, blank=True)
    opens = models.CharField(max_length=10)
    closure = models.CharField(max_length=10)
    carried = models.CharField(max_length=10)
    is_locked = models.BooleanField(default=False)
    is_sealed = models.BooleanField(default=False)
    reach_from = models.JSONField(default=list, blank=True)
    height = models.CharField(max_length=10, blank=True)
    notes = models.CharField(max_length=NOTES_LENGTH, blank=True)

    class Meta:
        ordering: ClassVar = ["revision", "order"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["revision", "code"], name="one_compartment_per_code"),
            models.UniqueConstraint(fields=["revision", "place"], name="one_compartment_per_place"),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class Item(models.Model):
    """A kind of thing the agency carries, under its own name; outlets and controls as well.

    `key` is the name without differences of case and spacing.
    """

    key = models.CharField(max_length=ITEM_KEY_LENGTH, unique=True)
    name = models.CharField(max_length=NAME_LENGTH)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name


class ItemTerms(models.Model):
    """What an item is called and tied to as of one revision."""

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="terms")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="terms")
    name = models.CharField(max_length=NAME_LENGTH)
    aliases = models.JSONField(default=list, blank=True)
    category = models.CharField(max_length=WORD_LENGTH, blank=True)
    unit = models.CharField(max_length=WORD_LENGTH, blank=True)
    presentation = models.CharField(max_length=KEY_LENGTH, blank=True)
    weight_kg = models.CharField(max_length=12, blank=True)
    need_given = models.CharField(max_length=KEY_LENGTH, blank=True)
    need = models.ForeignKey(
        Need, on_delete=models.SET_NULL, null=True, blank=True, related_name="terms"
    )

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["revision", "item"], name="one_set_of_terms_per_item")
        ]

    def __str__(self) -> str:
        return self.name


class StockLine(models.Model):
    """An item in a compartment with its par."""

    compartment = models.ForeignKey(Compartment, on_delete=models.CASCADE, related_name="stock")
    terms = models.ForeignKey(ItemTerms, on_delete=models.CASCADE, related_name="stock")
    order = models.PositiveIntegerField()
    par = models.PositiveIntegerField()
    is_critical = models.BooleanField(default=False)
    expires = models.DateField(null=True, blank=True)
    notes = models.CharField(max_length=NOTES_LENGTH, blank=True)

    class Meta:
        ordering: ClassVar = ["order"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["compartment", "terms"], name="one_line_per_item_and_compartment"
            ),
            models.CheckConstraint(condition=models.Q(par__gte=1), name="par_of_at_least_one"),
        ]

    def __str__(self) -> str:
        return f"{self.terms.name}, par {self.par}"


class Point(models.Model):
    """A door, seat, cot, outlet or control of a revision."""

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="points")
    order = models.PositiveIntegerField()
    code = models.CharField(max_length=CODE_LENGTH)
    kind = models.CharField(max_length=10)
    name = models.CharField(max_length=NAME_LENGTH)
    face = models.CharField(max_length=20)
    x = models.FloatField()
    y = models.FloatField()
    serves = models.JSONField(default=list, blank=True)

    class Meta:
        ordering: ClassVar = ["order"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["revision", "code"], name="one_point_per_code")
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"
