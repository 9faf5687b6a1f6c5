"""Erases one person; what they answered stays as counts that lead to nobody."""

from argparse import ArgumentParser
from collections.abc import Mapping

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.boards.person_records import EraseRefusedError, erase_person


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("number", help="employee number")
        parser.add_argument("--confirm", required=True, metavar="NUMBER", help="the same again")

    def handle(self, *, number: str, confirm: str, **options: object) -> None:
        try:
            erased = erase_person(number, confirm=confirm, now=timezone.now())
        except (EraseRefusedError, ValueError) as error:
            raise CommandError(f"{error} Nothing was changed.") from error
        self.stdout.write(f"Erased {number}.")
        self._write("Went:", erased.went)
        self._write("Stays, without them:", erased.stays)
        for line in erased.named:
            self.stdout.write(f"Keeps the name of who approved it: {line}.")
        for line in erased.held:
            self.stdout.write(f"Held by law with the names on it: sign-off of {line}.")
        for line in erased.alike:
            self.stdout.write(f"Written like the number or the name, look at it: {line} rows.")
        self.stdout.write("Backups taken before hold the person still; delete them in their time.")

    def _write(self, heading: str, counts: Mapping[str, int]) -> None:
        self.stdout.write(heading)
        for kind, count in counts.items():
            self.stdout.write(f"  {count:6} {kind}")
