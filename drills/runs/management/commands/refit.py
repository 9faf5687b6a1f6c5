"""Fit the model of what people know anew, to all evidence there is, and set calls right."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.competency.alone import UnderWayError
from drills.runs.foretold import refit


class Command(BaseCommand):
    """Run once a night; a run that was killed leaves nothing, and is begun again."""

    help = "Fit the model of what people know to all evidence: once a night, one at a time."

    def handle(self, *args: Any, **options: Any) -> None:
        """Refit, with each stage on standard error."""
        try:
            made = refit(now=timezone.now, say=self.stderr.write)
        except UnderWayError as error:
            raise CommandError(error.in_full) from error
        if made is None:
            self.stdout.write("Nobody has answered anything yet: there is nothing to fit.")
            return
        told = f"{made.answers:,} first answers of {made.people:,} people"
        self.stdout.write(f"Fit {made.pk}: {told}, in {made.seconds:.1f} s.")
