"""Adds a cohort, such as one intake, that set_person can put people in."""

from argparse import ArgumentParser

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.people.actions import add_cohort


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("slug", help="letters, digits, hyphens and underscores")
        parser.add_argument("name")

    def handle(self, *, slug: str, name: str, **options: object) -> None:
        try:
            cohort = add_cohort(slug, name, by=None, now=timezone.now())
        except ValidationError as error:
            raise CommandError(f"The slug is {slug!r}. {' '.join(error.messages)}") from error
        except ValueError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"Added cohort {cohort.slug}: {cohort.name}.")
