"""Store a formulary workbook as the next draft, and submit it where that is asked for."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from drills.engine.formulary_workbook import Book, read_book
from drills.formulary.actions import ApprovalRefusedError, import_formulary, submit
from drills.formulary.models import FormularyRevision, FormularyState
from drills.formulary.workbook.preview import Preview, preview_of
from drills.formulary.workbook.told import known
from drills.people.models import Person, Role


class Command(BaseCommand):
    """Prints one JSON document: the revision with its state, and what it changes; or every
    problem, each with its sheet, row and column, and exit 1. Then nothing is stored. Remarks go to
    standard error, one a line."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("path", type=Path, help="an .xlsx file, a .zip, or a folder of CSVs")
        parser.add_argument("--submit", action="store_true", help="give it to the director at once")
        parser.add_argument(
            "--by", default="", metavar="NUMBER", help="the educator who submits, by number"
        )

    def handle(self, *, path: Path, submit: bool, by: str, **options: object) -> None:
        person = self._person(by, needed=submit)
        parsed = read_book(path, known(), name=path.name)
        for remark in parsed.remarks:
            self.stderr.write(str(remark))
        if parsed.book is None:
            problems = [
                {
                    "sheet": each.sheet,
                    "row": each.row,
                    "column": each.column,
                    "got": each.got,
                    "accepted": each.accepted,
                }
                for each in parsed.problems
            ]
            self._print({"problems": problems})
            raise CommandError(_refused(len(problems)), returncode=1)
        try:
            told = _store(parsed.book, person, submits=submit)
        except ApprovalRefusedError as refused:
            self._print({"refused": str(refused)})
            raise CommandError(f"{refused} Nothing is stored.", returncode=1) from refused
        self._print(told)

    def _print(self, told: dict[str, Any]) -> None:
        self.stdout.write(json.dumps(told, indent=2))

    def _person(self, number: str, *, needed: bool) -> Person | None:
        if not number and not needed:
            return None
        found = Person.objects.filter(employee_number=number, is_active=True).first()
        if found is None or not found.holds(Role.EDUCATOR):
            came = f"{number!r} came in" if number else "nobody is named"
            raise CommandError(f"{came}; --by takes the employee number of an active educator.")
        return found


@transaction.atomic
def _store(book: Book, by: Person | None, *, submits: bool) -> dict[str, Any]:
    """Both or neither: what cannot be submitted is not stored as a draft either."""
    now = timezone.now()
    preview = preview_of(book, now)
    revision = import_formulary(book, by=by, now=now)
    if submits and by and revision.state == FormularyState.DRAFT:
        revision = submit(revision, by=by, now=now)
    return _told(revision, preview)


def _told(revision: FormularyRevision, preview: Preview) -> dict[str, Any]:
    counts = {what: count for count, what in preview.differences.counts}
    return {
        "revision": revision.number,
        "state": revision.state,
        "is_new": preview.same is None,
        "against": preview.before.number if preview.before else None,
        "rules": {"count": preview.differences.after, **counts},
        "flagged": {
            each.rule.code: [flag.words for flag in each.flags] for each in preview.flagged
        },
        "contradictions": [[pair.first.code, pair.second.code] for pair in preview.pairs],
        "cannot_be_approved": {rule.code: why for rule, why in preview.faults},
    }


def _refused(count: int) -> str:
    return f"{count} problem{'' if count == 1 else 's'}. Nothing is stored."
