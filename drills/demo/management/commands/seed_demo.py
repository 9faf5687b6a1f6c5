"""Makes the demonstration service in an empty database."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.competency.alone import UnderWayError
from drills.demo.service import NAME, NoReferenceError, NotOursError, make_service
from drills.demo.share import told_share
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.foretold import refit


class Command(BaseCommand):
    help = "Make the demonstration service; refuses a database that holds anyone else."

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write(f"{NAME}: an invented service. Its history is simulated.")
        if not Person.objects.exists():
            self.stdout.write("Living through half a year of it; that takes up to a minute.")
            self.stdout.flush()
        try:
            made = make_service(now=timezone.now())
            refit(now=timezone.now, say=self.stderr.write)
        except UnderWayError as error:
            raise CommandError(error.in_full) from error
        except (NotOursError, NoReferenceError) as error:
            raise CommandError(str(error)) from error
        self.stdout.write(
            f"{'Made' if made else 'Already there'}: {Person.objects.count()} people, "
            f"{Rig.objects.count()} rigs."
        )
        self.stdout.write(told_share(timezone.now()))
