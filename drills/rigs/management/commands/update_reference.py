"""Brings in the reference data of this release, and touches only rows that nobody edited."""

from argparse import ArgumentParser
from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from drills.rigs.reference import (
    EDITED,
    SAME,
    UNKNOWN,
    ReferenceRefusedError,
    Update,
    update_reference,
)
from drills.rigs.retying import retie_drafts


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("files", nargs="*", type=Path, help="fixtures; all of them if none")
        parser.add_argument("--dry-run", action="store_true", help="says it and stores nothing")
        parser.add_argument(
            "--take",
            action="append",
            default=[],
            metavar="TABLE:KEY",
            help="a row that takes the release's words whatever was done to it",
        )

    def handle(
        self, *, files: list[Path], dry_run: bool, take: list[str], verbosity: int, **_: object
    ) -> None:
        folder = Path(settings.FIXTURE_DIRS[0])
        try:
            with transaction.atomic():
                update = update_reference(
                    files or sorted(folder.glob("*.json")),
                    now=timezone.now(),
                    is_trial=dry_run,
                    taken=frozenset(take),
                )
                tied = [] if dry_run else retie_drafts()
        except ReferenceRefusedError as error:
            raise CommandError(f"{error} Nothing is stored.") from error
        self._tell(update, is_each_told=verbosity > 0)
        for each in tied:
            self.stdout.write(f"{each.terms.revision}: {each.terms.name} is tied to {each.after}")
        if dry_run:
            self.stdout.write("A trial: nothing is stored.")

    def _tell(self, update: Update, *, is_each_told: bool) -> None:
        for each in update.told:
            if is_each_told and each.what != SAME:
                self.stdout.write(f"{each.name}: {each.what}{each.words and f' ({each.words})'}")
        counts = ", ".join(f"{count} {what}" for what, count in sorted(update.counts.items()))
        self.stdout.write(f"{len(update.told)} rows: {counts}.")
        if update.counts[UNKNOWN]:
            self.stdout.write(
                f"Of what is {UNKNOWN}, nothing was noted when loaddata brought it: nobody can "
                "tell whether it was edited here."
            )
        if update.counts[EDITED] + update.counts[UNKNOWN]:
            self.stdout.write("To take the release's words for one of them: --take TABLE:KEY")
