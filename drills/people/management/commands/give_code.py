"""Gives one person a new one-time code to sign in with; their password, if any, ends."""

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.people.actions import give_codes
from drills.people.models import Person


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("number", help="employee number")

    def handle(self, *, number: str, **options: object) -> None:
        people = Person.objects.filter(employee_number=number, is_active=True)
        given = give_codes(people, by=None, now=timezone.now())
        if not given:
            raise CommandError(f"There is nobody here with number {number!r}.")
        (slip,) = given
        self.stdout.write(
            f"{slip.person.employee_number} {slip.person.name}: {slip.code}, once, "
            f"until {slip.lapses_at:%F}."
        )
