"""Say what tells two revisions of a layout apart."""

import json
from argparse import ArgumentParser
from dataclasses import asdict
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.rigs.differences import Difference, difference
from drills.rigs.models import Layout, Revision


class Command(BaseCommand):
    """Prints a line for each change, then what it means for crews; with --json one document."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--layout", required=True, metavar="SLUG")
        parser.add_argument("--revision", type=int, metavar="N", help="the newest when left out")
        parser.add_argument(
            "--before", type=int, metavar="N", help="the one that it followed when left out"
        )
        parser.add_argument("--json", action="store_true", help="one JSON document")

    def handle(self, *, layout: str, **options: Any) -> None:
        kept = Layout.objects.filter(slug=layout).first()
        if kept is None:
            known = ", ".join(Layout.objects.values_list("slug", flat=True)) or "none"
            raise CommandError(f"No layout {layout!r}; there are: {known}.", returncode=2)
        now = _numbered(kept, options["revision"])
        before = now.before if options["before"] is None else _numbered(kept, options["before"])
        found = difference(before, now, today=timezone.localdate())
        if options["json"]:
            self.stdout.write(json.dumps(_document(found), indent=1, ensure_ascii=False))
            return
        for each in found.changes:
            inside = f", lines inside: {each.lines_inside}" if each.lines_inside else ""
            self.stdout.write(f"{each.what}: {each.name}{inside} ({each.before} > {each.after})")
        self.stdout.write(
            f"Facts to learn anew: {found.facts}. People posted where rigs ride {layout}: "
            f"{found.people}. Rigs: {found.rigs}."
        )


def _document(found: Difference) -> dict[str, Any]:
    return {
        "layout": found.now.layout.slug,
        "revision": found.now.number,
        "before": found.before.number if found.before else None,
        "changes": [asdict(each) for each in found.changes],
        "facts": found.facts,
        "people": found.people,
        "rigs": found.rigs,
    }


def _numbered(layout: Layout, number: int | None) -> Revision:
    rows = layout.revisions.select_related("layout").order_by("number")
    found = rows.last() if number is None else rows.filter(number=number).first()
    if found is None:
        known = ", ".join(str(each) for each in rows.values_list("number", flat=True)) or "none"
        raise CommandError(f"No revision {number} of {layout}; there are: {known}.", returncode=2)
    return found
