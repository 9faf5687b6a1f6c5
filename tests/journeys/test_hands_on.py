"""At the open doors: two people in turn, one signed off, and a sheet kept without signal."""

import re
from datetime import timedelta

import pytest
from django.db.models import F
from django.utils import timezone
from playwright.sync_api import Page, expect

from drills.demo.factories import PairingFactory, PersonFactory, RecipeFactory, rig_on
from drills.people.models import Person, Role
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.runs import actions
from drills.runs.models import Sheet
from drills.scenarios.models import Mode
from tests.calls import bleeding_call
from tests.cast import PASSWORD, make_hire
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in
from tests.layouts import practice_rig

TEN_MINUTES = 10 * 60 * 1000
# What waits on this phone, where it was in sight for as much as a moment; the page waits for a slow
# server ten times as long before it shows it.
WATCH_FOR_KEPT = """() => {
  const later = window.setTimeout;
  window.setTimeout = (done, ms) => later(done, 10 * ms);
  const kept = document.querySelector("[data-part=kept]");
  new MutationObserver(() => sessionStorage.setItem("was kept", String(!kept.hidden)))
    .observe(kept, { attributes: true });
}"""

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def officer_at_the_rig() -> tuple[Person, Rig]:
    """An FTO, and the practice rig with a kit to ask for."""
    rig = rig_on(practice_rig(), unit="11")
    bleeding_call(rig.revision)
    RecipeFactory.create(slug="kit-at-the-rig", kinds="stage:1", mode=Mode.ASSESSED)
    officer = PersonFactory.create(
        employee_number="FTO", name="Ola Field", password=PASSWORD, roles=[Role.FTO]
    )
    return officer, rig


@pytest.fixture
def officer(db: None) -> Person:
    """An FTO of two people, on the practice rig."""
    officer, rig = officer_at_the_rig()
    second = PersonFactory.create(employee_number="SECOND", name="Sol Second")
    for each in (make_hire(), second):
        PairingFactory.create(fto=officer, crew=each)
    pick_rig(officer, rig, now=timezone.now())
    return officer


def open_sheet(page: Page, name: str) -> None:
    page.get_by_label(name).check()
    page.get_by_role("button", name="Open the sheet").click()
    expect(page.get_by_role("heading", name="Read it out, then start.")).to_be_visible()
    page.wait_for_load_state()  # the watch is a script


def mark(page: Page, thing: str, word: str) -> None:
    page.get_by_role("group", name=thing).locator("label", has_text=word).click()


def close(page: Page) -> None:
    for tick in page.locator("[data-back]:visible input").all():
        tick.check()
    page.get_by_role("button", name="All back").click()


def test_two_in_turn_one_of_them_without_signal(officer: Person, open_page: OpenPage) -> None:
    page = open_page()
    page.clock.install()
    sign_in(page, officer)
    page.get_by_role("link", name="Hands-on at the rig").click()
    page.get_by_label("In service").check()
    page.get_by_label("Who is told").fill("dispatch")
    open_sheet(page, "Noor Hire")
    page.get_by_role("button", name="Start the watch").click()
    mark(page, "Tourniquet", "Brought")
    mark(page, "Splint", "Wrong thing")
    page.get_by_role("button", name="Undo").click()
    mark(page, "Splint", "Brought")
    wrong_door = page.get_by_role("button", name="Wrong door")
    before = wrong_door.bounding_box()
    wrong_door.click()
    expect(page.get_by_role("button", name="Wrong door 1")).to_be_visible()
    after = wrong_door.bounding_box()
    # Pressed twice on one spot it counts two: Undo comes beside it and moves nothing.
    assert before
    assert after
    assert after["x"] == before["x"]
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("button", name="Wrong door", exact=True)).to_be_visible()
    page.get_by_role("button", name="Stop the watch").click()
    page.get_by_role("button", name="All back").click()
    told = page.get_by_role("alert").filter(has_text="not ticked as back")
    ticks = page.locator("[data-back]:visible input")
    many = ticks.count()
    assert many > 1
    expect(told).to_contain_text(f"{many} doors not ticked")
    for left in range(many - 1, 0, -1):
        ticks.nth(left).check()
        expect(told).to_contain_text(f"{left} door")
    ticks.first.check()
    expect(told).to_have_count(0)
    page.evaluate(WATCH_FOR_KEPT)
    close(page)
    expect(page.get_by_role("heading", name=re.compile(r"^Right, \d"))).to_be_visible()
    assert page.evaluate("sessionStorage.getItem('was kept')") is None
    page.get_by_role("link", name="Sign it off").click()
    expect(page.get_by_text("Circulation and bleeding")).to_be_visible()
    page.get_by_role("button", name="Sign it off").click()
    expect(page.get_by_text("Signed off by Ola Field")).to_be_visible()

    page.get_by_role("link", name="The next person at this rig").click()
    expect(page.get_by_role("radio", name="dispatch")).to_be_checked()
    expect(page.get_by_label("Who is told, if none of these")).to_have_value("")
    open_sheet(page, "Sol Second")
    page.context.set_offline(True)
    page.get_by_role("button", name="Start the watch").click()
    mark(page, "Tourniquet", "With help")
    page.clock.fast_forward(TEN_MINUTES)
    expect(page.locator("[data-watch]")).to_have_text(re.compile(r"^10:\d\d$"))
    mark(page, "Splint", "Brought")
    page.get_by_role("button", name="Stop the watch").click()
    close(page)
    expect(page.get_by_role("heading", name="Closed on this phone.")).to_be_visible()
    expect(page.get_by_text("3 not sent yet.")).to_be_visible()
    unsent = Sheet.objects.filter(person__employee_number="SECOND")
    assert unsent.get().state == "opened"
    # The server was there for as long as the phone was without signal.
    unsent.update(opened_at=F("opened_at") - timedelta(minutes=10))
    page.context.set_offline(False)
    expect(page.get_by_role("heading", name=re.compile(r"^Partly right, \d"))).to_be_visible()

    second = Sheet.objects.get(person__employee_number="SECOND")
    assert (second.watch, second.outcome) == ("verified", "partly")
    assert second.seconds is not None
    assert 600 < second.seconds < 660


def test_two_in_turn_with_scripts_off(officer: Person, open_page: OpenPage) -> None:
    """Each press sends the page, and the server's time counts."""
    page = open_page(scripts=False)
    sign_in(page, officer)
    page.get_by_role("link", name="Hands-on at the rig").click()
    page.get_by_label("In service").check()
    page.get_by_label("Who is told").fill("dispatch")
    for name, word in (("Noor Hire", "Brought"), ("Sol Second", "With help")):
        open_sheet(page, name)
        page.get_by_role("button", name="Start the watch").click()
        mark(page, "Tourniquet", word)
        mark(page, "Splint", "Brought")
        page.get_by_label("Wrong doors opened").fill("0")
        page.get_by_role("button", name="Stop the watch").click()
        page.get_by_role("button", name="All back").click()
        expect(page.get_by_role("alert").filter(has_text="Not ticked as back")).to_be_visible()
        close(page)
        page.get_by_role("link", name="The next person at this rig").click()
    found = Sheet.objects.order_by("opened_at").values_list("outcome", "watch")
    assert list(found) == [("right", "unverified"), ("partly", "unverified")]


def test_contested_by_who_was_seen_and_voided_by_another_officer(
    officer: Person, open_page: OpenPage
) -> None:
    hire = Person.objects.get(employee_number="HIRE")
    second = PersonFactory.create(
        employee_number="OTHER", name="Ona Other", password=PASSWORD, roles=[Role.FTO]
    )
    PairingFactory.create(fto=second, crew=hire)
    now = timezone.now()
    made = actions.open_sheet(
        hire,
        officer=officer,
        rig=Rig.objects.get(),
        call_type=None,
        in_service=True,
        told="dispatch",
        now=now,
    )
    lines = range(len(actions.lines_of(made)))
    wrong = actions.Watched(seen=dict.fromkeys(lines, "brought") | {1: "wrong"}, claim=20.0)
    actions.start_watch(made, now=now)
    actions.stop_watch(made, wrong, now=now + timedelta(seconds=21))
    actions.close_sheet(made, back=lines, now=now + timedelta(seconds=60))

    page = open_page()
    sign_in(page, hire)
    page.goto(f"{page.url.split('/', 3)[0]}//{page.url.split('/')[2]}/runs/hands-on/{made.pk}/")
    page.get_by_text("Contest what was written").click()
    page.get_by_label("What of it").select_option("1")
    page.get_by_label("What is wrong with it?").fill("It was the splint, in its bag.")
    page.get_by_role("button", name="Contest", exact=True).click()
    expect(page.get_by_text("Waits for another FTO or an educator.")).to_be_visible()

    other = open_page()
    sign_in(other, second)
    other.get_by_role("link", name="1 contested mark waits").click()
    other.get_by_label("Your answer, which they read").fill("It was.")
    other.get_by_role("button", name="Void it").click()
    expect(other.get_by_text("The mark is voided.")).to_be_visible()
    page.reload()
    expect(page.get_by_role("heading", name="Right without what was voided")).to_be_visible()
    expect(page.get_by_text("nobody saw the whole kit")).to_be_visible()
