"""Rigs by station, and the one a person rides today."""

from datetime import date

from django.test import Client
from django.urls import reverse

from drills.demo.factories import RigFactory, StationFactory, rig_on
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Posting, Rig
from tests.layouts import practice_rig
from tests.rigs.conftest import NOW, ClientOf, NumQueries

URL = reverse("rigs:index")


def test_lists_rigs_by_station_with_their_revision(
    client_of: ClientOf, hire: Person, rig: Rig
) -> None:
    page = client_of(hire).get(URL).content.decode()

    assert rig.station is not None
    assert page.index(rig.station.name) < page.index("<b>11</b>")
    assert "Practice rig, rev. 1" in page


def test_ones_own_station_stands_first(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    last = StationFactory.create(name="Zz station")
    RigFactory.create(unit="99", revision=rig.revision, station=last)
    Posting.objects.create(person=hire, station=last, starts_on=date(2026, 1, 1))

    page = client_of(hire).get(URL).content.decode()

    assert page.index("<b>99</b>") < page.index("<b>11</b>")


def test_marks_todays_rig(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    pick_rig(hire, rig, now=NOW)

    page = client_of(hire).get(URL).content.decode()

    assert page.count("yours today") == 1
    assert "You ride <b>11</b> today" in page


def test_shows_keeping_to_keepers_alone(
    client_of: ClientOf, hire: Person, keeper: Person, rig: Rig
) -> None:
    assert "Import a layout" not in client_of(hire).get(URL).content.decode()
    assert "Import a layout" in client_of(keeper).get(URL).content.decode()


def test_asks_no_more_of_the_database_for_more_rigs(
    client_of: ClientOf,
    hire: Person,
    rig: Rig,
    django_assert_num_queries: NumQueries,
) -> None:
    for unit in ("12", "13", "14"):
        rig_on(practice_rig(f"rig-{unit}"), unit=unit)
    StationFactory.create()
    pick_rig(hire, rig, now=NOW)
    client = client_of(hire)
    client.get(URL)  # the first page of a process looks for revisions whose day has come

    with django_assert_num_queries(8):
        client.get(URL)


def test_is_only_read(client_of: ClientOf, hire: Person) -> None:
    assert client_of(hire).post(URL).status_code == 405


def test_sends_a_stranger_to_sign_in(db: None) -> None:
    assert Client().get(URL)["Location"] == f"{reverse('people:sign_in')}?next={URL}"
