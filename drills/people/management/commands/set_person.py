"""Changes what is named of one person, and leaves all else as it is."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.people.actions import Changes, change_person
from drills.people.models import Role

NONE = "none"


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("number", help="employee number")
        parser.add_argument("--certification", metavar="KEY", help="a key, or 'none'")
        parser.add_argument(
            "--cohort",
            metavar="SLUG",
            nargs="*",
            action="extend",
            help="the cohorts to be in, and no others; without a slug, none",
        )
        parser.add_argument("--extra-time", metavar="FACTOR", help="1 is none, 1.5 half more")
        parser.add_argument(
            "--role",
            nargs="+",
            action="extend",
            choices=Role.values,
            help="the roles to hold, and no others",
        )
        here = parser.add_mutually_exclusive_group()
        here.add_argument("--active", action="store_true", default=None, dest="is_active")
        here.add_argument("--leaver", action="store_false", default=None, dest="is_active")

    def handle(self, *, number: str, **options: Any) -> None:
        changes = _changes(options)
        if changes == Changes():
            raise CommandError(
                "Nothing to change was named; it takes --certification, --cohort, --extra-time, "
                "--role, --active or --leaver."
            )
        try:
            changed = change_person(number, changes, by=None, now=timezone.now())
        except ValueError as error:
            raise CommandError(str(error)) from error
        for name, (before, after) in changed.items():
            self.stdout.write(f"{number} {name}: {_words(before)} -> {_words(after)}")
        if not changed:
            self.stdout.write(f"{number} was so already; nothing changed.")


def _changes(options: dict[str, Any]) -> Changes:
    key, roles, cohorts = options["certification"], options["role"], options["cohort"]
    return Changes(
        roles=None if roles is None else tuple(roles),
        certification="" if key == NONE else key,
        cohorts=None if cohorts is None else tuple(cohorts),
        extra_time=options["extra_time"],
        is_active=options["is_active"],
    )


def _words(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ", ".join(value) or NONE if isinstance(value, list) else str(value or NONE)
