"""A sample of the drill that settings make, for somebody without history: nothing is stored."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from drills.engine.callplan import plan
from drills.engine.elsewhere import Elsewhere
from drills.engine.generation import DrillPlan
from drills.engine.prompts import asked_as
from drills.engine.recipes import CannotApplyError, RecipeSpec
from drills.engine.targets import TARGETS, steps_of, whole
from drills.rigs.actions import held_pairs
from drills.rigs.models import Layout, Revision, Rig
from drills.rigs.own import own_of
from drills.rigs.reading import layout_of
from drills.scenarios.describing import asked, describe
from drills.scenarios.models import Mode, Recipe, RecipeVersion
from drills.scenarios.reading import looked_to, material_of

A_MINUTE, FIRST_SEED = 60, 1
RIG, LAYOUT = "rig:", "layout:"


@dataclass(frozen=True, slots=True)
class On:
    """What a sample is drawn on: a revision, of a rig or as the layout says."""

    key: str
    words: str
    revision: Revision
    rig: Rig | None = None


@dataclass(frozen=True, slots=True)
class SamplePrompt:
    """One prompt as a list shows it, with what is right, and its call where another begins."""

    kind: str
    words: str
    answers: tuple[str, ...]
    call: str = ""


@dataclass(frozen=True, slots=True)
class Sample:
    """The prompts that a seed gives, what they should take in minutes, or why there are none.

    `short` are the kinds of which there are fewer than the recipe counts, with both numbers.
    """

    seed: int
    prompts: tuple[SamplePrompt, ...] = ()
    minutes: int = 0
    short: tuple[tuple[str, int, int], ...] = ()
    varies: bool = True
    fault: str = ""


def places_to_sample() -> list[On]:
    """Every layout in force, then every rig that rides one."""
    layouts = Layout.objects.filter(revisions__state="published").distinct().order_by("name")
    found = [
        On(f"{LAYOUT}{each.slug}", str(each.published), each.published)
        for each in layouts
        if each.published
    ]
    rigs = Rig.objects.select_related("revision__layout").order_by("unit")
    return found + [
        On(f"{RIG}{each.unit}", f"{each}, {each.revision}", each.revision, each) for each in rigs
    ]


def sample(spec: RecipeSpec, on: On, *, seed: int, is_assessed: bool, now: datetime) -> Sample:
    """What a recipe of these settings asks there; a refusal is a sentence without its key."""
    own, held = own_of(on.rig), held_pairs(on.rig)
    try:
        made = planned(
            spec, on.revision, seed=seed, now=now, is_assessed=is_assessed, own=own, held=held
        )
    except CannotApplyError as error:
        words = str(error).removeprefix(f"{spec.slug}: ")
        return Sample(seed, fault=f"It makes no drill here: {words}")
    layout = layout_of(on.revision, own)
    told = [describe(layout, each) for each in made.prompts]
    calls = ["", *map(_story, told)]
    kinds = [asked_as(each.kind, each.subject) for each in made.prompts]
    seconds = whole(steps_of(kinds)).seconds
    return Sample(
        seed,
        prompts=tuple(
            SamplePrompt(
                TARGETS[kinds[at]].words,
                asked(each["name"], each["text"]),
                tuple(each["answer_text"]),
                "" if calls[at] == calls[at + 1] else calls[at + 1],
            )
            for at, each in enumerate(told)
        ),
        minutes=max(1, round(-(-seconds // A_MINUTE))),
        short=tuple(
            (TARGETS[kind].words, kinds.count(kind), count)
            for kind, count in spec.kinds
            if kinds.count(kind) < count
        ),
        varies=made.varies,
    )


def unserved(recipe: Recipe | RecipeVersion, layout: str, *, slug: str = "", now: datetime) -> str:
    """Why a layout, by its key, cannot serve a recipe, in a sentence; empty where it can."""
    row = Layout.objects.filter(slug=layout).first()
    revision = row.published if row else None
    if row is None or revision is None:
        return f"{row or layout} has no revision in force, so nothing can be drilled on it."
    on = On(f"{LAYOUT}{layout}", str(revision), revision)
    is_assessed = recipe.mode == Mode.ASSESSED
    spec = recipe.spec_as(slug or getattr(recipe, "slug", ""))
    made = sample(spec, on, seed=FIRST_SEED, is_assessed=is_assessed, now=now)
    if made.fault:
        return f"{row} cannot serve it. {made.fault}"
    none = _none_there(made)
    return f"{row} cannot serve it. {none} is there." if none else ""


def _none_there(made: Sample) -> str:
    """The kinds of which there is nothing at all to ask, in words."""
    return "; ".join(
        f"{words}: none of {wanted}" for words, there, wanted in made.short if not there
    )


def _story(told: Mapping[str, Any]) -> str:
    """What was said of a call; of a patient of none, with what is found of them."""
    said = str(told.get("dispatch", ""))
    found = told["patients"] if "about" in told else ()
    return " ".join((said, *(f"{each['findings']}. {', '.join(each['signs'])}." for each in found)))


def planned(
    spec: RecipeSpec,
    revision: Revision,
    *,
    seed: int,
    now: datetime,
    is_assessed: bool = False,
    own: Collection[Elsewhere] = (),
    held: Collection[tuple[str, str]] = (),
) -> DrillPlan:
    """The drill of settings on a revision, for somebody without history.

    `own` are the differences of a rig, `held` what is reported there. Raises `CannotApplyError`.
    """
    layout = layout_of(revision, own)
    material = None
    if spec.comes_from_calls:
        material = material_of(revision, now=now, is_assessed=is_assessed, layout=layout)
    before = revision.before if spec.asks_what_moved else None
    return plan(
        layout,
        spec,
        seed=seed,
        material=material,
        held=held,
        before=layout_of(before, own) if before else None,
        looked_to=looked_to(revision, layout, spec),
    )
