"""Replay all evidence: make what is stored of the model what it leads to, or check that it is."""

import sys
from itertools import islice
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from drills.competency.alone import UnderWayError
from drills.competency.recomputing import differences, newest
from drills.runs.foretold import refit

MOST_SHOWN = 20
DIFFERS = 1


class Command(BaseCommand):
    """With --check nothing is changed, and what differs is named."""

    help = "Replay all evidence into the model; with --check only say whether it gives the same."

    def add_arguments(self, parser: CommandParser) -> None:
        """Whether only to look."""
        parser.add_argument(
            "--check", action="store_true", help="change nothing; 1 where it differs"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Check, or refit."""
        if options["check"]:
            self._check()
            return
        try:
            made = refit(now=timezone.now, say=self.stderr.write)
        except UnderWayError as error:
            raise CommandError(error.in_full) from error
        self.stdout.write(
            f"All evidence replayed: {made}." if made else "There is no evidence yet."
        )

    def _check(self) -> None:
        made = newest()
        if made is None:
            self.stdout.write("There is no fit yet, so that nothing can differ.")
            return
        found = list(islice(differences(made, self.stderr.write), MOST_SHOWN + 1))
        for each in found[:MOST_SHOWN]:
            told = f"{each.stored:.9g} is stored, {each.worked_out:.9g} worked out"
            self.stdout.write(f"{each.what}: {told}")
        if found:
            self.stdout.write("Run recompute to store what the evidence leads to.")
            sys.exit(DIFFERS)
        self.stdout.write(f"{made} is what its {made.answers:,} first answers lead to.")
