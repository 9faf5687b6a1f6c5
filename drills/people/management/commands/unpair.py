"""Ends a pairing: the field training officer sees that crew member no more."""

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.people.actions import unpair


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("fto", help="employee number of the field training officer")
        parser.add_argument("crew", help="employee number of the crew member")

    def handle(self, *, fto: str, crew: str, **options: object) -> None:
        try:
            unpair(fto, crew, by=None, now=timezone.now())
        except ValueError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"Unpaired {fto} and {crew}, from now.")
