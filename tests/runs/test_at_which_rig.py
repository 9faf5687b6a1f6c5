"""The rig of a sheet: the one that whoever is watched rides, or one that the officer chooses."""

import re

import pytest
from django.urls import reverse

from drills.demo.factories import PairingFactory, RecipeFactory, rig_on
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.runs.models import Sheet
from drills.scenarios.models import Mode
from tests.calls import bleeding_call
from tests.layouts import practice_rig
from tests.runs.conftest import NOW, ClientOf

pytestmark = pytest.mark.django_db
OPENED = {"service": "in", "told": "dispatch", "call_type": "", "rig": ""}


@pytest.fixture
def other_rig(db: None) -> Rig:
    return rig_on(practice_rig("another-rig"), unit="12")


@pytest.fixture
def kit(rig: Rig) -> None:
    """What a sheet asks for, on the hire's rig."""
    RecipeFactory.create(slug="kit-at-the-rig", kinds="stage:1", mode=Mode.ASSESSED)
    bleeding_call(rig.revision)


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


@pytest.mark.usefixtures("paired", "kit")
def test_none_chosen_it_is_the_one_that_whoever_is_watched_rides(
    client_of: ClientOf, hire: Person, fto: Person, rig: Rig, other_rig: Rig
) -> None:
    pick_rig(fto, other_rig, now=NOW)
    pick_rig(hire, rig, now=NOW)

    client_of(fto).post(reverse("runs:hands_on"), OPENED | {"person": "HIRE"})

    assert Sheet.objects.get().rig == rig


@pytest.mark.parametrize(
    ("person", "told"),
    [
        (
            "HIRE",
            ["At which rig: None came in, and Noor Hire rides none. Choose a rig of the list."],
        ),
        ("", ["Who is watched: Choose one person."]),
    ],
)
@pytest.mark.usefixtures("paired", "rig")
def test_none_chosen_and_none_ridden_is_said_once(
    client_of: ClientOf, fto: Person, person: str, told: list[str]
) -> None:
    page = client_of(fto).post(reverse("runs:hands_on"), OPENED | {"person": person})

    assert page.status_code == 422
    said = re.findall(r'class="fault">.*?</svg>\s*(.*?)</p>', page.content.decode(), re.DOTALL)
    assert said == told
    assert not Sheet.objects.exists()


def test_of_who_rides_none_or_is_nobody_none_is_taken(
    client_of: ClientOf, outsider: Person, fto: Person, rig: Rig
) -> None:
    pick_rig(fto, rig, now=NOW)

    for number in (outsider.employee_number, "NOBODY"):
        assert chosen(form(client_of, fto, person=number)) == []
