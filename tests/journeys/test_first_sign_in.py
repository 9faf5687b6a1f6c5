"""A roster comes in, a slip is printed, a newcomer gets in by it, and leaves."""

import re

import pytest
from playwright.sync_api import Error, FilePayload, Page, expect

from drills.people.models import Person
from tests.cast import PASSWORD
from tests.journeys.conftest import OpenPage

CODE = re.compile(r"[A-Z0-9]{4}-[A-Z0-9]{4}-[A-Z0-9]{4}")
OWN = "gravel under slow wheels"
COMES = "Employee Number;NAME;roles;cohort\r\nN1;Nia Newcomer;crew;Spring intake\r\n"
GOES = "employee number,name,leaves\nN1,Nia Newcomer,yes\n"

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def sign_in(page: Page, number: str, secret: str) -> None:
    page.goto("/people/sign-in/")
    page.get_by_label("Employee number").fill(number)
    page.get_by_label("Password, or the code").fill(secret)
    page.get_by_role("button", name="Sign in").click()


def send(page: Page, text: str) -> None:
    """Send a file of people, look at what it changes, and store it."""
    page.goto("/boards/roster/")
    file = FilePayload(name="roster.csv", mimeType="text/csv", buffer=text.encode())
    page.get_by_label("CSV, at most 1 MB").set_input_files(file)
    page.get_by_label("Add stations and cohorts").check()
    page.get_by_role("button", name="See what it changes").click()
    page.get_by_role("button", name="Store it").click()
    expect(page.get_by_text("The roster is stored")).to_be_visible()


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no scripts"])
def test_from_the_roster_to_the_first_page_and_out_again(
    open_page: OpenPage, admin: Person, scripts: bool
) -> None:
    desk, phone = open_page(size="desk", scripts=scripts), open_page(scripts=scripts)
    sign_in(desk, "ADMIN", PASSWORD)
    send(desk, COMES)
    desk.get_by_role("button", name="Slips").click()
    slip = desk.locator(".paper", has_text="Nia Newcomer").inner_text()
    code = CODE.findall(slip)[0]

    sign_in(phone, "N1", code.lower().replace("-", " "))
    expect(phone.get_by_role("heading", name="Choose your own password")).to_be_visible()
    phone.get_by_label("New password", exact=True).fill(OWN)
    phone.get_by_label("New password once more").fill(OWN)
    phone.get_by_role("button", name="Keep it and go in").click()
    expect(phone.get_by_text("That is your password from now on.")).to_be_visible()

    send(desk, GOES)
    phone.goto("/rigs/")
    expect(phone.get_by_role("button", name="Sign in")).to_be_visible()


def test_going_back_does_not_show_a_slip_again(open_page: OpenPage, admin: Person) -> None:
    page = open_page(size="desk")
    sign_in(page, "ADMIN", PASSWORD)
    send(page, COMES)
    page.get_by_role("button", name="Slips").click()
    expect(page.locator(".paper")).to_have_count(1)
    page.get_by_role("link", name="To the roster").click()
    expect(page.get_by_role("heading", name="Roster", exact=True)).to_be_visible()

    try:
        page.go_back()
    except Error as refused:  # the browser kept nothing, and asks before it sends a form again
        assert "ERR_CACHE_MISS" in str(refused)  # noqa: PT017  # going back may also just work
    expect(page.locator(".paper")).to_have_count(0)
