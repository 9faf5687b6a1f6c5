"""Prints all that is kept about one person, as one JSON document."""

import json
from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.core.serializers.json import DjangoJSONEncoder
from django.utils import timezone

from drills.boards.person_records import give_out
from drills.people.models import Person


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("number", help="employee number")
        parser.add_argument("--to", type=Path, metavar="FILE", help="a file that is not there yet")

    def handle(self, *, number: str, to: Path | None, **options: object) -> None:
        person = Person.objects.filter(employee_number=number).first()
        if person is None:
            raise CommandError(f"There is no person with number {number!r}.")
        if to is None:
            self.stdout.write(_given_out(person))
            return
        try:
            to.touch(mode=0o600, exist_ok=False)
            to.write_text(f"{_given_out(person)}\n", encoding="utf-8")
        except OSError as error:
            raise CommandError(
                f"{to} cannot be written ({error.strerror}); it takes a new file in a folder "
                "that is there."
            ) from error
        self.stderr.write(f"Wrote {to}, for its owner alone to read (mode 0600).")


def _given_out(person: Person) -> str:
    document = give_out(person, now=timezone.now())
    return json.dumps(document, cls=DjangoJSONEncoder, indent=1, ensure_ascii=False)
