"""Loaded anew without signal: an open sheet comes back, and nobody's name with it."""

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from drills.demo.factories import RecipeFactory
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.runs.actions import start_run
from drills.runs.models import Sheet
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in
from tests.journeys.test_unsent import fill, officers, wait_until_sent

__all__ = ["officers"]

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

NONE_KEPT = "caches.keys().then((all) => !all.some((name) => name.startsWith('sheet ')))"
ALL_KEPT = """async () => {
  const found = [];
  for (const name of await caches.keys()) {
    const cache = await caches.open(name);
    for (const request of await cache.keys()) {
      if (!request.url.includes("/static/")) {
        found.push(await (await cache.match(request)).text());
      }
    }
  }
  return found.join(" ");
}"""
SOMEBODY_ELSE = """async () => {
  const screen = await caches.open("screen");
  await screen.put("/owner", new Response("somebody else"));
}"""
A_DAY = """async () => {
  for (const name of await caches.keys()) {
    if (name.startsWith("sheet ")) {
      const cache = await caches.open(name), page = await cache.match(location.pathname);
      const headers = { "Content-Type": "text/html", "X-Kept-At": String(Date.now() - 86400000) };
      await cache.put(location.pathname, new Response(await page.text(), { headers }));
    }
  }
}"""
STAYS = "() => navigator.serviceWorker.ready.then(() => true)"


def address() -> str:
    return f"/runs/hands-on/{Sheet.objects.get().pk}/"


def open_kept_sheet(page: Page, officer: Person) -> None:
    """An open sheet, kept by a browser that is ready to be without signal."""
    sign_in(page, officer)
    page.goto(address())
    expect(page.locator("body[data-keeps]")).to_have_count(1)
    assert page.evaluate(STAYS)


def test_a_sheet_comes_back_goes_on_and_sends_when_there_is_signal(
    officers: list[Person], open_page: OpenPage
) -> None:
    page = open_page()
    open_kept_sheet(page, officers[0])
    page.get_by_role("button", name="Start the watch").click()
    wait_until_sent(page)
    page.context.set_offline(True)
    page.reload()

    expect(page.get_by_text("No signal. This is the sheet as this phone kept it")).to_be_visible()
    page.get_by_role("group", name="Tourniquet").locator("label", has_text="Brought").click()
    page.get_by_role("button", name="Stop the watch").click()
    expect(page.get_by_text("1 not sent yet.")).to_be_visible()
    page.on("dialog", lambda dialog: dialog.accept())
    page.reload()
    expect(page.get_by_role("heading", name="Back in place?")).to_be_visible()
    expect(page.get_by_text("1 not sent yet.")).to_be_visible()
    page.context.set_offline(False)
    wait_until_sent(page)
    page.reload()
    expect(page.get_by_text("Noor Hire").first).to_be_visible()
    expect(page.get_by_text("This is the sheet as this phone kept it")).to_have_count(0)
    expect(page.get_by_role("heading", name="Back in place?")).to_be_visible()
    assert Sheet.objects.get().state == "stopped"


def test_what_is_kept_names_nobody_and_goes_with_whoever_kept_it(
    officers: list[Person], open_page: OpenPage
) -> None:
    page = open_page()
    open_kept_sheet(page, officers[0])
    content = page.evaluate(ALL_KEPT)
    assert "Tourniquet" in content
    for name in ("Noor", "Hire", "Field", "told: dispatch"):
        assert name in page.content()
        assert name not in content

    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_label("Employee number")).to_be_visible()
    page.wait_for_function(NONE_KEPT)
    fill(page, officers[1])
    expect(page.get_by_role("link", name="Hands-on at the rig")).to_be_visible()
    page.context.set_offline(True)
    page.goto(address())
    expect(page.get_by_role("heading", name="No signal")).to_be_visible()
    expect(page.get_by_text("Tourniquet")).to_have_count(0)
    page.context.set_offline(False)


@pytest.mark.parametrize("since", [SOMEBODY_ELSE, A_DAY], ids=["somebody else", "a day"])
def test_what_is_left_of_a_sheet_is_shown_to_nobody_else_and_not_after_a_day(
    officers: list[Person], open_page: OpenPage, since: str
) -> None:
    """Even where a browser was stopped before it could forget the page."""
    page = open_page()
    open_kept_sheet(page, officers[0])
    page.evaluate(since)
    page.context.set_offline(True)
    page.reload()
    expect(page.get_by_role("heading", name="No signal")).to_be_visible()
    expect(page.get_by_text("Tourniquet")).to_have_count(0)
    page.context.set_offline(False)


def test_a_page_that_is_a_day_old_is_forgotten_by_the_next_that_comes(
    officers: list[Person], open_page: OpenPage
) -> None:
    page = open_page()
    open_kept_sheet(page, officers[0])
    page.evaluate(A_DAY)
    page.goto("/runs/hands-on/")
    page.wait_for_function(NONE_KEPT)


def test_somebody_else_at_the_screen_finds_nothing_kept(
    officers: list[Person], open_page: OpenPage
) -> None:
    """Whichever way they came to be signed in."""
    page = open_page()
    open_kept_sheet(page, officers[0])
    page.context.clear_cookies()
    sign_in(page, officers[1])
    expect(page.get_by_role("link", name="Hands-on at the rig")).to_be_visible()
    page.wait_for_function(NONE_KEPT)


def test_a_closed_sheet_is_kept_no_more(officers: list[Person], open_page: OpenPage) -> None:
    page = open_page()
    open_kept_sheet(page, officers[0])
    page.get_by_role("button", name="Called away").click()
    for tick in page.locator("[data-back]:visible input").all():
        tick.check()
    page.get_by_role("button", name="All back").click()
    expect(page.get_by_role("link", name="The next person at this rig")).to_be_visible()
    page.wait_for_function(NONE_KEPT)


def test_a_drill_loaded_anew_says_that_there_is_no_signal_and_waits(
    officers: list[Person], open_page: OpenPage
) -> None:
    hire, rig, now = Person.objects.get(employee_number="HIRE"), Rig.objects.get(), timezone.now()
    pick_rig(hire, rig, now=now)
    recipe = RecipeFactory.create(slug="find-five", kinds="locate:5")
    run = start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=now, seed=7)
    page = open_page()
    sign_in(page, hire)
    page.goto(f"/runs/{run.pk}/")
    page.get_by_role("button", name="Begin untimed").click()
    expect(page.locator("[data-asking]")).to_be_visible()
    assert page.evaluate(STAYS)
    asked = page.locator("#ask").inner_text()
    page.context.set_offline(True)
    page.reload()
    expect(page.get_by_role("heading", name="No signal")).to_be_visible()
    assert asked not in page.evaluate(ALL_KEPT)
    page.context.set_offline(False)
    page.get_by_role("link", name="Try again").click()
    expect(page.locator("#ask")).to_have_text(asked, use_inner_text=True)
