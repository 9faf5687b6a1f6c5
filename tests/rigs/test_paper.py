"""A layout on paper: a face a page, and what belongs where, without what is kept behind locks."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from drills.demo.factories import published
from drills.people.models import Person
from drills.rigs.actions import import_layout
from drills.rigs.models import Rig
from tests.layouts import DEMO_LAYOUTS, demo_layout, practice_rig
from tests.rigs.conftest import NOW, ClientOf

URL = reverse("rigs:paper", args=["practice-rig", 1])


def page(client: Client, url: str = URL) -> str:
    return client.get(url).content.decode()


@pytest.mark.parametrize("name", DEMO_LAYOUTS)
def test_has_a_page_for_each_face_and_every_line_that_is_not_locked(
    client_of: ClientOf, hire: Person, name: str
) -> None:
    layout = demo_layout(name)
    published(layout)

    found = page(client_of(hire), reverse("rigs:paper", args=[layout.slug, 1]))

    kept_out = [line for line in layout.stock if layout.is_locked(line.compartment)]
    assert found.count('class="facepage"') == found.count('class="elev ')
    assert found.count(">par ") + found.count(", par ") == len(layout.stock) - len(kept_out)


def test_what_is_locked_is_kept_off_paper(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    found = page(client_of(hire))

    assert "Midazolam" not in found
    assert "Fentanyl" not in found
    assert "Locked drawer</b>, sealed, kept locked: not printed" in found
    assert "Tourniquet" in found


@pytest.mark.parametrize("name", DEMO_LAYOUTS)
def test_nothing_that_lies_behind_locks_alone_is_named(
    client_of: ClientOf, hire: Person, name: str
) -> None:
    layout = demo_layout(name)
    published(layout)

    found = page(client_of(hire), reverse("rigs:paper", args=[layout.slug, 1]))

    locked = [
        thing.name
        for thing in layout.things.values()
        if all(layout.is_locked(code) for code in thing.places)
    ]
    assert locked
    assert [name for name in locked if f"<span>{name}" in found] == []


def test_places_are_set_in_by_how_deep_they_lie(
    client_of: ClientOf, hire: Person, rig: Rig
) -> None:
    found = page(client_of(hire))

    steps = re.findall(r'class="kept-in (d\d)[^"]*"><p class="of"><b>([^<]+)</b>', found)
    assert steps[:5] == [
        ("d0", "S1 Street cabinet"),
        ("d1", "Lower shelf"),
        ("d2", "Response bag"),
        ("d3", "Lid pocket"),
        ("d3", "Main pocket"),
    ]


def test_each_sheet_says_of_which_revision_it_is(
    client_of: ClientOf, hire: Person, rig: Rig
) -> None:
    found = page(client_of(hire))

    sheets = found.count('class="facepage"') + 1
    assert found.count("Print is old the day after: check the revision.") == sheets
    assert found.count('<span class="cap">Revision</span><b>1</b>') == sheets


def test_a_draft_says_that_it_is_one(client_of: ClientOf, keeper: Person, hire: Person) -> None:
    import_layout(practice_rig(), by=keeper, now=NOW)

    assert "<b>1</b>, draft" in page(client_of(keeper)).replace("Draft", "draft")
    assert client_of(hire).get(URL).status_code == 403


def test_it_is_the_sheet_alone_that_is_printed(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    found = page(client_of(hire))

    assert '<header class="unprinted">' in found
    assert "<a " not in found[found.index('class="facepage"') : found.index("</main>")]


def test_is_closed_while_an_assessed_prompt_is_open(
    client_of: ClientOf, assessed_hire: Person, rig: Rig
) -> None:
    assert client_of(assessed_hire).get(URL).status_code == 403


def test_is_nothing_for_a_stranger(rig: Rig) -> None:
    assert Client().get(URL)["Location"].startswith(reverse("people:sign_in"))
