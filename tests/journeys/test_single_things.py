"""Single things at the open doors, on the officer's phone: undone, and kept without signal."""

import re

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from drills.demo.factories import PersonFactory, RecipeFactory, rig_on
from drills.people.models import Person, Role
from drills.runs import actions
from drills.runs.models import Sheet
from tests.cast import PASSWORD, make_hire
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in
from tests.journeys.test_unsent import wait_until_sent
from tests.layouts import practice_rig

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def officer(db: None) -> Person:
    """An FTO with a sheet of two things open on the practice rig."""
    officer = PersonFactory.create(
        employee_number="FTO", name="Ola Field", password=PASSWORD, roles=[Role.FTO]
    )
    actions.open_sheet(
        make_hire(),
        officer=officer,
        rig=rig_on(practice_rig(), unit="11"),
        call_type=None,
        things=RecipeFactory.create(slug="two", kinds="locate:2"),
        in_service=True,
        told="dispatch",
        now=timezone.now(),
        seed=7,
    )
    return officer


def press(page: Page, name: str) -> None:
    page.get_by_role("button", name=name).click()


def test_undone_kept_without_signal_and_sent_in_order(officer: Person, open_page: OpenPage) -> None:
    sheet = Sheet.objects.get()
    first, second = (line.name for line in actions.lines_of(sheet))
    page = open_page(kept=False)
    sign_in(page, officer)
    page.goto(f"/runs/hands-on/{sheet.pk}/")
    page.context.route("**/deed/", lambda route: route.abort("internetdisconnected"))
    told = page.locator("[data-told]:visible")
    expect(page.get_by_role("heading", name=first)).to_be_visible()
    expect(page.get_by_role("heading", name=second)).to_be_hidden()
    expect(told).to_have_count(0)
    press(page, "Start: they are here")
    expect(told).to_have_count(0)
    expect(page.locator("[data-count]")).to_have_text("1 of 2")
    found = page.get_by_role("button", name="Found", exact=True)
    before = found.bounding_box()
    press(page, "One more")
    expect(page.locator("[data-undo]:visible")).to_have_count(1)
    # What is pressed next stays under the thumb, though Undo comes and goes.
    assert found.bounding_box() == before
    press(page, "Did not find")
    expect(told).to_contain_text(
        re.compile(rf"{re.escape(first)}: Did not find, \d+:\d\d, wrong places: 1\.")
    )
    press(page, "Undo")
    expect(told).to_have_count(0)
    expect(page.get_by_label("Wrong places")).to_have_value("1")
    page.wait_for_timeout(600)
    press(page, "Found")
    expect(page.get_by_role("heading", name=second)).to_be_visible()
    press(page, "Start: they are here")
    expect(page.get_by_label("Wrong places")).to_have_value("0")
    page.wait_for_timeout(600)
    press(page, "With help")
    for tick in page.locator("[data-back]:visible input").all():
        tick.check()
    press(page, "All back")
    expect(page.get_by_role("heading", name="Closed on this phone.")).to_be_visible()
    expect(page.get_by_text("5 not sent yet.")).to_be_visible()
    assert Sheet.objects.get().state == "opened"

    page.context.unroute("**/deed/")
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.get_by_role("heading", name="Partly right")).to_be_visible()
    kept = Sheet.objects.get()
    assert kept.seen == {"0": "found", "1": "helped"}
    assert [each["wrong"] for each in kept.timed.values()] == [1, 0]
    assert [each["watch"] for each in kept.timed.values()] == ["verified", "verified"]


def test_an_answer_that_can_still_be_undone_counts_as_not_sent(
    officer: Person, open_page: OpenPage
) -> None:
    page = open_page()
    sign_in(page, officer)
    page.goto(f"/runs/hands-on/{Sheet.objects.get().pk}/")
    press(page, "Start: they are here")
    page.wait_for_timeout(600)
    wait_until_sent(page)
    press(page, "Found")
    press(page, "Sign out")
    expect(page.get_by_role("dialog")).to_contain_text("1 press of 1 sheet at the rig is not sent")
    press(page, "Stay")
    wait_until_sent(page)
    press(page, "Sign out")
    expect(page.get_by_label("Employee number")).to_be_visible()
    assert Sheet.objects.get().seen == {"0": "found"}


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_a_call_while_they_look_asks_for_what_is_open_and_no_more(
    officer: Person, open_page: OpenPage, size: str
) -> None:
    page = open_page(size=size)
    sign_in(page, officer)
    page.goto(f"/runs/hands-on/{Sheet.objects.get().pk}/")
    press(page, "Start: they are here")
    press(page, "Called away")
    expect(page.locator("[data-thing]:visible")).to_have_count(1)
    page.locator("[data-back]:visible input").check()
    press(page, "All back")
    expect(page.get_by_role("heading", name="Called away.")).to_be_visible()
