"""Adds one person who can sign in, such as the first administrator of a service."""

import sys
from argparse import ArgumentParser
from getpass import getpass
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.people.actions import add_person
from drills.people.lookups import level_of
from drills.people.models import Role


class Command(BaseCommand):
    help = "Add a person; the password is asked for, or read from standard input."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("number", help="employee number, the name to sign in with")
        parser.add_argument("name")
        parser.add_argument("--role", action="append", choices=Role.values, default=[])
        parser.add_argument("--certification", metavar="KEY", default="")

    def handle(self, *args: Any, **options: Any) -> None:
        key = options["certification"]
        try:
            level = level_of(key) if key else None
            password = getpass() if sys.stdin.isatty() else sys.stdin.readline().rstrip("\n")
            validate_password(password)
            person = add_person(
                options["number"],
                options["name"],
                password=password,
                roles=options["role"] or [Role.CREW],
                certification=level,
                by=None,
                now=timezone.now(),
            )
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from error
        except ValueError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(
            f"Added {person.employee_number} {person.name}: {', '.join(sorted(person.roles))}; "
            f"certification {key or 'none'}."
        )
