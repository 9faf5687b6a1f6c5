"""Presses that a phone keeps and has not sent, when somebody leaves it or comes to it."""

import pytest
from django.utils import timezone
from playwright.sync_api import Error, Page, expect

from drills.demo.factories import PairingFactory, PersonFactory, RecipeFactory, rig_on
from drills.people.actions import choose_personal_code
from drills.people.models import Person, Role
from drills.rigs.models import Rig
from drills.runs import actions
from drills.runs.models import Sheet
from drills.scenarios.models import Mode
from tests.calls import bleeding_call
from tests.cast import PASSWORD, make_hire
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in
from tests.layouts import practice_rig

CODE = "481507"

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def officers(db: None) -> list[Person]:
    """Two FTOs of one person; the first has a sheet open on the practice rig."""
    rig = rig_on(practice_rig(), unit="11")
    bleeding_call(rig.revision)
    RecipeFactory.create(slug="kit-at-the-rig", kinds="stage:1", mode=Mode.ASSESSED)
    hire, found = make_hire(), []
    for number, name in (("FTO", "Ola Field"), ("OTHER", "Ona Other")):
        person = PersonFactory.create(
            employee_number=number, name=name, password=PASSWORD, roles=[Role.FTO]
        )
        PairingFactory.create(fto=person, crew=hire)
        found.append(person)
    actions.open_sheet(
        hire,
        officer=found[0],
        rig=Rig.objects.get(),
        call_type=None,
        in_service=True,
        told="dispatch",
        now=timezone.now(),
    )
    return found


def fill(page: Page, person: Person) -> None:
    page.get_by_label("Employee number").fill(person.employee_number)
    page.get_by_label("Password, or the code on your slip").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def leave(page: Page) -> None:
    page.get_by_role("button", name="Sign out").click()
    page.get_by_role("button", name="Sign out all the same").click()
    expect(page.get_by_label("Employee number")).to_be_visible()


def wait_until_sent(page: Page) -> None:
    """Until the phone keeps nothing that it has not sent."""
    for _ in range(100):
        if "fields" not in page.evaluate("JSON.stringify(localStorage)"):
            return
        page.wait_for_timeout(100)
    raise AssertionError(page.evaluate("JSON.stringify(localStorage)"))


def test_asked_before_leaving_and_sent_by_nobody_but_its_officer(
    officers: list[Person], open_page: OpenPage
) -> None:
    first, other = officers
    page = open_page(kept=False)
    sign_in(page, first)
    page.goto(f"/runs/hands-on/{Sheet.objects.get().pk}/")
    page.context.route("**/deed/", lambda route: route.abort("internetdisconnected"))
    page.get_by_role("button", name="Start the watch").click()
    expect(page.get_by_text("1 not sent yet.")).to_be_visible()

    asked = page.get_by_role("dialog")
    page.get_by_role("button", name="Sign out").click()
    expect(asked).to_contain_text("1 press of 1 sheet at the rig is not sent yet.")
    page.get_by_role("button", name="Stay").click()
    expect(asked).to_be_hidden()
    expect(page.get_by_role("button", name="Stop the watch")).to_be_visible()
    leave(page)
    page.context.unroute("**/deed/")

    fill(page, other)
    expect(asked).to_contain_text("nothing goes out under another name")
    asked.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("link", name="Hands-on at the rig")).to_be_visible()
    expect(page.get_by_role("link", name="Open the sheet to send")).to_be_hidden()
    assert Sheet.objects.get().state == "opened"

    leave(page)
    fill(page, first)
    asked.get_by_role("button", name="Sign in").click()
    page.get_by_role("link", name="Open the sheet to send").click()
    expect(page.get_by_role("button", name="Stop the watch")).to_be_visible()
    wait_until_sent(page)
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_label("Employee number")).to_be_visible()
    kept = Sheet.objects.get()
    assert (kept.state, kept.officer) == ("running", first)


def test_a_tab_left_open_sends_nothing_under_another_name(
    officers: list[Person], open_page: OpenPage
) -> None:
    first, other = officers
    page = open_page(refused="status of 403")
    sign_in(page, first)
    page.goto(f"/runs/hands-on/{Sheet.objects.get().pk}/")
    second = page.context.new_page()
    second.goto("/")
    second.get_by_role("button", name="Sign out").click()
    fill(second, other)
    expect(second.get_by_role("link", name="Hands-on at the rig")).to_be_visible()
    refused = page.expect_response(lambda each: each.url.endswith("/deed/"))
    with refused as answer:
        page.get_by_role("button", name="Start the watch").click()
    assert answer.value.status == 403
    expect(page.get_by_text("somebody else is signed in here")).to_be_visible()
    expect(page.get_by_text("1 not sent yet.")).to_be_visible()
    assert Sheet.objects.get().state == "opened"


def test_handing_a_shared_screen_on_is_asked_first_and_leaves_nothing_of_the_sheet(
    officers: list[Person], open_page: OpenPage
) -> None:
    hire = Person.objects.get(employee_number="HIRE")
    choose_personal_code(hire, CODE, now=timezone.now())
    page = open_page(size="desk", kept=False)
    sign_in(page, officers[0])
    page.goto(f"/runs/hands-on/{Sheet.objects.get().pk}/")
    expect(page.locator("body[data-keeps]")).to_have_count(1)
    page.context.route("**/deed/", lambda route: route.abort("internetdisconnected"))
    page.get_by_role("button", name="Called away").click()
    expect(page.get_by_text("1 not sent yet.")).to_be_visible()
    page.on("dialog", lambda asked: asked.accept())
    page.get_by_role("link", name="Hand on").click()
    page.get_by_label("Employee number").fill("HIRE")
    page.get_by_label("Personal code").fill(CODE)
    page.get_by_role("button", name="Take over").click()
    asked = page.get_by_role("dialog")
    expect(asked).to_contain_text("1 press of 1 sheet at the rig is not sent yet.")
    asked.get_by_role("button", name="Stay").click()
    expect(page.get_by_role("button", name="Take over")).to_be_visible()
    page.get_by_role("button", name="Take over").click()
    asked.get_by_role("button", name="Take over all the same").click()

    expect(page.get_by_text("This screen is Noor Hire's now.")).to_be_visible()
    expect(page.get_by_role("link", name="Open the sheet to send")).to_be_hidden()
    page.wait_for_function("caches.keys().then((all) => !all.some((n) => n.startsWith('sheet ')))")
    assert '\\"fields\\"' in page.evaluate("JSON.stringify(localStorage)")
    assert Sheet.objects.get().state == "opened"


def test_loaded_anew_without_signal_nothing_that_was_marked_is_lost(
    officers: list[Person], open_page: OpenPage
) -> None:
    """Where a browser keeps no pages it shows one of its own; the sheet comes back with signal."""
    page = open_page()
    page.add_init_script("delete Navigator.prototype.serviceWorker")
    sign_in(page, officers[0])
    sheet = f"/runs/hands-on/{Sheet.objects.get().pk}/"
    page.goto(sheet)
    page.context.set_offline(True)
    page.get_by_role("button", name="Start the watch").click()
    page.get_by_role("group", name="Tourniquet").locator("label", has_text="Brought").click()
    expect(page.get_by_text("1 not sent yet.")).to_be_visible()
    page.on("dialog", lambda asked: asked.accept())
    with pytest.raises(Error, match="ERR_INTERNET_DISCONNECTED"):
        page.reload()
    page.context.set_offline(False)
    page.goto(sheet)
    expect(page.get_by_role("button", name="Stop the watch")).to_be_visible()
    marked = page.get_by_role("group", name="Tourniquet").get_by_role("radio", name="Brought")
    expect(marked).to_be_checked()
    wait_until_sent(page)
    assert Sheet.objects.get().state == "running"
