"""Prints a drill with its answers, for a person without history."""

import json
import sys
from argparse import ArgumentParser
from collections.abc import Iterator
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.engine.recipes import CannotApplyError
from drills.rigs.models import Layout, Revision
from drills.rigs.reading import layout_of
from drills.scenarios.describing import asked, describe
from drills.scenarios.models import Recipe
from drills.scenarios.sampling import planned

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
            made = planned(recipe.spec, revision, seed=options["seed"], now=timezone.now())
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
