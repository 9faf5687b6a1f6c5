"""What is due, in a calendar and by mail: to who asked for it, and nobody else.

The form of a calendar is held to RFC 5545 as it is read here: lines end with CRLF (3.1), none is
longer than 75 octets (3.1), a calendar has a version and a maker (3.6), an event has a UID and a
stamp in UTC (3.6.1, 3.8.7.2), and the end of a day is the day after (3.6.1).
"""

import re
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from smtplib import SMTPRecipientsRefused

import pytest
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django.fixtures import Settings

from drills.people.actions import Changes, change_person
from drills.people.models import AuditEntry, Person
from drills.rigs.models import Rig
from drills.runs.actions import (
    confirm_address,
    excuse,
    make_feed,
    revoke_feed,
    set_reminders,
    withdraw,
)
from drills.runs.models import Assigned, CalendarFeed, ReminderAddress
from drills.scenarios.models import Recipe
from tests.runs.assignments import FRIDAY, given, taken
from tests.runs.conftest import ClientOf
from tests.runs.player import right

ADDRESS = "noor@agency.example"
WEDNESDAY = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
PAGE = reverse("runs:due")

pytestmark = pytest.mark.django_db


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> dict[str, datetime]:
    """What time it is; a test moves it by writing `now`."""
    it_is = {"now": WEDNESDAY}
    monkeypatch.setattr(timezone, "now", lambda: it_is["now"])
    return it_is


def read(token: str) -> str:
    """The calendar as a phone reads it, which is signed in nowhere."""
    response = Client().get(reverse("runs:calendar", args=[token]))
    assert response.status_code == 200, response.status_code
    assert response["Content-Type"] == "text/calendar; charset=utf-8"
    return response.content.decode()


def events(calendar: str) -> list[dict[str, str]]:
    """The lines of each event by their names, put together where they were folded."""
    lines = calendar.replace("\r\n ", "").split("\r\n")
    found: list[dict[str, str]] = []
    for line in lines:
        name, _, value = line.partition(":")
        if line == "BEGIN:VEVENT":
            found.append({})
        elif found:
            found[-1].setdefault(name, value)
    return found


def wishes(person: Person, address: str = ADDRESS, *, now: datetime = WEDNESDAY) -> None:
    """The person asks for mail at an address, and opens the link of its letter."""
    assert confirm_address(set_reminders(person, address, now=now), now=now)


def link() -> str:
    """The way that stands in the last letter."""
    found = re.search(r"http://testserver(\S+)", str(mail.outbox[-1].body))
    assert found
    return found[1]


def send() -> str:
    out = StringIO()
    call_command("send_reminders", stdout=out)
    return out.getvalue()


def test_a_phone_that_is_signed_in_nowhere_reads_what_is_due_on_its_last_day(
    hire: Person, fto: Person, recipe: Recipe, clock: dict[str, datetime]
) -> None:
    given(recipe, [hire], by=fto, note="Ask Lee about the splints.")

    (event,) = events(read(make_feed(hire, now=WEDNESDAY)))

    assert event["DTSTART;VALUE=DATE"] == "20261127"
    assert event["DTEND;VALUE=DATE"] == "20261128"
    assert event["DTSTAMP"] == "20261124T090000Z"
    assert event["UID"].endswith("@readiness.invalid")
    assert event["SUMMARY"].replace("\\,", ",") == f"Last day: {recipe}, {recipe.minutes} min"
    assert "Lee" not in str(event)


def test_a_calendar_is_written_as_the_standard_says(
    hire: Person, fto: Person, recipe: Recipe, clock: dict[str, datetime]
) -> None:
    Recipe.objects.filter(pk=recipe.pk).update(name="Find it; door, then bag: " + "ä" * 55)
    recipe.refresh_from_db()
    given(recipe, [hire], by=fto)

    calendar = read(make_feed(hire, now=WEDNESDAY))

    lines = calendar.encode().split(b"\r\n")
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert lines[-2:] == [b"END:VCALENDAR", b""]
    assert {b"VERSION:2.0", b"PRODID:-//Readiness//Drills due//EN"} < set(lines)
    assert b"\n" not in b"".join(lines)
    assert max(map(len, lines)) <= 75
    assert "Find it\\; door\\, then bag: " + "ä" * 55 in calendar.replace("\r\n ", "")


def test_what_is_met_excused_or_taken_back_is_not_in_it(
    hire: Person, fto: Person, recipe: Recipe, rig: Rig, clock: dict[str, datetime]
) -> None:
    _, second, third = (
        given(recipe, [hire], by=fto, due_on=FRIDAY + timedelta(days=each)) for each in range(3)
    )
    token = make_feed(hire, now=WEDNESDAY)
    assert len(events(read(token))) == 3

    taken(hire, recipe, rig, now=WEDNESDAY, choose=right)
    assert len(events(read(token))) == 2
    excuse(Assigned.objects.filter(assignment=second), because="Leave", by=fto, now=WEDNESDAY)
    assert len(events(read(token))) == 1
    withdraw(third, by=fto, now=WEDNESDAY)
    assert events(read(token)) == []


def test_an_address_of_before_ended_or_of_a_leaver_leads_nowhere(hire: Person) -> None:
    now = timezone.now()
    before = make_feed(hire, now=now)
    after = make_feed(hire, now=now)
    assert Client().get(reverse("runs:calendar", args=[before])).status_code == 404
    assert read(after)

    change_person("HIRE", Changes(is_active=False), by=None, now=now)
    assert Client().get(reverse("runs:calendar", args=[after])).status_code == 404
    change_person("HIRE", Changes(is_active=True), by=None, now=now)
    assert revoke_feed(hire, now=now)
    assert Client().get(reverse("runs:calendar", args=[after])).status_code == 404
    assert not revoke_feed(hire, now=now)


def test_the_address_is_shown_once_and_kept_nowhere(hire: Person, client_of: ClientOf) -> None:
    client = client_of(hire)

    made = client.post(reverse("runs:make_calendar")).context["address"]

    token = made.rpartition("/")[2].removesuffix(".ics")
    assert made.startswith("http://testserver/runs/calendar/")
    assert Client().get(made).status_code == 200
    assert token not in client.get(PAGE).text
    assert token not in str(list(CalendarFeed.objects.values()))
    assert token not in str(list(AuditEntry.objects.values()))


def test_the_mail_of_the_page_that_shows_the_address_goes_to_its_own_place(
    hire: Person, client_of: ClientOf
) -> None:
    """Posted back to where the page is, it would make another address and end the one shown."""
    shown = client_of(hire).post(reverse("runs:make_calendar")).text

    forms = re.findall(r"<form[^>]*>(?:(?!</form>).)*</form>", shown, re.DOTALL)
    (mail,) = [each for each in forms if 'name="address"' in each]
    assert f'action="{PAGE}"' in mail


@pytest.mark.parametrize("address", ["noor", "a@b", "noor@agency.example, x@agency.example"])
def test_what_is_no_address_is_refused_and_the_one_of_before_stays(
    hire: Person, client_of: ClientOf, address: str
) -> None:
    set_reminders(hire, ADDRESS, now=timezone.now())

    response = client_of(hire).post(PAGE, {"address": address})

    assert response.status_code == 422
    assert address in response.text
    assert "such as name@agency.example" in response.text
    assert ReminderAddress.objects.get().address == ADDRESS


def test_one_stops_the_mail_by_sending_no_address(hire: Person, client_of: ClientOf) -> None:
    client = client_of(hire)
    client.post(PAGE, {"address": ADDRESS})
    assert ReminderAddress.objects.get().address == ADDRESS

    client.post(PAGE, {"address": " "})

    assert not ReminderAddress.objects.exists()


def test_nothing_is_mailed_to_an_address_that_nobody_confirmed(
    hire: Person,
    fto: Person,
    recipe: Recipe,
    client_of: ClientOf,
    clock: dict[str, datetime],
) -> None:
    """To open the link is not enough, since scanners of mail open links too; to press is, on
    whatever device, signed in or not."""
    given(recipe, [hire], by=fto)
    client_of(hire).post(PAGE, {"address": ADDRESS})
    (letter,) = mail.outbox
    assert (letter.to, hire.name in letter.body) == ([ADDRESS], False)
    way, stranger = link(), Client()

    opened = stranger.get(way)
    assert send() == ""
    assert "is not confirmed, and nothing is sent there" in client_of(hire).get(PAGE).text
    assert (opened.status_code, "Write to me here" in opened.text) == (200, True)

    assert "It is confirmed" in stranger.post(way).text
    assert send() == "1 of 1: HIRE sent\n"
    assert f"{ADDRESS} is confirmed" in client_of(hire).get(PAGE).text


def test_a_link_confirms_once_and_for_two_days(
    hire: Person, client_of: ClientOf, clock: dict[str, datetime]
) -> None:
    client_of(hire).post(PAGE, {"address": ADDRESS})
    way = link()
    clock["now"] += timedelta(days=2)
    assert Client().post(way).status_code == 404
    assert ReminderAddress.objects.get().confirmed_at is None

    client_of(hire).post(PAGE, {"address": ADDRESS})
    another = link()
    assert Client().post(another).status_code == 200
    assert [Client().get(each).status_code for each in (way, another)] == [404, 404]
    assert Client().post(another).status_code == 404


def test_what_is_kept_of_a_link_opens_nothing(hire: Person, client_of: ClientOf) -> None:
    client_of(hire).post(PAGE, {"address": ADDRESS})
    token = link().rstrip("/").rpartition("/")[2]

    kept = ReminderAddress.objects.get()
    assert token not in str(list(ReminderAddress.objects.values()))
    assert token not in str(list(AuditEntry.objects.values()))
    assert Client().post(reverse("runs:confirm_address", args=[kept.hashed])).status_code == 404


def test_another_address_is_to_be_confirmed_and_the_same_is_not_again(
    hire: Person, client_of: ClientOf
) -> None:
    now = timezone.now()
    wishes(hire, now=now - timedelta(hours=1))

    client_of(hire).post(PAGE, {"address": ADDRESS})
    assert mail.outbox == []
    client_of(hire).post(PAGE, {"address": "other@agency.example"})
    assert [letter.to for letter in mail.outbox] == [["other@agency.example"]]
    assert ReminderAddress.objects.get().confirmed_at is None


def test_letters_that_ask_go_ten_minutes_apart(
    hire: Person, client_of: ClientOf, clock: dict[str, datetime]
) -> None:
    client = client_of(hire)
    client.post(PAGE, {"address": ADDRESS})
    clock["now"] += timedelta(minutes=9, seconds=59)

    soon = client.post(PAGE, {"address": "other@agency.example"})
    clock["now"] += timedelta(seconds=1)
    later = client.post(PAGE, {"address": "other@agency.example"})

    assert (soon.status_code, later.status_code, len(mail.outbox)) == (422, 302, 2)
    assert "The next can go 10 minutes after it" in soon.text


def test_a_letter_that_asks_and_did_not_go_is_asked_for_again_at_once(
    hire: Person, client_of: ClientOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(self: EmailBackend, messages: list[mail.EmailMessage]) -> int:
        raise SMTPRecipientsRefused({ADDRESS: (550, b"no such box")})

    with monkeypatch.context() as patch:
        patch.setattr(EmailBackend, "send_messages", refuse)
        failed = client_of(hire).post(PAGE, {"address": ADDRESS})
    again = client_of(hire).post(PAGE, {"address": ADDRESS})

    assert (failed.status_code, again.status_code, len(mail.outbox)) == (422, 302, 1)
    assert f"The letter to {ADDRESS} did not go." in failed.text


def test_nothing_wakes_up_when_somebody_who_left_comes_back(
    hire: Person, fto: Person, recipe: Recipe, clock: dict[str, datetime]
) -> None:
    given(recipe, [hire], by=fto)
    wishes(hire)
    token = make_feed(hire, now=WEDNESDAY)
    waits = set_reminders(fto, "ora@agency.example", now=WEDNESDAY)
    clock["now"] += timedelta(hours=1)
    for number, stays in (("HIRE", False), ("FTO", False), ("HIRE", True), ("FTO", True)):
        change_person(number, Changes(is_active=stays), by=None, now=clock["now"])

    assert Client().get(reverse("runs:calendar", args=[token])).status_code == 404
    assert send() == ""
    assert not confirm_address(waits, now=clock["now"])
    clock["now"] += timedelta(hours=1)
    hire.refresh_from_db()
    assert read(make_feed(hire, now=clock["now"]))
    wishes(hire, now=clock["now"])
    assert send() == "1 of 1: HIRE sent\n"


def test_one_letter_tells_of_everything_and_comes_once_a_day(
    hire: Person, fto: Person, recipe: Recipe, assessed: Recipe, clock: dict[str, datetime]
) -> None:
    for each, days in ((recipe, 0), (assessed, 30)):
        given(each, [hire], by=fto, due_on=FRIDAY + timedelta(days=days))
    wishes(hire)

    assert send() == "1 of 1: HIRE sent\n"
    clock["now"] += timedelta(hours=1)
    assert send() == ""

    (letter,) = mail.outbox
    assert letter.to == [ADDRESS]
    assert str(recipe) in letter.body
    assert str(assessed) in letter.body
    assert "due Fri 27 Nov" in letter.body


def test_who_asked_for_none_has_nothing_near_or_left_is_written_to_never(
    hire: Person, fto: Person, recipe: Recipe, clock: dict[str, datetime]
) -> None:
    given(recipe, [hire], by=fto)
    assert send() == ""
    wishes(fto)
    assert send() == ""
    wishes(hire)
    change_person("HIRE", Changes(is_active=False), by=None, now=WEDNESDAY)
    assert send() == ""
    assert mail.outbox == []


@pytest.mark.parametrize(("hour", "is_sent"), [(6, False), (7, True), (19, True), (20, False)])
def test_no_letter_goes_outside_the_hours_that_the_service_set(
    hire: Person, fto: Person, recipe: Recipe, clock: dict[str, datetime], hour: int, is_sent: bool
) -> None:
    given(recipe, [hire], by=fto)
    wishes(hire)
    clock["now"] = WEDNESDAY.replace(hour=hour, minute=59)

    said = send()

    assert len(mail.outbox) == is_sent
    wait = f"It is {hour:02}:59; mail goes out from 7:00 to 20:00. Letters that wait: 1.\n"
    assert is_sent or said == wait


def test_hours_are_those_of_the_clock_on_the_wall(
    hire: Person, fto: Person, recipe: Recipe, clock: dict[str, datetime]
) -> None:
    """Nine in the morning of Greenwich is two in the night of the high desert."""
    given(recipe, [hire], by=fto)
    wishes(hire)

    with timezone.override("America/Denver"):
        assert send().startswith("It is 02:00")


def test_a_letter_that_did_not_go_is_tried_again_and_the_others_go(
    hire: Person,
    fto: Person,
    recipe: Recipe,
    clock: dict[str, datetime],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    given(recipe, [hire, fto], by=fto)
    wishes(hire)
    wishes(fto, "ora@agency.example")
    deliver = EmailBackend.send_messages

    def refuse_hire(self: EmailBackend, messages: list[mail.EmailMessage]) -> int:
        if messages[0].to == [ADDRESS]:
            raise SMTPRecipientsRefused({ADDRESS: (550, b"no such box")})
        return deliver(self, messages)

    with monkeypatch.context() as patch:
        patch.setattr(EmailBackend, "send_messages", refuse_hire)
        with pytest.raises(CommandError, match="1 of 2 did not go"):
            send()
    assert [letter.to for letter in mail.outbox] == [["ora@agency.example"]]

    assert send() == "1 of 1: HIRE sent\n"


def test_a_service_without_a_place_for_mail_says_so(
    hire: Person, client_of: ClientOf, settings: Settings
) -> None:
    settings.READINESS_MAIL_HOURS = None

    with pytest.raises(CommandError, match="READINESS_MAIL is not set"):
        send()
    assert "sends no mail" in client_of(hire).get(PAGE).text
    assert client_of(hire).post(PAGE, {"address": ADDRESS}).status_code == 422
    assert not ReminderAddress.objects.exists()


def test_the_day_of_a_letter_is_kept(
    hire: Person, fto: Person, recipe: Recipe, clock: dict[str, datetime]
) -> None:
    given(recipe, [hire], by=fto)
    wishes(hire)
    send()
    assert ReminderAddress.objects.get().told_on == date(2026, 11, 25)
