"""The rig of a sheet: the one that whoever is watched rides, or one that the officer chooses."""

import re

import pytest
from django.urls import reverse

from drills.demo.factories import PairingFactory, rig_on
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from tests.layouts import practice_rig
from tests.runs.conftest import NOW, ClientOf

pytestmark = pytest.mark.django_db


@pytest.fixture
def other_rig(db: None) -> Rig:
    return rig_on(practice_rig("another-rig"), unit="12")


@pytest.fixture
def paired(hire: Person, fto: Person) -> None:
    PairingFactory.create(fto=fto, crew=hire)


def form(client_of: ClientOf, fto: Person, **named: str) -> str:
    return client_of(fto).get(reverse("runs:hands_on"), named).content.decode()


def chosen(text: str) -> list[str]:
    return re.findall(r'<option value="(1\d)" selected', text)


@pytest.mark.usefixtures("paired")
def test_it_is_that_of_the_person_named(
    client_of: ClientOf, hire: Person, fto: Person, rig: Rig, other_rig: Rig
) -> None:
    pick_rig(fto, rig, now=NOW)
    pick_rig(hire, other_rig, now=NOW)

    assert chosen(form(client_of, fto, person=hire.employee_number)) == ["12"]


@pytest.mark.usefixtures("paired")
def test_it_is_chosen_where_the_officer_and_theirs_ride_several(
    client_of: ClientOf, hire: Person, fto: Person, rig: Rig, other_rig: Rig
) -> None:
    """Beside each name stands what they ride."""
    pick_rig(fto, rig, now=NOW)
    assert chosen(form(client_of, fto)) == ["11"]

    pick_rig(hire, other_rig, now=NOW)
    text = form(client_of, fto)

    assert chosen(text) == []
    assert "rides 12" in text


def test_of_who_rides_none_or_is_nobody_none_is_taken(
    client_of: ClientOf, outsider: Person, fto: Person, rig: Rig
) -> None:
    pick_rig(fto, rig, now=NOW)

    for number in (outsider.employee_number, "NOBODY"):
        assert chosen(form(client_of, fto, person=number)) == []
