"""A medicine looked for in the formulary, while the words are typed."""

import pytest
from django.core.management import call_command
from django.test import override_settings
from playwright.sync_api import expect

from drills.people.models import Person
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in
from tests.layouts import FIXTURES

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@override_settings(READINESS_DEMO=True)
def test_what_is_found_is_counted_and_the_letters_step_back(
    open_page: OpenPage, hire: Person
) -> None:
    files = sorted(each for each in FIXTURES.glob("*.json") if each.stem != "people")
    call_command("loaddata", *files, verbosity=0)
    page = open_page()
    sign_in(page, hire)
    expect(page.get_by_role("link", name="Choose")).to_be_visible()
    page.goto("/formulary/")
    letters, all_of_it = page.get_by_label("By letter"), page.get_by_text("rules, of which")
    expect(letters).to_be_visible()

    page.get_by_label("Find a rule").press_sequentially("fentanyl")

    expect(page.locator("[data-choice]:visible")).to_have_count(1)
    rules = page.locator("[data-choice]:visible .many").inner_text()
    expect(page.get_by_role("status").filter(has_text=f"1 found, with {rules}")).to_be_visible()
    expect(letters).to_be_hidden()
    expect(all_of_it).to_be_hidden()

    page.get_by_label("Find a rule").fill("")
    expect(letters).to_be_visible()
    expect(all_of_it).to_be_visible()
