"""Which stock lines somebody meets who drills twice a week: simulated, as one JSON document."""

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from drills.engine.layout import Layout as Rig
from drills.engine.met import A_WEEK, DAYS, KNOWS, Met, simulate
from drills.engine.recipes import CannotApplyError
from drills.rigs.models import Layout, Revision
from drills.rigs.reading import layout_of
from drills.scenarios.models import Recipe
from drills.scenarios.reading import looked_to

USUAL = "find-ten"
TOLD_BY = (30, 60, 90)
MOST_PEOPLE, MOST_DAYS = 50, 730


class Command(BaseCommand):
    help = (
        "Simulate people who take a recipe of the rig, and list the stock lines they never met: "
        "JSON on standard output, progress on standard error. Nothing is stored."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("layout", metavar="LAYOUT", help="slug of a published layout")
        parser.add_argument("--revision", type=int, metavar="N", help="another than the published")
        parser.add_argument("--recipe", default=USUAL, metavar="SLUG")
        parser.add_argument("--days", type=int, default=DAYS)
        parser.add_argument("--a-week", type=int, default=A_WEEK, metavar="DRILLS")
        parser.add_argument("--knows", type=float, default=KNOWS, help="chance of a right answer")
        parser.add_argument("--people", type=int, default=5)

    def handle(self, *args: Any, **options: Any) -> None:
        _refuse(options)
        revision = _revision(options["layout"], options["revision"])
        recipe = Recipe.objects.filter(slug=options["recipe"]).first()
        if recipe is None:
            known = ", ".join(Recipe.objects.values_list("slug", flat=True)) or "none"
            raise CommandError(f"No recipe {options['recipe']!r}; there are: {known}.")
        rig = layout_of(revision)
        people = []
        for seed in range(options["people"]):
            self.stderr.write(f"person {seed + 1} of {options['people']}")
            try:
                met = simulate(
                    rig,
                    recipe.spec,
                    seed=seed,
                    days=options["days"],
                    a_week=options["a_week"],
                    knows=options["knows"],
                    looked_to=looked_to(revision, rig, recipe.spec),
                )
            except CannotApplyError as error:
                raise CommandError(str(error)) from error
            people.append(told(rig, met, options["days"]))
        document = {
            "layout": rig.slug,
            "revision": revision.number,
            "recipe": recipe.slug,
            "days": options["days"],
            "a_week": options["a_week"],
            "knows": options["knows"],
            "simulated": True,
            "lines": len({(line.compartment, line.key) for line in rig.stock}),
            "people": people,
        }
        self.stdout.write(json.dumps(document, indent=1, ensure_ascii=False))


def told(rig: Rig, met: Met, days: int) -> dict[str, Any]:
    """What one simulated person met, and what they did not."""
    return {
        "drills": met.drills,
        "prompts": met.prompts,
        "met": len(met.met),
        "met_share_by_day": {
            str(day): round(met.share_by(day), 3) for day in TOLD_BY if day <= days
        },
        "repeats_in_a_week": met.repeats,
        "of_them_probes": met.probes,
        "not_met": [
            {"place": code, "path": rig.path(code), "thing": rig.things[key].name}
            for code, key in met.unmet
        ],
    }


def _refuse(options: dict[str, Any]) -> None:
    """Say what is out of bounds, and what would be taken."""
    for name, low, high in (
        ("days", 1, MOST_DAYS),
        ("a_week", 1, 14),
        ("people", 1, MOST_PEOPLE),
        ("knows", 0, 1),
    ):
        if not low <= options[name] <= high:
            shown = name.replace("_", "-")
            raise CommandError(f"--{shown} {options[name]}; {low} to {high} is accepted.")


def _revision(slug: str, number: int | None) -> Revision:
    layout = Layout.objects.filter(slug=slug).first()
    if layout is None:
        known = ", ".join(Layout.objects.values_list("slug", flat=True)) or "none"
        raise CommandError(f"No layout {slug!r}; there are: {known}.")
    if number is None:
        if layout.published is None:
            raise CommandError(f"{slug} has no published revision; --revision N names another.")
        return layout.published
    found = layout.revisions.filter(number=number).first()
    if found is None:
        known = ", ".join(map(str, layout.revisions.values_list("number", flat=True)))
        raise CommandError(f"{slug} has no revision {number}; there are: {known}.")
    return found
