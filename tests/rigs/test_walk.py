"""The study walk, door by door."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from drills.demo.factories import published
from drills.engine.study import study_walk
from drills.people.models import Person
from drills.rigs.models import Rig
from tests.layouts import demo_layout
from tests.rigs.conftest import ClientOf

URL = reverse("rigs:walk", args=["practice-rig"])


def door(code: str) -> str:
    return reverse("rigs:walk", args=["practice-rig", code])


def test_lists_every_door_in_order(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    found = client_of(hire).get(URL).content.decode()

    at = [found.index(f'href="{door(code)}"') for code in ("S1", "P1", "I1")]
    assert at == sorted(at)
    assert "3 doors" in found


def test_opens_one_door(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    found = client_of(hire).get(door("S1")).content.decode()

    assert "1 of 3 doors" in found
    assert "Trauma dressing" in found
    assert "critical" in found
    assert "Gauze roll" not in found


def test_leads_to_the_one_before_and_after(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    found = client_of(hire).get(door("P1")).content.decode()

    assert f'rel="prev" href="{door("S1")}"' in found
    assert f'rel="next" href="{door("I1")}"' in found


def test_ends_at_the_last_door(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    found = client_of(hire).get(door("I1")).content.decode()

    assert "3 of 3 doors" in found
    assert 'rel="next"' not in found


def test_shows_a_through_compartment_at_both_openings(client_of: ClientOf, hire: Person) -> None:
    layout = demo_layout("mesa-box")
    published(layout)

    found = client_of(hire).get(reverse("rigs:walk", args=[layout.slug, "C1"])).content.decode()

    assert "Curb wall, seen from inside" in found
    assert "Curb side, seen from outside" in found


def test_shows_what_is_fixed_and_where(client_of: ClientOf, hire: Person) -> None:
    layout = demo_layout("mesa-box")
    published(layout)

    found = client_of(hire).get(reverse("rigs:walk", args=[layout.slug, "K1"])).content.decode()

    for name in ("Siren and warning-light panel", "Radio control head", "Dispatch terminal"):
        assert f"<span>{name}</span>" in found
        assert re.search(rf'aria-hidden="true">([a-z])</span>{name}</li>', found)


def test_every_door_of_a_rig_can_be_walked(client_of: ClientOf, hire: Person) -> None:
    layout = demo_layout("arroyo-van")
    published(layout)
    client = client_of(hire)

    answers = [
        client.get(reverse("rigs:walk", args=[layout.slug, each.code])).status_code
        for each in study_walk(layout)
    ]

    assert set(answers) == {200}


@pytest.mark.parametrize("code", ["BAG", "NONE"])
def test_knows_doors_alone(client_of: ClientOf, hire: Person, rig: Rig, code: str) -> None:
    assert client_of(hire).get(door(code)).status_code == 404


def test_is_closed_while_an_assessed_prompt_is_open(
    client_of: ClientOf, assessed_hire: Person, rig: Rig
) -> None:
    client = client_of(assessed_hire)

    assert [client.get(url).status_code for url in (URL, door("S1"))] == [403, 403]


def test_is_only_read(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    assert client_of(hire).post(URL).status_code == 405


def test_is_nothing_for_a_stranger(rig: Rig) -> None:
    assert Client().get(URL)["Location"].startswith(reverse("people:sign_in"))
