"""Put in force every revision whose day has come."""

from django.core.management.base import BaseCommand
from django.utils import timezone

from drills.rigs.actions import bring_in_force


class Command(BaseCommand):
    """Prints SLUG REVISION for each; nothing when none was due. The site does it as well, with the
    first page that anybody opens on the day: a timer is for days on which nobody does."""

    help = __doc__

    def handle(self, **options: object) -> None:
        for revision in bring_in_force(now=timezone.now()):
            self.stdout.write(f"{revision.layout.slug} {revision.number}")
