"""Write to people of what they have to do, who asked for it."""

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.engine.reminding import is_within
from drills.runs.due import digests, mail_hours, mails, send


class Command(BaseCommand):
    """For a timer, once an hour: within the hours that the service set each person gets one letter
    a day at most, and only where there is a reason. Prints the number of each as it is sent; ends
    with status 1 where a letter did not go, which the next hour tries again."""

    help = __doc__

    def handle(self, **options: object) -> None:
        now = timezone.localtime()
        first, end = mail_hours()
        if not mails():
            raise CommandError("READINESS_MAIL is not set, so this service sends no mail.")
        found = digests(today=now.date())
        if not is_within(now.hour, first, end):
            hours = f"It is {now:%H:%M}; mail goes out from {first}:00 to {end}:00."
            self.stdout.write(f"{hours} Letters that wait: {len(found)}.")
            return
        faults = 0
        sent = send(found, now=now, home=settings.READINESS_HOME)
        for number, (digest, fault) in enumerate(sent, start=1):
            faults += bool(fault)
            words = f"not sent: {fault}" if fault else "sent"
            who = digest.to.person.employee_number
            self.stdout.write(f"{number} of {len(found)}: {who} {words}")
        if faults:
            raise CommandError(f"{faults} of {len(found)} did not go; the next hour tries again.")
