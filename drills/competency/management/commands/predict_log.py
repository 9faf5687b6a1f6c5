"""Predict each answer of a log from the answers before it, read and printed as CSV."""

import sys
from typing import Any

from django.core.management.base import BaseCommand

from drills.engine.door import NotUnderstoodError
from drills.engine.knowing.logs import predicted_log

NOT_UNDERSTOOD = 2


class Command(BaseCommand):
    """Reads a log on standard input and prints its rows with a chance; no database is touched."""

    help = "Predict each answer of a log from those before it: CSV in, the same rows out."
    requires_system_checks: list[str] = []

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the rows with `probability`; a log that cannot be read ends with code 2."""
        try:
            told = predicted_log(sys.stdin.read())
        except (UnicodeDecodeError, NotUnderstoodError) as error:
            self.stderr.write(str(error))
            sys.exit(NOT_UNDERSTOOD)
        self.stdout.write(told, ending="")
