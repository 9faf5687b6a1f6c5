"""Store a layout workbook as a draft, or publish it at once."""

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.engine.workbook import read_workbook
from drills.rigs.actions import import_layout


class Command(BaseCommand):
    """Every problem goes to standard error, one a line; then nothing is stored."""

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
        self.stdout.write(f"{revision.layout.slug} {revision.number}")
