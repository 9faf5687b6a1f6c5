"""Work out the quickest way to bring a kit from a published layout, read and printed as JSON."""

from argparse import ArgumentParser
from typing import Any

from drills.engine.optimum import StatementError
from drills.engine.optimum.door import refuse_others, told_plan
from drills.people.doors import JsonDoor
from drills.rigs.models import Layout
from drills.rigs.reading import layout_of


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
            raise StatementError(f"layout: {slug!r} is no published layout; there are: {known}.")
        return told_plan(layout_of(revision), given, is_explained=bool(self.options["explain"]))
