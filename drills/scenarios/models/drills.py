"""Recipes, and the drills made from them, frozen."""

from typing import Any, ClassVar

from django.db import models

from drills.engine.lately import call_mark, call_of, mark_of
from drills.engine.prompts import Prompt
from drills.engine.recipes import ANY_CALL, RecipeSpec, read_kinds
from drills.engine.standards import Standard
from drills.rigs.models import Revision
from drills.scenarios.tasks import answer_of, shown_of


class Mode(models.TextChoices):
    PRACTICE = "practice", "practice"
    ASSESSED = "assessed", "assessed"


class RecipeManager(models.Manager["Recipe"]):
    def get_by_natural_key(self, slug: str) -> "Recipe":
        return self.get(slug=slug)


class PassTerms(models.Model):
    """The standard to meet."""

    pass_marks_percent = models.PositiveSmallIntegerField(null=True, blank=True)
    pass_in_time_percent = models.PositiveSmallIntegerField(null=True, blank=True)
    no_unsafe_dose = models.BooleanField(default=False)
    no_must_missed = models.BooleanField(default=False)

    class Meta:
        abstract = True

    @property
    def standard(self) -> Standard:
        """The standard in the engine's terms."""
        return Standard(
            self.pass_marks_percent,
            self.pass_in_time_percent,
            self.no_unsafe_dose,
            self.no_must_missed,
        )


class Terms(PassTerms):
    """How the answers of a drill are timed and marked, and the standard to meet; limits in seconds.

    With `marks_writing` a right number that is written in an unsafe way is partly right.
    """

    limit_over_baseline_s = models.FloatField(null=True, blank=True)
    limit_at_rig_s = models.FloatField(null=True, blank=True)
    cut_off_s = models.FloatField(null=True, blank=True)
    rule_shown = models.BooleanField(default=True)
    marks_writing = models.BooleanField(default=False)

    class Meta:
        abstract = True

    def terms(self) -> dict[str, Any]:
        """Every term by name, to be copied onto a drill."""
        return {field.name: getattr(self, field.name) for field in Terms._meta.fields}


class Recipe(Terms):
    """What a drill is made from: kinds and counts, depth, order, focus, and its terms.

    `kinds` is written `locate:8;contents:1`, or `auto` for a count.
    """

    slug = models.SlugField(max_length=60, unique=True)
    version = models.PositiveIntegerField(default=1)
    name = models.CharField(max_length=80)
    series = models.SlugField(max_length=60, blank=True)
    step = models.PositiveSmallIntegerField(null=True, blank=True)
    mode = models.CharField(max_length=10, choices=Mode.choices, default=Mode.PRACTICE)
    kinds = models.CharField(max_length=200)
    difficulty = models.PositiveSmallIntegerField(default=1)
    layout_rule = models.CharField(max_length=20, default="rig today")
    focus = models.JSONField(default=list, blank=True)
    faces = models.JSONField(default=list, blank=True)
    bags_only = models.BooleanField(default=False)
    call_types = models.JSONField(default=list, blank=True)
    patients_least = models.PositiveSmallIntegerField(null=True, blank=True)
    patients_most = models.PositiveSmallIntegerField(null=True, blank=True)
    depth = models.CharField(max_length=10, blank=True)
    order = models.CharField(max_length=120, default="mixed")
    probes_share = models.FloatField(default=0.0)
    minutes = models.PositiveSmallIntegerField()
    notes = models.CharField(max_length=300, blank=True)

    objects = RecipeManager()

    class Meta:
        ordering: ClassVar = ["series", "step", "slug"]

    def __str__(self) -> str:
        return self.name

    def natural_key(self) -> tuple[str]:
        return (self.slug,)

    @property
    def spec(self) -> RecipeSpec:
        """The recipe in the engine's terms; raises `CannotApplyError` when it cannot be read."""
        return RecipeSpec(
            slug=self.slug,
            kinds=read_kinds(self.kinds),
            depth=self.depth or "pocket",
            order=self.order,
            focus=tuple(self.focus),
            faces=tuple(self.faces),
            bags_only=self.bags_only,
            probes_share=self.probes_share,
            rule_shown=self.rule_shown,
            call_types=tuple(each for each in self.call_types if each != ANY_CALL),
            patients_least=self.patients_least,
            patients_most=self.patients_most,
            difficulty=self.difficulty,
        )


class Drill(Terms):
    """A list of prompts, frozen when made, with all that it was made from.

    The terms are the recipe's as they were; `held` are the reports that kept lines out, as
    (thing key, place key) pairs; `differences` what the rig carried elsewhere than the revision
    says, as (thing key, place key, place key on the rig). `since` is the revision
    that was known before, where the recipe asks what moved; `lately` are the marks of what was
    asked in the week before.
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
    varies = models.BooleanField()
    made_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-made_at", "-id"]

    def __str__(self) -> str:
        return f"{self.recipe}, seed {self.seed}"


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
