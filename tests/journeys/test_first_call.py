"""A multi-patient call: find it, bring it, work out the dose, with a real call between."""

import re
from typing import Any

import pytest
from django.core.management import call_command
from django.utils import timezone
from playwright.sync_api import Page, expect

from drills.demo.factories import rig_on
from drills.engine.workbook import read_workbook
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.runs.models import Presentation, PresentationState, Run, VoidReason
from drills.scenarios.tasks import problem_in
from tests.cast import make_hire
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import LOOK_MS, sign_in
from tests.layouts import FIXTURES

MOST_PROMPTS = 40
# A drill whose debrief opens several cabinets of one face.
SEED = 8
# How many faces show several opened cabinets, and how many of those stand upon one another.
OPENED_ON_EACH_OTHER = """() => {
  let several = 0, overlaps = 0;
  document.querySelectorAll("details").forEach((each) => { each.open = true; });
  document.querySelectorAll(".marked").forEach((face) => {
    const found = [...face.querySelectorAll(".bay > .open")];
    const boxes = found.map((each) => each.getBoundingClientRect());
    several += boxes.length > 1;
    boxes.forEach((one, i) => boxes.slice(i + 1).forEach((other) => {
      overlaps += one.top < other.bottom - 1 && other.top < one.bottom - 1;
    }));
  });
  return [several, overlaps];
}"""

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def ready(db: None, settings: Any, monkeypatch: pytest.MonkeyPatch) -> Person:
    """A paramedic on the box of the demonstration, its formulary open for drills."""
    settings.READINESS_DEMO = True
    monkeypatch.setattr("drills.runs.actions.starting.secrets.randbits", lambda _bits: SEED)
    call_command("loaddata", *sorted(FIXTURES.glob("*.json")), verbosity=0)
    layout = read_workbook(FIXTURES / "layouts" / "mesa-box", name="mesa-box").layout
    assert layout is not None
    hire = make_hire()
    pick_rig(hire, rig_on(layout, unit="204"), now=timezone.now())
    return hire


def open_prompt() -> Presentation:
    rows = Presentation.objects.select_related("prompt", "run")
    return rows.get(state=PresentationState.OPEN)


def give_up(page: Page) -> None:
    page.locator("summary:visible", has_text="Cannot answer").click()
    page.get_by_role("button", name="I do not know").click()


def go_on(page: Page) -> None:
    page.get_by_role("button", name="Next").click()


def until(page: Page, kind: str) -> None:
    """Give up on what comes before the first prompt of a kind."""
    for _ in range(MOST_PROMPTS):
        expect(page.locator("[data-asking]")).to_be_visible()
        prompt = open_prompt().prompt
        if prompt is not None and prompt.kind == kind:
            return
        give_up(page)
        go_on(page)
    raise AssertionError(f"no prompt of kind {kind} came")


def send(page: Page) -> None:
    page.wait_for_timeout(LOOK_MS)
    page.locator("#foot").get_by_role("button", name="Send").click()


def bring_one_thing(page: Page) -> None:
    """Found by another name than the label says, with its place in sight."""
    page.get_by_label("Search the rig").fill("bvm")
    first = page.locator(".pick:visible").first
    expect(page.locator(".kit-place:visible h2").first).to_contain_text("C1 ")
    first.get_by_text("1", exact=True).click()
    expect(page.locator(".pick:visible")).not_to_have_count(page.locator(".pick").count())
    page.get_by_label("Search the rig").fill("no such thing")
    expect(page.locator(".pick:visible")).to_have_count(0)
    page.get_by_label("Search the rig").fill("")
    page.get_by_label("Only chosen").check()
    expect(page.locator(".pick:visible")).to_have_count(1)
    expect(page.locator(".kit-place:visible")).to_have_count(1)
    told = page.locator("#foot > p")
    expect(told).to_have_attribute("data-said", "1 chosen")
    page.get_by_label("Only chosen").uncheck()
    page.get_by_text("The rig, drawn: choose a door").click()
    page.locator(".kit-plan a", has_text="C1").first.click()
    expect(page.locator("#kit-C1")).to_be_in_viewport()
    send(page)


@pytest.mark.parametrize("mood", ["day", "night"])
def test_a_multi_patient_call_from_the_first_thing_to_the_debrief(
    open_page: OpenPage, ready: Person, mood: str
) -> None:
    page = open_page(mood=mood)
    sign_in(page, ready)
    page.goto("/boards/drills/")
    page.locator("summary", has_text="Calls and their kits").click()
    page.locator("button[value='multi-patient-first']").click()
    page.get_by_role("button", name="Begin untimed").click()

    until(page, "stage")
    page.get_by_role("button", name="Called away").click()
    expect(page.get_by_text("This drill waits")).to_be_visible()
    page.get_by_role("button", name="Resume").click()
    until(page, "stage")
    bring_one_thing(page)
    expect(page.get_by_text("Not brought")).to_be_visible()
    go_on(page)

    until(page, "dose")
    expect(page.get_by_text("check every dose with your partner")).to_be_visible()
    expect(page.get_by_text("Not for patient care").last).to_be_visible()
    prompt = open_prompt().prompt
    assert prompt is not None
    set_to = problem_in(prompt.answer).solve().results["volume"].rounded
    assert set_to is not None
    drawn = set_to.amount
    page.get_by_label("Amount").fill(f"{float(drawn * 10):g}")
    page.get_by_label("Amount").press("Enter")
    expect(page.get_by_text("came in without a unit").first).to_be_visible()
    expect(page.get_by_label("Amount")).to_have_value(f"{float(drawn * 10):g}")
    page.locator(".units").get_by_text("mL", exact=True).click()
    send(page)
    expect(page.get_by_text("Unsafe").first).to_be_visible()
    expect(page.get_by_text("Worked")).to_be_visible()
    go_on(page)

    for _ in range(MOST_PROMPTS):
        expect(page.locator("[data-asking], .debrief")).to_be_visible()
        if page.locator(".debrief").count():
            break
        give_up(page)
        go_on(page)
        page.wait_for_timeout(LOOK_MS)

    expect(page.get_by_text(re.compile("wrong.* unsafe"))).to_be_visible()
    several, overlaps = page.evaluate(OPENED_ON_EACH_OTHER)
    assert several
    assert overlaps == 0
    expect(page.get_by_text("Not brought").first).to_be_visible()
    expect(page.locator(".bal").first).to_be_visible()
    run = Run.objects.get()
    assert run.presentations.filter(void_reason=VoidReason.CALLED_AWAY).count() == 1
    width = page.evaluate("document.documentElement.scrollWidth")
    assert width == 390
