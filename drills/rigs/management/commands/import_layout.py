"""Store a layout workbook as a draft, or publish it at once."""

from argparse import ArgumentParser
from pathlib import Path
from time import perf_counter

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from drills.engine.layout import Layout
from drills.engine.same_places import Question
from drills.engine.workbook import read_workbook
from drills.rigs.actions import import_layout, publish_revision
from drills.rigs.differences import asked_of
from drills.rigs.models import Revision, RevisionState
from drills.rigs.ties import need_ties


class Command(BaseCommand):
    """Prints SLUG REVISION. Every problem goes to standard error, one a line; then nothing is
    stored. What came in and how it ties to the needs goes there too."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("path", type=Path, help="an .xlsx file, a .zip, or a folder of CSVs")
        parser.add_argument("--publish", action="store_true", help="put it in force at once")

    def handle(self, *, path: Path, publish: bool, **options: object) -> None:
        began = perf_counter()
        self.stderr.write(f"Reading {path.name}.")
        parsed = read_workbook(path, name=path.name)
        for remark in parsed.remarks:
            self.stderr.write(str(remark))
        if parsed.layout is None:
            found = "\n".join(str(problem) for problem in parsed.problems)
            raise CommandError(found, returncode=1)
        self.stderr.write(f"Read and checked in {perf_counter() - began:.1f} s. Storing.")
        began = perf_counter()
        revision = self._store(parsed.layout, publish=publish)
        self.stderr.write(f"Stored in {perf_counter() - began:.1f} s.")
        self.stderr.write(_counts(revision, parsed.layout))
        self.stdout.write(f"{revision.layout.slug} {revision.number}")

    @transaction.atomic
    def _store(self, layout: Layout, *, publish: bool) -> Revision:
        """The revision; what its keeper would be asked is told before it is published."""
        now = timezone.now()
        revision = import_layout(layout, by=None, now=now)
        for question in asked_of(revision):
            self.stderr.write(_counts_as_new(question))
        if publish and revision.state == RevisionState.DRAFT:
            return publish_revision(revision, by=None, now=now)
        return revision


def _counts_as_new(question: Question) -> str:
    likely = f"the likeliest of {len(question.gone)} that are gone"
    return (
        f"{question.name} counts as new; what people know of {question.gone[0].name}, {likely}, "
        "is not carried over. The import page asks which is which."
    )


def _counts(revision: Revision, layout: Layout) -> str:
    ties = need_ties(revision).values()
    items = revision.terms.count()
    suggested = sum(not tie.is_confirmed for tie in ties)
    return (
        f"{len(layout.compartments)} compartments, {len(layout.stock)} stock lines, {items} items: "
        f"{len(ties) - suggested} tied to a need, {suggested} with a suggestion, "
        f"{items - len(ties)} with neither."
    )
