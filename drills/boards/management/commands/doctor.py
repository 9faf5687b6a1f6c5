"""Says how the service is; ends with 1 when something is wrong."""

import json
import sys
from argparse import ArgumentParser
from dataclasses import asdict

from django.core.management.base import BaseCommand
from django.utils import timezone

from drills.boards.doctor import WRONG, look_over

FORMAT = "readiness-doctor/1"


class Command(BaseCommand):
    help = __doc__
    # It says itself what a check before it would end with.
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="one JSON document")

    def handle(self, *, json: bool, **options: object) -> None:
        found = look_over(now=timezone.now())
        if json:
            self.stdout.write(_document({"format": FORMAT, "findings": [*map(asdict, found)]}))
        else:
            for each in found:
                line = f"{each.what:14}  {each.state:5}  {each.words} {each.to_do}"
                self.stdout.write(line.rstrip())
        if any(each.state == WRONG for each in found):
            sys.exit(1)


def _document(value: object) -> str:
    return json.dumps(value, indent=1, ensure_ascii=False)
