"""The number on a door of the new hire's rig: none before a third of its facts was asked."""

import re
from dataclasses import replace

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.competency.actions import record_evidence
from drills.engine.facts import Fact, door_of, facts_of
from drills.engine.layout import Layout
from drills.engine.scoring import RIGHT, Finding
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from tests.competency.test_actions import circumstances
from tests.layouts import practice_rig
from tests.runs.conftest import ClientOf

DOOR, TIMES = "S1", 8
LAYOUT = practice_rig()
pytestmark = pytest.mark.django_db


def behind(layout: Layout, door: str) -> list[Fact]:
    return [fact for fact in facts_of(layout) if door_of(layout, fact) == door]


FACTS = behind(LAYOUT, DOOR)
A_THIRD = -(-len(FACTS) // 3)


def ask(hire: Person, rig: Rig, facts: int) -> None:
    """Each fact is found often enough for a chance of its own."""
    for fact in FACTS[:facts]:
        for number in range(TIMES):
            said = replace(circumstances(hire, rig, f"{fact} {number}"), at=timezone.now())
            record_evidence([Finding(fact, RIGHT, "")], said)


def find(pattern: str, content: str) -> str:
    found = re.search(pattern, content)
    assert found is not None
    return found.group(1)


@pytest.mark.parametrize(
    ("asked", "is_shown"), [(1, False), (A_THIRD - 1, False), (A_THIRD, True), (len(FACTS), True)]
)
def test_a_number_stands_where_a_third_was_asked(
    client_of: ClientOf, hire: Person, rig: Rig, asked: int, is_shown: bool
) -> None:
    assert 3 * (A_THIRD - 1) < len(FACTS) <= 3 * A_THIRD
    pick_rig(hire, rig, now=timezone.now())
    ask(hire, rig, asked)

    content = client_of(hire).get(reverse("boards:hire")).content.decode()

    row = find(rf"<tr><td><b>{DOOR}</b>(.*?)</tr>", content)
    assert f"{asked} of {len(FACTS)}" in row
    assert f'<td class="num">{asked * TIMES}</td>' in row
    assert ("not enough evidence" not in row) == is_shown
    drawn = find(rf"<b>{DOOR}</b> <span>(.*?)</span>", content)
    assert drawn.isdigit() == is_shown
