"""Recipes, and every version of one that something was made from."""

from typing import Any, ClassVar

from django.db import models

from drills.engine.recipecheck import NAME_LENGTH, NOTES_LENGTH, RIG_TODAY, layout_named
from drills.engine.recipes import ANY_CALL, BY_COMPARTMENT, RecipeSpec, read_kinds
from drills.engine.standards import Standard
from drills.people.models import Person


class Mode(models.TextChoices):
    PRACTICE = "practice", "practice"
    ASSESSED = "assessed", "assessed"


class RecipeManager(models.Manager["Recipe"]):
    def get_by_natural_key(self, slug: str) -> "Recipe":
        return self.get(slug=slug)

    def in_use(self) -> "models.QuerySet[Recipe]":
        """Those that are not retired, nor made for the one list of questions that they ask."""
        return self.filter(retired_on=None).exclude(slug__startswith=Recipe.UNLISTED)

    def open_to(self, person: Person) -> "models.QuerySet[Recipe]":
        """Those in use that a person may choose: the shared ones, and their own."""
        return self.in_use().filter(models.Q(is_shared=True) | models.Q(owner=person))


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


class RecipeSettings(Terms):
    """All that a recipe is set to, and who set it so; of the reference data nobody did.

    `kinds` is written `locate:8;contents:1`, or `auto` for a count.
    """

    version = models.PositiveIntegerField(default=1)
    name = models.CharField(max_length=NAME_LENGTH)
    mode = models.CharField(max_length=10, choices=Mode.choices, default=Mode.PRACTICE)
    kinds = models.CharField(max_length=200)
    difficulty = models.PositiveSmallIntegerField(default=1)
    layout_rule = models.CharField(max_length=120, default=RIG_TODAY)
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
    notes = models.CharField(max_length=NOTES_LENGTH, blank=True)
    changed_at = models.DateTimeField(null=True, blank=True)
    changed_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return self.name

    def settings(self) -> dict[str, Any]:
        """Every setting by the name of its column, the version and who set it among them."""
        return {each.attname: getattr(self, each.attname) for each in RecipeSettings._meta.fields}

    @property
    def layout_key(self) -> str:
        """The key of the one layout it is drilled on, whatever rig one rides; empty for any."""
        return layout_named(self.layout_rule)

    @property
    def is_by_compartment(self) -> bool:
        """Whether it goes round the rig place by place, as one walks."""
        return self.order.startswith(BY_COMPARTMENT)

    def spec_as(self, slug: str) -> RecipeSpec:
        """The settings in the engine's terms; raises `CannotApplyError` if they cannot be read."""
        return RecipeSpec(
            slug=slug,
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


class Recipe(RecipeSettings):
    """What a drill is made from, as it is now.

    Nobody owns one of the reference data. One that is not shared is for its owner to choose, and
    for whom they give it to. Of one that is retired nothing new is made or given. One whose key
    begins as `UNLISTED` says was made by a board for what it names, and stands in no list.
    """

    # No name that anybody writes makes such a key.
    UNLISTED: ClassVar[str] = "_"

    slug = models.SlugField(max_length=60, unique=True)
    series = models.SlugField(max_length=60, blank=True)
    step = models.PositiveSmallIntegerField(null=True, blank=True)
    owner = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="recipes"
    )
    is_shared = models.BooleanField(default=True)
    retired_on = models.DateField(null=True, blank=True)

    objects = RecipeManager()

    class Meta:
        ordering: ClassVar = ["series", "step", "slug"]

    def natural_key(self) -> tuple[str]:
        return (self.slug,)

    @property
    def is_listed(self) -> bool:
        return not self.slug.startswith(self.UNLISTED)

    @property
    def spec(self) -> RecipeSpec:
        """The recipe in the engine's terms; raises `CannotApplyError` when it cannot be read."""
        return self.spec_as(self.slug)

    def is_for(self, person: Person) -> bool:
        """Whether a person may take it without being given it."""
        is_own = self.is_shared or self.owner_id == person.pk
        return is_own or Named.objects.filter(recipe=self, people=person).exists()

    def at(self, version: int) -> "Recipe | RecipeVersion":
        """The recipe as a version had it, if that was kept; else as it is now."""
        if version == self.version:
            return self
        return self.versions.filter(version=version).first() or self

    def keep_version(self) -> None:
        """Keep this version, as the row has it, for all that is made from it."""
        if not self.versions.filter(version=self.version).exists():
            row = Recipe.objects.get(pk=self.pk)
            settings = row.settings()
            RecipeVersion.objects.get_or_create(
                recipe=row, version=settings.pop("version"), defaults=settings
            )


class RecipeVersion(RecipeSettings):
    """A recipe as one version had it; never changed."""

    recipe = models.ForeignKey(Recipe, on_delete=models.CASCADE, related_name="versions")

    class Meta:
        ordering: ClassVar = ["recipe", "-version"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["recipe", "version"], name="one_recipe_per_version")
        ]

    @property
    def spec(self) -> RecipeSpec:
        """The version in the engine's terms; raises `CannotApplyError` when it cannot be read."""
        return self.spec_as(self.recipe.slug)


class Named(models.Model):
    """Of a recipe that a board made: what it asks, each question in words by the name of a focus,
    and for whom. Beside the recipe, since no release brings one and whoever is erased goes."""

    recipe = models.OneToOneField(Recipe, on_delete=models.CASCADE, related_name="named")
    questions = models.JSONField()
    people = models.ManyToManyField(Person, related_name="recipes_named")

    def __str__(self) -> str:
        return f"{self.recipe}, {len(self.questions)} questions"

    @property
    def asks(self) -> dict[str, str]:
        """The questions in one order, whichever a database keeps them in."""
        return dict(sorted(self.questions.items()))
