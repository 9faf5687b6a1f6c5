"""What comes second is folded on a phone, and opened by one press or key; on a desk what is long
alone."""

import pytest
from playwright.sync_api import Page, expect

from drills.demo.factories import PairingFactory, PersonFactory, rig_on
from drills.engine.scoring import WRONG
from drills.people.models import Person, Role
from drills.rigs.reading import layout_of
from tests.boards.test_readiness import answered
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in
from tests.layouts import practice_rig

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


@pytest.fixture
def much_missed(educator: Person) -> list[str]:
    """Every thing of a rig was missed by three people."""
    rig = rig_on(practice_rig(), unit="11")
    things = sorted(layout_of(rig.revision).things)
    for number in range(3):
        person = PersonFactory.create(employee_number=f"C{number}", roles=[Role.CREW])
        for thing in things:
            answered(person, rig, WRONG, thing, times=1)
    return things


def rows_of(page: Page) -> int:
    """How many things that were missed are in sight."""
    cells = page.get_by_role("link", name="Where instead")
    return sum(cells.nth(at).is_visible() for at in range(cells.count()))


@pytest.mark.parametrize(("size", "shown"), [("phone", 5), ("desk", 7)])
def test_a_long_table_is_folded_on_a_desk_as_well_and_never_on_paper(
    open_page: OpenPage, educator: Person, much_missed: list[str], size: str, shown: int
) -> None:
    page = open_page(size=size, scripts=False)
    sign_in(page, educator)
    page.goto("/boards/educator/")
    assert rows_of(page) == shown

    page.emulate_media(media="print")
    in_all = rows_of(page)
    assert in_all > 7
    page.emulate_media(media="screen")
    page.get_by_text(f"All {in_all} of them").first.click()
    assert rows_of(page) == in_all
