"""What the educator reads of wrong answers of which nobody kept where people looked."""

import pytest
from django.urls import reverse

from drills.demo.factories import PersonFactory
from drills.engine.recipes import CONTENTS, LOCATE, STAGE
from drills.engine.scoring import WRONG
from drills.people.models import Person
from drills.rigs.models import Rig
from tests.boards.test_readiness import answered
from tests.runs.conftest import ClientOf

WHERE_HELD = "asked what a place holds, and wrong"
pytestmark = pytest.mark.django_db
NO_LOOK = "missed it, and where they looked is not known"
HELD = "got it wrong when asked what a place holds"


def told(client_of: ClientOf, educator: Person, rig: Rig, kind: str) -> str:
    """The page, where five people missed a splint in an answer that no run stands behind."""
    for number in range(5):
        person = PersonFactory.create(employee_number=f"L{number}")
        answered(person, rig, WRONG, "splint", times=1, kind=kind)
    page: str = client_of(educator).get(reverse("boards:educator")).content.decode()
    assert "Where people look first: Splint" in page
    return page.lower()


@pytest.mark.parametrize("kind", [LOCATE, STAGE])
def test_without_a_look_it_is_not_said_what_it_was(
    kind: str, rig: Rig, educator: Person, client_of: ClientOf
) -> None:
    page = told(client_of, educator, rig, kind)

    assert NO_LOOK in page
    assert "<td>where they looked is not known" in page
    assert HELD not in page
    assert WHERE_HELD not in page


def test_contents_asked_is_told_as_such(rig: Rig, educator: Person, client_of: ClientOf) -> None:
    page = told(client_of, educator, rig, CONTENTS)

    assert HELD in page
    assert WHERE_HELD in page
    assert NO_LOOK not in page
