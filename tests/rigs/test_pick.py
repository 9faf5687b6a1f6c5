"""Picking today's rig."""

from django.test import Client
from django.urls import reverse

from drills.demo.factories import rig_on
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.rigs.reports import todays_rig
from tests.layouts import practice_rig
from tests.rigs.conftest import FRAGMENT, ClientOf

URL = reverse("rigs:pick", args=["11"])
INDEX = reverse("rigs:index")


def test_makes_it_todays_rig(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    response = client_of(hire).post(URL, follow=True)

    assert todays_rig(hire) == rig
    assert "You ride 11 today." in response.content.decode()


def test_a_second_time_changes_nothing(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    client = client_of(hire)
    client.post(URL)
    client.post(URL)

    assert hire.rig_picks.count() == 1


def test_changing_over_is_kept(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    other = rig_on(practice_rig("other-rig"), unit="12")
    client = client_of(hire)
    client.post(URL)
    client.post(reverse("rigs:pick", args=["12"]))

    assert todays_rig(hire) == other
    assert hire.rig_picks.count() == 2


def test_tells_htmx_where_to_go(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    response = client_of(hire).post(URL, headers=FRAGMENT)

    assert (response.status_code, response["HX-Redirect"]) == (200, INDEX)


def test_knows_no_other_unit(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    assert client_of(hire).post(reverse("rigs:pick", args=["99"])).status_code == 404


def test_is_no_link(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    assert client_of(hire).get(URL).status_code == 405


def test_is_nothing_for_a_stranger(rig: Rig) -> None:
    assert Client().post(URL)["Location"].startswith(reverse("people:sign_in"))
