"""Gives the demonstration people new passwords and prints them."""

import os
import secrets
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from drills.demo.service import SIGN_INS
from drills.people.models import Person

_WORDS = (
    *("amber", "basin", "cedar", "delta", "ember", "fable", "gravel", "harbor", "indigo"),
    *("juniper", "kettle", "ledger", "mesa", "nickel", "orchard", "pebble", "quartz", "ridge"),
    *("saddle", "timber", "umber", "valley", "willow", "yonder", "zephyr"),
)
_WORDS_EACH = 4


class Command(BaseCommand):
    help = "Give the demonstration people new passwords, and print them with the address."

    @transaction.atomic
    def handle(self, *args: Any, **options: Any) -> None:
        host, port = os.environ.get("HOST", "127.0.0.1"), os.environ.get("PORT", "8000")
        self.stdout.write(f"\nAddress  http://{host}:{port}/\n")
        self.stdout.write("Sign in with an employee number; passwords are new each time.")
        for each in SIGN_INS:
            person = Person.objects.filter(employee_number=each.employee_number, is_demo=True)
            found = person.first()
            if found is None:
                raise CommandError("No demonstration people here; run seed_demo first.")
            password = "-".join(secrets.choice(_WORDS) for _ in range(_WORDS_EACH))
            found.set_password(password)
            found.save(update_fields=["password"])
            self.stdout.write(
                f"  {each.part:24} {each.employee_number}   {password}   ({found.name})"
            )
