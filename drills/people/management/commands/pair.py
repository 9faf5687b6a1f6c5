"""Lets a field training officer see the records of one crew member."""

from argparse import ArgumentParser
from datetime import date

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.people.actions import pair


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("fto", help="employee number of the field training officer")
        parser.add_argument("crew", help="employee number of the crew member")
        parser.add_argument("--until", metavar="DATE", help="the last day, as 2027-01-31")

    def handle(self, *, fto: str, crew: str, until: str | None, **options: object) -> None:
        try:
            last = None if until is None else _date(until)
            made = pair(fto, crew, until=last, by=None, now=timezone.now())
        except ValueError as error:
            raise CommandError(str(error)) from error
        end = f"until the end of {last}" if last else "until unpaired"
        self.stdout.write(
            f"Paired {fto} {made.fto.name} with {crew} {made.crew.name}, from now {end}."
        )


def _date(given: str) -> date:
    try:
        return date.fromisoformat(given)
    except ValueError:
        raise ValueError(f"The last day is {given!r}; it takes a date as 2027-01-31.") from None
