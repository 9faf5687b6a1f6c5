"""Drills made from recipes, frozen."""

from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

from django.db import models

from drills.engine.lately import call_mark, call_of, mark_of
from drills.engine.prompts import Prompt
from drills.rigs.models import Revision
from drills.scenarios.models.recipes import Recipe, Terms
from drills.scenarios.tasks import answer_of, shown_of


@dataclass(frozen=True, slots=True)
class Outlined:
    """What serving needs to know of a prompt that is not opened."""

    position: int
    kind: str
    is_spare: bool
    subject: str


class Drill(Terms):
    """A list of prompts, frozen when made, with all that it was made from.

        The terms are the recipe's as they were; `held` are the reports that kept lines out, as
        (thing key, place key) pairs; `differences` what the rig carried elsewhere than the revision
        says, as (thing key, place key, place key on the rig). `since` is the revision
        that was known before, where the recipe asks what moved; `lately` are the marks of what was
    asked in the week before; `motions` is the motion table in force then, in percent of our
    own, and empty of what was made before there was any.
    """

    recipe = models.ForeignKey(Recipe, on_delete=models.PROTECT, related_name="drills")
    recipe_version = models.PositiveIntegerField()
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="drills")
    since = models.ForeignKey(Revision, on_delete=models.PROTECT, null=True, related_name="+")
    seed = models.BigIntegerField()
    weights = models.JSONField(default=dict)
    held = models.JSONField(default=list)
    differences = models.JSONField(default=list)
    lately = models.JSONField(default=dict)
    motions = models.JSONField(default=dict)
    varies = models.BooleanField()
    made_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-made_at", "-id"]

    def __str__(self) -> str:
        return f"{self.recipe}, seed {self.seed}"

    @cached_property
    def outline(self) -> tuple[Outlined, ...]:
        """Its prompts, spares last, without what they ask: it is frozen, so read once."""
        rows = self.prompts.order_by("position")
        found = rows.values_list("position", "kind", "is_spare", "subject")
        return tuple(Outlined(*row) for row in found)

    @property
    def planned(self) -> int:
        """How many prompts it has, spares apart."""
        return sum(not each.is_spare for each in self.outline)

    def is_all_of(self, kinds: Collection[str]) -> bool:
        """Whether every prompt of it is of one of some kinds."""
        return all(each.kind in kinds for each in self.outline)


class DrillPrompt(models.Model):
    """One frozen prompt of a drill; spares follow the planned ones.

    By its `mark` it is known again in another drill, by `call_mark` the call that it comes from;
    both are empty of what was made before there were any.
    """

    drill = models.ForeignKey(Drill, on_delete=models.CASCADE, related_name="prompts")
    position = models.PositiveIntegerField()
    is_spare = models.BooleanField(default=False)
    kind = models.CharField(max_length=10)
    subject = models.CharField(max_length=360)
    name = models.TextField()
    text = models.CharField(max_length=300)
    depth = models.CharField(max_length=10)
    category = models.CharField(max_length=80, blank=True)
    is_critical = models.BooleanField(default=False)
    shown = models.JSONField(default=dict)
    answer = models.JSONField()
    choices = models.JSONField(default=list)
    chosen = models.CharField(max_length=10)
    mark = models.CharField(max_length=16, default="")
    call_mark = models.CharField(max_length=16, default="")

    class Meta:
        ordering: ClassVar = ["drill", "position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["drill", "position"], name="one_prompt_per_position")
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.name}"

    @classmethod
    def from_engine(
        cls, prompt: Prompt, *, drill: Drill, position: int, is_spare: bool
    ) -> "DrillPrompt":
        call = call_of(prompt)
        return cls(
            drill=drill,
            position=position,
            is_spare=is_spare,
            kind=prompt.kind,
            subject=prompt.subject,
            name=prompt.name,
            text=prompt.text,
            depth=prompt.depth,
            category=prompt.category,
            is_critical=prompt.critical,
            shown=shown_of(prompt),
            answer=answer_of(prompt),
            choices=list(prompt.choices),
            chosen=prompt.chosen,
            mark=mark_of(prompt),
            call_mark=call_mark(call) if call else "",
        )
