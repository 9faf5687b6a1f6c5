"""Store a layout workbook as a draft, or publish it at once."""

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.engine.layout import Layout
from drills.engine.workbook import read_workbook
from drills.rigs.actions import import_layout
from drills.rigs.models import Revision
from drills.rigs.ties import need_ties


class Command(BaseCommand):
    """Prints SLUG REVISION. Every problem goes to standard error, one a line; then nothing is
    stored. What came in and how it ties to the needs goes there too."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("path", type=Path, help="an .xlsx file, a .zip, or a folder of CSVs")
        parser.add_argument("--publish", action="store_true", help="put it in force at once")

    def handle(self, *, path: Path, publish: bool, **options: object) -> None:
        parsed = read_workbook(path, name=path.name)
        for remark in parsed.remarks:
            self.stderr.write(str(remark))
        if parsed.layout is None:
            found = "\n".join(str(problem) for problem in parsed.problems)
            raise CommandError(found, returncode=1)
        revision = import_layout(parsed.layout, by=None, now=timezone.now(), publish=publish)
        self.stderr.write(_counts(revision, parsed.layout))
        self.stdout.write(f"{revision.layout.slug} {revision.number}")


def _counts(revision: Revision, layout: Layout) -> str:
    ties = need_ties(revision).values()
    items = revision.terms.count()
    suggested = sum(not tie.is_confirmed for tie in ties)
    return (
        f"{len(layout.compartments)} compartments, {len(layout.stock)} stock lines, {items} items: "
        f"{len(ties) - suggested} tied to a need, {suggested} with a suggestion, "
        f"{items - len(ties)} with neither."
    )
