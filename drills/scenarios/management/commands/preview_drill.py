"""Prints a drill with its answers, for a person without history."""

import json
import sys
from argparse import ArgumentParser
from collections.abc import Collection, Iterator
from dataclasses import asdict
from itertools import chain
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.engine import layout as engine
from drills.engine.callplan import plan
from drills.engine.calls import NEEDLESS
from drills.engine.choosing import Group
from drills.engine.dosing.working import steps_to
from drills.engine.exercises import Exercise
from drills.engine.prompts import Prompt
from drills.engine.recipes import PLACE_KINDS, CannotApplyError
from drills.engine.staging import StageTask
from drills.engine.wanted import Wanted
from drills.rigs.models import Layout, Revision
from drills.rigs.reading import layout_of
from drills.scenarios.models import Recipe
from drills.scenarios.reading import material_of
from drills.scenarios.tasks import answer_of, shown_of

CANNOT_APPLY = 3


class Command(BaseCommand):
    help = "Print the drill that a recipe makes on a layout, with its answers."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--layout", required=True, metavar="SLUG")
        parser.add_argument("--recipe", required=True, metavar="SLUG")
        parser.add_argument("--seed", required=True, type=int, metavar="N")
        parser.add_argument("--json", action="store_true", help="one JSON document")

    def handle(self, *args: Any, **options: Any) -> None:
        revision = _published(options["layout"])
        recipe = _named(options["recipe"])
        layout = layout_of(revision)
        try:
            spec = recipe.spec
            now = timezone.now()
            material = (
                material_of(revision, now=now, is_assessed=False) if spec.comes_from_calls else None
            )
            before = revision.before if spec.asks_what_moved else None
            made = plan(
                layout,
                spec,
                seed=options["seed"],
                material=material,
                before=layout_of(before) if before else None,
            )
        except CannotApplyError as error:
            self.stderr.write(str(error))
            sys.exit(CANNOT_APPLY)
        document = {
            "layout": layout.slug,
            "revision": revision.number,
            "recipe": recipe.slug,
            "seed": options["seed"],
            "varies": made.varies,
            "prompts": [describe(layout, prompt) for prompt in made.prompts],
        }
        if options["json"]:
            self.stdout.write(json.dumps(document, indent=1, ensure_ascii=False))
        else:
            self._write_plainly(document)

    def _write_plainly(self, document: dict[str, Any]) -> None:
        self.stdout.write(
            "{layout} rev. {revision}, {recipe}, seed {seed}".format_map(document)
            + ("" if document["varies"] else " (fixed order: the seed changes nothing)")
        )
        told: list[str] = []
        for number, prompt in enumerate(document["prompts"], 1):
            call = list(_call_words(prompt))
            self.stdout.writelines([] if call == told else call)
            told = call
            self.stdout.write(f"{number:3}. {asked(prompt['name'], prompt['text'])}")
            for answer in (*_dose_words(prompt), *prompt["answer_text"]):
                self.stdout.write(f"       {answer}")


def _call_words(prompt: dict[str, Any]) -> Iterator[str]:
    """What a page shows of the call that a prompt comes from; nothing where it comes from none."""
    if "dispatch" in prompt:
        yield f"Call: {prompt['dispatch']}\n"
    for each in prompt.get("patients", ()):
        signs = "; ".join(each["signs"])
        yield f"  Patient {each['number']}, {each['who']}. {each['findings']}. {signs}\n"


def _dose_words(prompt: dict[str, Any]) -> Iterator[str]:
    """The figures that a number is worked out from."""
    if "medicine" in prompt:
        whom = f"Patient {prompt['patient']}. " if "patient" in prompt else ""
        yield f"{whom}{prompt['medicine']}, {prompt['route']}: {prompt['indication']}"
    for label, words, note in prompt.get("facts", ()):
        yield f"{label}: {words}{f' ({note})' if note else ''}"
    if "rule" in prompt:
        yield f"Rule: {prompt['rule']} ({prompt['source']})"


def asked(name: str, text: str) -> str:
    """A prompt in one line; a name that ends a sentence takes no full stop."""
    return f"{name}{'' if name.endswith(('?', '.')) else '.'} {text}".strip()


def describe(layout: engine.Layout, prompt: Prompt) -> dict[str, Any]:
    """A prompt as plain data: no times and no random identifiers."""
    if prompt.stage is not None:
        return _staging(layout, prompt, prompt.stage)
    if prompt.exercise is not None:
        return _exercise(prompt, prompt.exercise)
    if prompt.choosing or prompt.triage:
        return _chosen(prompt)
    return _of_the_rig(layout, prompt)


def _of_the_rig(layout: engine.Layout, prompt: Prompt) -> dict[str, Any]:
    if prompt.kind in PLACE_KINDS:
        answer, texts = list(prompt.answer), [layout.path(code) for code in prompt.answer]
    else:
        answer = texts = [layout.things[key].name for key in prompt.answer]
    return {
        "kind": prompt.kind,
        "text": prompt.text,
        "name": prompt.name,
        "subject": prompt.name if prompt.kind in PLACE_KINDS else prompt.subject,
        "depth": prompt.depth,
        "category": prompt.category,
        "critical": prompt.critical,
        "chosen": prompt.chosen,
        "choices": [layout.things[key].name for key in prompt.choices],
        "answer": answer,
        "answer_text": texts,
    }


def _staging(layout: engine.Layout, prompt: Prompt, task: StageTask) -> dict[str, Any]:
    wanted, unconfirmed = task.wanted, task.unconfirmed
    return {
        "kind": prompt.kind,
        "text": prompt.text,
        "name": prompt.name,
        **shown_of(prompt),
        "answer": [asdict(each) for each in wanted],
        "answer_text": [_wanted_words(layout, each, unconfirmed) for each in wanted],
    }


def _exercise(prompt: Prompt, task: Exercise) -> dict[str, Any]:
    solution = task.problem.solve()
    answer = solution.results[task.asked].answer
    return {
        "kind": prompt.kind,
        "text": prompt.text,
        "name": prompt.name,
        "subject": prompt.subject,
        **shown_of(prompt),
        "answer": answer,
        "answer_text": [*steps_to(solution, task.asked), answer],
    }


def _chosen(prompt: Prompt) -> dict[str, Any]:
    """A patient to sort, or what is chosen in groups."""
    texts: list[str] = []
    if prompt.triage:
        word = next(
            each.word for each in prompt.triage.choices if each.category == prompt.triage.answer
        )
        texts = [word, *prompt.triage.path]
    if prompt.choosing:
        texts = [*map(_group_words, prompt.choosing.groups), *prompt.choosing.why]
    return {
        "kind": prompt.kind,
        "text": prompt.text,
        "name": prompt.name,
        "subject": prompt.subject,
        **shown_of(prompt),
        "answer": answer_of(prompt),
        "answer_text": texts,
    }


def _group_words(group: Group) -> str:
    """What is right of a group, what one of is enough, and what may be chosen as well."""
    words = {each.key: each.words for each in group.choices}
    kinds = (
        ("", [*group.right, *dict.fromkeys(chain.from_iterable(right for _, right in group.by))]),
        *(("one of ", one) for one in group.one_of),
        ("may: ", group.may),
    )
    counted = "; ".join(f"{count} {words[key]}" for key, count in group.counts)
    named = (f"{what}{'; '.join(map(words.__getitem__, keys))}" for what, keys in kinds if keys)
    told = ". ".join(filter(None, (counted, *named)))
    return f"{group.asks} {told or 'nothing'}"


def _wanted_words(layout: engine.Layout, wanted: Wanted, unconfirmed: Collection[str]) -> str:
    """One need: its grade, how many, what serves instead, where it lies, or that it is short."""
    serving = wanted.things or wanted.instead
    if wanted.grade == NEEDLESS:
        return f"{wanted.grade}: {wanted.name}{_where(layout, serving)}"
    instead = "" if wanted.things or not serving else f", by {_names(layout, serving)}"
    short = f"; {wanted.short} short" if wanted.short else ""
    mark = "; tie not confirmed" if set(serving) & set(unconfirmed) else ""
    asked = f"{wanted.grade}: {wanted.quantity} x {wanted.name}"
    return f"{asked}{instead}{_where(layout, serving)}{short}{mark}"


def _where(layout: engine.Layout, things: Collection[str]) -> str:
    places = [layout.path(code) for thing in things for code in layout.things[thing].places]
    return f" ({'; '.join(places)})" if places else ""


def _names(layout: engine.Layout, things: Collection[str]) -> str:
    return " or ".join(layout.things[thing].name for thing in things)


def _published(slug: str) -> Revision:
    layout = Layout.objects.filter(slug=slug).first()
    revision = layout.published if layout else None
    if revision is None:
        known = ", ".join(Layout.objects.values_list("slug", flat=True)) or "none"
        raise CommandError(f"No published layout {slug!r}; there are: {known}.", returncode=2)
    return revision


def _named(slug: str) -> Recipe:
    recipe = Recipe.objects.filter(slug=slug).first()
    if recipe is None:
        known = ", ".join(Recipe.objects.values_list("slug", flat=True)) or "none"
        raise CommandError(f"No recipe {slug!r}; there are: {known}.", returncode=2)
    return recipe
