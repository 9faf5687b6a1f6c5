"""What comes second is folded on a phone, opened by one press or key, and never on a desk."""

import pytest
from playwright.sync_api import Page, expect

from drills.demo.factories import PairingFactory, PersonFactory
from drills.people.models import Person, Role
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PEOPLE, IN_FULL = 5, 3


@pytest.fixture
def officer(fto: Person) -> Person:
    """An FTO of five people, the new hire among them."""
    for number in range(PEOPLE - 1):
        crew = PersonFactory.create(employee_number=f"C{number}", roles=[Role.CREW])
        PairingFactory.create(fto=fto, crew=crew)
    return fto


def in_full(page: Page) -> int:
    """How many people's last runs are in sight."""
    cells = page.locator("td[data-label='Last run']")
    return sum(cells.nth(at).is_visible() for at in range(cells.count()))


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "plain"])
def test_on_a_phone_the_first_stand_in_full_and_everybody_by_name(
    open_page: OpenPage, officer: Person, scripts: bool
) -> None:
    page = open_page(scripts=scripts)
    sign_in(page, officer)
    fold = page.get_by_text(f"All {PEOPLE} in full")

    expect(page.locator("table.fto td:first-child:visible")).to_have_count(PEOPLE)
    assert in_full(page) == IN_FULL
    expect(page.get_by_text("releases nobody")).to_be_hidden()

    fold.focus()
    page.keyboard.press("Enter")
    assert in_full(page) == PEOPLE
    page.get_by_text("How this is read").click()
    expect(page.get_by_text("releases nobody")).to_be_visible()


def test_on_a_desk_nothing_is_folded(open_page: OpenPage, officer: Person) -> None:
    page = open_page(size="desk", scripts=False)
    sign_in(page, officer)

    assert in_full(page) == PEOPLE
    expect(page.get_by_text(f"All {PEOPLE} in full")).to_be_hidden()
    expect(page.get_by_text("How this is read")).to_be_hidden()
    expect(page.get_by_text("releases nobody")).to_be_visible()
