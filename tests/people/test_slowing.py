"""Guessing is slowed down, by person and place, and nobody is shut out by what others do."""

import re
import secrets
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.contrib.auth.hashers import MD5PasswordHasher
from django.db import connection
from django.test import Client, RequestFactory
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import PersonFactory
from drills.people.actions import Answer, give_codes, look
from drills.people.actions.signing_in import (
    FORGOTTEN_AFTER,
    FREE_OF_NUMBER,
    FREE_OF_PLACE,
    FREE_TRIES,
    KNOWN_FOR,
    LONGEST_WAIT,
    LONGEST_WHERE_KNOWN,
)
from drills.people.models import Person, SignInTry
from drills.people.places import address_of
from drills.people.views.signing_in import too_soon
from tests.cast import PASSWORD

START = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
STATION, STRANGER, HOME = "192.0.2.1", "198.51.100.7", "203.0.113.9"
SECOND = timedelta(seconds=1)
WRONG = "not this"

pytestmark = pytest.mark.django_db


class Clock:
    """Tries to sign in at moments of one's own choosing."""

    def __init__(self) -> None:
        self.now = START

    def try_(
        self, number: str, secret: str = WRONG, *, at: str = STATION, device: str = ""
    ) -> Answer:
        """Without a device it is a browser that was never seen before."""
        mark = device or secrets.token_urlsafe(8)
        return look(number, secret, address=at, device=mark, now=self.now)

    def fail_as_fast_as_allowed(self, number: str, *, at: str, during: timedelta) -> int:
        """How many tries are looked at when somebody never rests."""
        until, looked_at = self.now + during, 0
        while self.now < until:
            wait = self.try_(number, at=at).wait
            looked_at += not wait
            self.now += wait
        return looked_at


@pytest.fixture
def clock() -> Clock:
    return Clock()


def _post(client: Client, number: str, secret: str) -> Any:
    sent = {"employee_number": number, "password": secret}
    return client.post(reverse("people:sign_in"), sent)


def _said(response: Any) -> str:
    """The page without what differs from one answer to the next, and without the number."""
    text = re.sub(r'name="csrfmiddlewaretoken" value="\w+"|x-csrftoken[^}]*', "", response.text)
    return re.sub(r'value="(?:HIRE|NOBODY)"', "", text)


class TestOnePair:
    def test_the_first_five_failures_cost_nothing(self, clock: Clock, hire: Person) -> None:
        assert [clock.try_("HIRE").wait for _ in range(FREE_TRIES)] == [timedelta(0)] * FREE_TRIES
        assert clock.try_("HIRE").wait == 10 * SECOND

    @pytest.mark.parametrize("number", ["HIRE", "NOBODY"])
    def test_a_number_counts_once_however_it_is_written(
        self, clock: Clock, hire: Person, number: str
    ) -> None:
        for written in (number, number.lower(), number.title(), number, number.lower()):
            assert not clock.try_(written).wait

        assert all(clock.try_(each).wait for each in (number, number.lower(), number.title()))

    def test_who_differs_in_capitals_alone_gets_nobody_elses_failures_forgotten(
        self, clock: Clock, hire: Person
    ) -> None:
        PersonFactory.create(employee_number="hire", password=PASSWORD)
        for _ in range(FREE_TRIES):
            clock.try_("HIRE")
        clock.try_("hire", PASSWORD)

        assert clock.try_("HIRE").wait

    def test_then_each_wait_is_twice_the_one_before_up_to_minutes(
        self, clock: Clock, hire: Person
    ) -> None:
        for _ in range(FREE_TRIES):
            clock.try_("HIRE")
        waits = []
        for _ in range(8):
            wait = clock.try_("HIRE").wait
            waits.append(wait.total_seconds())
            clock.now += wait
            assert not clock.try_("HIRE").wait

        assert waits == [10, 20, 40, 80, 160, 300, 300, 300]

    def test_trying_sooner_is_not_looked_at_and_lengthens_nothing(
        self, clock: Clock, hire: Person
    ) -> None:
        for _ in range(FREE_TRIES):
            clock.try_("HIRE")
        clock.now += 4 * SECOND

        right = clock.try_("HIRE", PASSWORD)

        assert (right.person, right.wait) == (None, 6 * SECOND)
        clock.now += 6 * SECOND
        assert clock.try_("HIRE", PASSWORD).person == hire

    def test_getting_in_clears_what_failed(self, clock: Clock, hire: Person) -> None:
        for _ in range(FREE_TRIES - 1):
            clock.try_("HIRE")
        clock.try_("HIRE", PASSWORD)

        assert not any(clock.try_("HIRE").wait for _ in range(FREE_TRIES))

    def test_an_hour_without_failing_clears_it_too(self, clock: Clock, hire: Person) -> None:
        for _ in range(FREE_TRIES):
            clock.try_("HIRE")
        clock.now += FORGOTTEN_AFTER + SECOND

        assert not any(clock.try_("HIRE").wait for _ in range(FREE_TRIES))

    def test_a_day_of_guessing_is_a_few_hundred_guesses(self, clock: Clock, hire: Person) -> None:
        tries = clock.fail_as_fast_as_allowed("HIRE", at=STRANGER, during=timedelta(days=1))

        assert tries <= FREE_TRIES + 5 + timedelta(days=1) / LONGEST_WAIT

    def test_a_code_is_slowed_like_a_password(self, clock: Clock, hire: Person) -> None:
        (slip,) = give_codes([hire], by=None, now=START)
        for _ in range(FREE_TRIES):
            clock.try_("HIRE")

        assert clock.try_("HIRE", slip.code).wait == 10 * SECOND
        clock.now += 10 * SECOND
        assert clock.try_("HIRE", slip.code).person == hire


class TestNobodyIsShutOut:
    def test_one_fool_at_a_station_leaves_colleagues_alone(
        self, clock: Clock, hire: Person, outsider: Person
    ) -> None:
        clock.try_("OUTSIDER", PASSWORD)
        for number in range(FREE_OF_PLACE * 2):
            clock.try_(f"MADE-UP-{number}")

        assert clock.try_("OUTSIDER", PASSWORD).person == outsider

    def test_who_never_got_in_there_waits_and_then_has_a_turn_whatever_the_fool_does(
        self, clock: Clock, hire: Person
    ) -> None:
        for number in range(FREE_OF_PLACE):
            clock.try_(f"MADE-UP-{number}")
        wait = clock.try_("HIRE", PASSWORD).wait

        for number in range(FREE_OF_PLACE * 5):
            clock.try_(f"MORE-{number}")
        clock.now += wait

        assert 0 * SECOND < wait <= LONGEST_WAIT
        assert clock.try_("HIRE", PASSWORD).person == hire

    def test_a_stranger_failing_in_somebodys_name_does_not_slow_them_where_they_are_known(
        self, clock: Clock, hire: Person
    ) -> None:
        clock.try_("HIRE", PASSWORD)
        for number in range(FREE_OF_NUMBER * 3):
            clock.try_("HIRE", at=f"198.51.100.{number}")

        assert clock.try_("HIRE", PASSWORD).person == hire

    def test_from_a_new_address_they_wait_and_then_have_a_turn_whatever_the_stranger_does(
        self, clock: Clock, hire: Person
    ) -> None:
        for number in range(FREE_OF_NUMBER):
            clock.try_("HIRE", at=f"198.51.100.{number}")
        wait = clock.try_("HIRE", PASSWORD, at=HOME).wait

        for number in range(200):
            clock.try_("HIRE", at=f"198.51.101.{number}")
        clock.now += wait

        assert 0 * SECOND < wait <= LONGEST_WAIT
        assert clock.try_("HIRE", PASSWORD, at=HOME).person == hire

    def test_guessing_from_ever_new_addresses_comes_to_a_wait_before_the_first_look(
        self, clock: Clock, hire: Person
    ) -> None:
        looked_at = sum(
            not clock.try_("HIRE", at=f"198.51.100.{number}").wait for number in range(250)
        )

        assert looked_at == FREE_OF_NUMBER

    def test_in_a_browser_that_let_them_in_failing_from_the_same_address_does_not_slow_them(
        self, clock: Clock, hire: Person
    ) -> None:
        """Behind a proxy that is not told of, everybody comes from one address."""
        clock.try_("HIRE", PASSWORD, device="own phone")
        clock.fail_as_fast_as_allowed("HIRE", at=STATION, during=timedelta(hours=2))
        clock.try_("HIRE")

        assert clock.try_("HIRE", PASSWORD, device="own phone").person == hire

    def test_where_they_got_in_before_no_wait_is_longer_than_a_minute(
        self, clock: Clock, hire: Person
    ) -> None:
        clock.try_("HIRE", PASSWORD)
        clock.fail_as_fast_as_allowed("HIRE", at=STATION, during=timedelta(hours=2))
        clock.try_("HIRE")

        assert clock.try_("HIRE", PASSWORD).wait == LONGEST_WHERE_KNOWN

    def test_a_device_of_somebody_else_is_no_way_round(self, clock: Clock, hire: Person) -> None:
        for _ in range(FREE_TRIES):
            clock.try_("HIRE", device="never let HIRE in")

        assert clock.try_("HIRE", device="another").wait

    def test_a_whole_shift_gets_in_at_once_for_the_first_time(self, clock: Clock) -> None:
        numbers = [f"N{number}" for number in range(60)]
        for number in numbers:
            Person.objects.create_user(number, "Somebody", PASSWORD)

        assert all(clock.try_(number, PASSWORD).person for number in numbers)


class TestUnknownNumbers:
    def test_answers_of_a_number_that_nobody_has_are_the_same_in_each_try(
        self, client: Client, hire: Person, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(timezone, "now", lambda: START)
        found = {
            number: [
                (response.status_code, response.get("Retry-After"), _said(response))
                for response in [_post(client, number, "not this") for _ in range(FREE_TRIES + 2)]
            ]
            for number in ("HIRE", "NOBODY")
        }

        assert found["HIRE"] == found["NOBODY"]
        assert [status for status, _, _ in found["HIRE"]] == [422] * FREE_TRIES + [429, 429]

    def test_each_costs_one_slow_hash(
        self, clock: Clock, hire: Person, outsider: Person, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """With a password, with a code, with neither, as one who left, and as nobody."""
        give_codes([outsider], by=None, now=START)
        Person.objects.create_user("NEW", "Without either", None)
        Person.objects.create_user("LEFT", "Gone", PASSWORD, is_active=False)
        hashed: list[str] = []
        slow = MD5PasswordHasher.encode

        def encode(self: MD5PasswordHasher, given: str, salt: str) -> str:
            hashed.append(given)
            return slow(self, given, salt)

        monkeypatch.setattr(MD5PasswordHasher, "encode", encode)

        for number in ("HIRE", "OUTSIDER", "NEW", "LEFT", "NOBODY"):
            hashed.clear()
            assert clock.try_(number).person is None
            assert len(hashed) == 1


class TestWhatIsKept:
    def test_no_address_number_or_device_stands_in_the_table(
        self, clock: Clock, hire: Person
    ) -> None:
        clock.try_("HIRE", PASSWORD, device="own phone")
        clock.try_("what was meant as a password"[:20])

        kept = repr(list(SignInTry.objects.values()))
        for told in (STATION, "HIRE", "own phone", "what was"):
            assert told not in kept

    def test_failures_are_removed_after_an_hour_and_places_after_ninety_days(
        self, clock: Clock, hire: Person
    ) -> None:
        clock.try_("NOBODY")
        clock.try_("HIRE", PASSWORD, device="own phone")
        clock.now += FORGOTTEN_AFTER + SECOND
        clock.try_("SOMEBODY-NEW")
        assert SignInTry.objects.count() == 3

        clock.now += KNOWN_FOR
        clock.try_("ANOTHER")
        assert SignInTry.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_tries_at_the_same_moment_count_each(hire: Person) -> None:
    def guess(number: int) -> bool:
        try:
            return not look("HIRE", "no", address=STATION, device=f"{number}", now=START).wait
        finally:
            connection.close()

    with ThreadPoolExecutor(8) as pool:
        looked_at = list(pool.map(guess, range(24)))

    assert sum(looked_at) == FREE_TRIES


@pytest.mark.parametrize(
    ("wait", "said"),
    [
        (timedelta(milliseconds=10), "Wait 1 second,"),
        (9.2 * SECOND, "Wait 10 seconds,"),
        (60 * SECOND, "Wait 1 minute,"),
        (61 * SECOND, "Wait 2 minutes,"),
    ],
)
def test_the_wait_is_told_in_words(wait: timedelta, said: str) -> None:
    assert said in too_soon(wait)


class TestAddress:
    @pytest.mark.parametrize(
        ("proxies", "forwarded", "address"),
        [
            (0, "1.1.1.1", "127.0.0.1"),
            (1, "1.1.1.1", "1.1.1.1"),
            (1, "9.9.9.9, 1.1.1.1", "1.1.1.1"),
            (2, "9.9.9.9, 1.1.1.1, 10.0.0.2", "1.1.1.1"),
            (2, "1.1.1.1", "127.0.0.1"),
            (1, "", "127.0.0.1"),
            (1, "2001:db8::7", "2001:db8::/64"),
            (0, "", "127.0.0.1"),
            (1, "::ffff:198.51.100.7", "198.51.100.7"),
            (1, "198.51.100.7:50123", "198.51.100.7"),
            (1, "[::ffff:198.51.100.7]:50123", "198.51.100.7"),
            (1, "[2001:db8::7]:50123", "2001:db8::/64"),
            (1, "[2001:db8::7]", "2001:db8::/64"),
            (1, "unknown", "unknown"),
        ],
        ids=[
            *("not told of", "one", "forged left of it", "two", "too few", "none", "v6", "bare"),
            *("v4 in v6", "port", "v4 in v6 with port", "v6 with port", "brackets", "no address"),
        ],
    )
    def test_is_what_our_own_outermost_proxy_saw(
        self, settings: Any, proxies: int, forwarded: str, address: str
    ) -> None:
        settings.READINESS_PROXIES = proxies
        headers = {"X-Forwarded-For": forwarded} if forwarded else {}

        assert address_of(RequestFactory().get("/", headers=headers)) == address

    def test_an_ipv6_household_is_one(self, hire: Person) -> None:
        for number in range(FREE_TRIES):
            assert _post(Client(REMOTE_ADDR=f"2001:db8::{number}"), "HIRE", "no").status_code == 422

        assert _post(Client(REMOTE_ADDR="2001:db8::ffff"), "HIRE", "no").status_code == 429
        assert _post(Client(REMOTE_ADDR="2001:db8:0:1::1"), "HIRE", "no").status_code == 422

    def test_whoever_comes_by_ipv4_is_a_place_of_their_own_on_a_server_of_both(
        self, hire: Person
    ) -> None:
        """A server that listens on IPv6 sees every IPv4 address inside one /64."""
        for _ in range(FREE_TRIES):
            assert _post(Client(REMOTE_ADDR="::ffff:192.0.2.1"), "HIRE", "no").status_code == 422

        assert _post(Client(REMOTE_ADDR="::ffff:192.0.2.1"), "HIRE", "no").status_code == 429
        assert _post(Client(REMOTE_ADDR="::ffff:192.0.2.2"), "HIRE", "no").status_code == 422


def test_the_browser_that_let_somebody_in_is_known_by_a_cookie_that_names_nobody(
    hire: Person,
) -> None:
    own, elsewhere = Client(), Client()
    _post(own, "HIRE", PASSWORD)
    own.post(reverse("people:sign_out"))
    while _post(elsewhere, "HIRE", "no").status_code != 429:
        pass

    assert _post(own, "HIRE", PASSWORD).status_code == 302
    cookie = own.cookies["device"]
    assert (cookie["httponly"], cookie["samesite"]) == (True, "Lax")
    assert "HIRE" not in cookie.value
    assert "device" not in elsewhere.cookies
