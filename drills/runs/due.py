"""What people have to do, as a calendar that phones subscribe to and as mail."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from smtplib import SMTPException

from django.conf import settings
from django.core.mail import get_connection
from django.core.mail.message import EmailMessage
from django.db.models import Q
from django.utils import formats, timezone
from icalendar import Calendar, Event

from drills.engine.reminding import is_reason
from drills.people.models import Person
from drills.runs.actions.reminders import hashed, is_confirmed, is_past_leaving
from drills.runs.assigned import Standing, assigned_to, rows_of_assignments, standings_of
from drills.runs.models import CalendarFeed, ReminderAddress

PRODUCT = "-//Readiness//Drills due//EN"
LOOK_AGAIN = timedelta(hours=4)
ONE_DAY = timedelta(days=1)


def mails() -> bool:
    """Whether the service sends mail at all."""
    return bool(settings.READINESS_MAIL_HOURS)


def mail_hours() -> tuple[int, int]:
    """The hour from which mail goes out, and the one before which it ends."""
    first, end = settings.READINESS_MAIL_HOURS or (0, 0)
    return first, end


def person_of_feed(token: str) -> Person | None:
    """Whose calendar has the address; None where nobody's has, or they left the service since it
    was made: who comes back makes another."""
    found = CalendarFeed.objects.select_related("person").filter(hashed=hashed(token))
    feed = found.filter(person__is_active=True).first()
    return feed.person if feed and is_past_leaving(feed.person, feed.made_at) else None


def calendar_of(person: Person, *, today: date, home: str) -> bytes:
    """What a person has to do, as iCalendar (RFC 5545): one event on the last day of each.

    It names drills and days, and nothing of how anybody did. `home` is the address of the site.
    """
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", PRODUCT)
    calendar.add("x-wr-calname", "Drills due")
    calendar.add("refresh-interval", LOOK_AGAIN, parameters={"value": "DURATION"})
    for each in assigned_to(person, today=today):
        if each.is_to_do:
            calendar.add_component(_event(each, home))
    return bytes(calendar.to_ical())


def _event(standing: Standing, home: str) -> Event:
    given = standing.assigned.assignment
    event = Event()
    event.add("uid", f"assigned-{standing.assigned.pk}@readiness.invalid")
    event.add("dtstamp", given.given_at)
    event.add("dtstart", given.due_on)
    event.add("dtend", given.due_on + ONE_DAY)
    event.add("summary", f"Last day: {given.recipe}, {given.minutes} min")
    event.add("url", home)
    event.add("transp", "TRANSPARENT")
    return event


@dataclass(frozen=True, slots=True)
class Digest:
    """One letter to one person: all they have to do, the next due first."""

    to: ReminderAddress
    standings: Sequence[Standing]


def digests(*, today: date) -> list[Digest]:
    """The letters that are to be written on a day: to who wishes it, at an address that they
    confirmed, and has a reason, once."""
    told = ReminderAddress.objects.select_related("person").filter(person__is_active=True)
    confirmed = (each for each in told if is_confirmed(each, each.person))
    waiting = [each for each in confirmed if not each.was_told_on(today)]
    rows = rows_of_assignments().filter(
        person__in=[each.person_id for each in waiting], assignment__withdrawn_at=None
    )
    to_do = _by_person(standings_of(list(rows.order_by("assignment__due_on", "pk")), today=today))
    return [
        Digest(each, mine)
        for each in waiting
        if _is_reason(mine := to_do[each.person_id], each.told_on, today)
    ]


def _by_person(standings: Iterable[Standing]) -> defaultdict[int, list[Standing]]:
    found: defaultdict[int, list[Standing]] = defaultdict(list)
    for each in standings:
        if each.is_to_do:
            found[each.assigned.person_id].append(each)
    return found


def _is_reason(standings: Sequence[Standing], told_on: date | None, today: date) -> bool:
    due = (each.assigned.assignment for each in standings)
    return any(
        is_reason(
            each.due_on,
            given_on=timezone.localdate(each.given_at),
            told_on=told_on,
            today=today,
        )
        for each in due
    )


def letter_of(digest: Digest, home: str) -> str:
    """The words of a letter; it names drills and days, and nothing of how anybody did."""
    return "\n".join(
        (
            f"{digest.to.person.name},\n\nwhat you have to do:\n",
            *map(_line, digest.standings),
            f"\n{home}\n",
            "Training only. Follow your local protocols and medical direction.",
            f"You asked for this mail. Another address, or none: {home}runs/due/\n",
        )
    )


def ask_to_confirm(address: str, link: str) -> None:
    """Write to an address with the link that confirms it. Raises what the mail raises.

    Whoever asked may have written somebody else's, so it names nobody and says how to ignore it.
    """
    words = (
        "Somebody asked to be written here of drills that they have to do.\n",
        f"If that was you, open this and press the button, within two days:\n\n{link}\n",
        "If it was not, do nothing: no other letter comes.",
    )
    EmailMessage("Confirm this address", "\n".join(words), to=[address]).send()


def _line(standing: Standing) -> str:
    given = standing.assigned.assignment
    when = "was due" if standing.is_overdue else "due"
    day = formats.date_format(given.due_on, "D j M")
    return f"- {given.recipe}, about {given.minutes} min, {when} {day}"


def send(found: Collection[Digest], *, now: datetime, home: str) -> Iterator[tuple[Digest, str]]:
    """Send letters one by one; each as it is sent, with what went wrong, if anything.

    The day is kept before a letter goes, so that two commands at once send one; it is taken back
    where the letter did not go, so that the next command tries again.
    """
    today = timezone.localdate(now)
    with get_connection() as connection:
        for each in found:
            before = each.to.told_on
            rows = ReminderAddress.objects.filter(pk=each.to.pk)
            same = rows.filter(Q(told_on=before) if before else Q(told_on=None))
            if not same.update(told_on=today):
                continue
            letter = EmailMessage(
                "Drills due", letter_of(each, home), to=[each.to.address], connection=connection
            )
            fault = ""
            try:
                letter.send()
            except (SMTPException, OSError) as error:
                rows.update(told_on=before)
                fault = f"{type(error).__name__}: {error}"
            yield each, fault
