"""Work out the quickest way to bring a kit from a published layout, read and printed as JSON."""

from argparse import ArgumentParser
from typing import Any

from drills.engine.door import shown
from drills.engine.optimum import StatementError
from drills.engine.optimum.door import refuse_others, told_plan
from drills.people.doors import JsonDoor
from drills.rigs.models import Layout
from drills.rigs.photographed import controlled_items
from drills.rigs.reading import layout_of
from drills.rigs.ties import need_ties


class Command(JsonDoor):
    """Reads a layout and a kit of things, and prints the plan with its seconds."""

    help = "Work out the quickest way to bring a kit: JSON in, JSON out."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--explain", action="store_true", help="with all that it was worked out from"
        )

    def told(self, given: Any) -> dict[str, Any]:
        """The plan for a kit."""
        refuse_others(given)
        slug = given.get("layout")
        published = {each.slug: each.published for each in Layout.objects.all() if each.published}
        revision = published.get(slug) if isinstance(slug, str) else None
        if revision is None:
            known = ", ".join(published) or "none"
            came = shown(slug) if "layout" in given else "nothing"
            raise StatementError(
                f"layout: {came} came in; the published layouts are accepted: {known}."
            )
        layout = layout_of(revision)
        return told_plan(
            layout,
            given,
            is_explained=bool(self.options["explain"]),
            ties={thing: tie.need for thing, tie in need_ties(revision).items()},
            controlled=controlled_items(revision, layout.things),
        )
