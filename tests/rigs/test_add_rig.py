"""Putting a rig on a layout."""

import pytest
from django.test import Client
from django.urls import reverse

from drills.demo.factories import StationFactory
from drills.people.models import Person
from drills.rigs.actions import import_layout
from drills.rigs.models import Rig
from tests.layouts import practice_rig
from tests.rigs.conftest import FRAGMENT, NOW, ClientOf

URL = reverse("rigs:add_rig", args=["practice-rig"])


def test_puts_it_on_the_published_revision(client_of: ClientOf, keeper: Person, rig: Rig) -> None:
    response = client_of(keeper).post(URL, {"unit": "M-7"}, follow=True)

    assert Rig.objects.get(unit="M-7").revision == rig.revision
    assert "Rig M-7 rides Practice rig from now on." in response.content.decode()


def test_stands_at_the_station_chosen(client_of: ClientOf, keeper: Person, rig: Rig) -> None:
    station = StationFactory.create(name="Ridge Station")

    page = client_of(keeper).post(URL, {"unit": "M-7", "station": station.slug}, follow=True)

    listed = page.content.decode()
    assert Rig.objects.get(unit="M-7").station == station
    assert listed.index("<h2>Ridge Station") < listed.index("<b>M-7</b>")


def test_may_have_no_station(client_of: ClientOf, keeper: Person, rig: Rig) -> None:
    client_of(keeper).post(URL, {"unit": "M-7", "station": ""})

    assert Rig.objects.get(unit="M-7").station is None


def test_offers_the_stations_there_are_to_keepers_alone(
    client_of: ClientOf, keeper: Person, hire: Person, rig: Rig
) -> None:
    station = StationFactory.create(name="Ridge Station")
    option = f'<option value="{station.slug}">Ridge Station</option>'

    assert option in client_of(keeper).get(reverse("rigs:index")).content.decode()
    assert option not in client_of(hire).get(reverse("rigs:index")).content.decode()


def test_refuses_a_station_there_is_not(client_of: ClientOf, keeper: Person, rig: Rig) -> None:
    response = client_of(keeper).post(URL, {"unit": "M-7", "station": "nowhere"})

    assert response.status_code == 422
    assert "There is no such station." in response.content.decode()
    assert not Rig.objects.filter(unit="M-7").exists()


@pytest.mark.parametrize(
    ("unit", "said"),
    [
        ("11", "There is a rig 11 already."),
        ("", "A rig needs its unit number."),
        ("a/b", "letters, digits and hyphens alone"),
    ],
)
def test_says_what_is_wrong_with_the_number(
    client_of: ClientOf, keeper: Person, rig: Rig, unit: str, said: str
) -> None:
    response = client_of(keeper).post(URL, {"unit": unit})

    assert response.status_code == 422
    assert said in response.content.decode()
    assert Rig.objects.count() == 1


def test_waits_for_a_published_revision(client_of: ClientOf, keeper: Person) -> None:
    import_layout(practice_rig(), by=keeper, now=NOW)

    response = client_of(keeper).post(URL, {"unit": "12"})

    assert response.status_code == 422
    assert Rig.objects.count() == 0


def test_tells_htmx_where_to_go(client_of: ClientOf, keeper: Person, rig: Rig) -> None:
    response = client_of(keeper).post(URL, {"unit": "12"}, headers=FRAGMENT)

    assert response["HX-Redirect"] == reverse("rigs:index")


def test_knows_no_other_layout(client_of: ClientOf, keeper: Person) -> None:
    url = reverse("rigs:add_rig", args=["none"])

    assert client_of(keeper).post(url, {"unit": "12"}).status_code == 404


def test_is_for_keepers_alone(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    assert client_of(hire).post(URL, {"unit": "12"}).status_code == 403
    assert Rig.objects.count() == 1


def test_is_no_link(client_of: ClientOf, keeper: Person, rig: Rig) -> None:
    assert client_of(keeper).get(URL).status_code == 405


def test_is_nothing_for_a_stranger(rig: Rig) -> None:
    assert Client().post(URL)["Location"].startswith(reverse("people:sign_in"))
