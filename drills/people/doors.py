"""Commands that read one JSON document and print another."""

import sys
from typing import Any

from django.core.management.base import BaseCommand
from django.db import DatabaseError

from drills.engine.door import NotUnderstoodError, answer
from drills.people.tables import fault


class JsonDoor(BaseCommand):
    """Reads one JSON document from standard input and prints one; what cannot be understood ends
    with code 2 and names the field."""

    requires_system_checks: list[str] = []

    def told(self, given: Any) -> dict[str, Any]:
        """What is printed for a document; `NotUnderstoodError` for one that says nothing."""
        raise NotImplementedError

    def handle(self, *args: Any, **options: Any) -> None:
        """Answer what is on standard input."""
        self.options = options
        code, line = answer(sys.stdin.read, self._told)
        self.stdout.write(line)
        if code:
            sys.exit(code)

    def _told(self, given: Any) -> dict[str, Any]:
        try:
            return self.told(given)
        except DatabaseError as error:
            if words := fault():
                raise NotUnderstoodError(words) from error
            raise
