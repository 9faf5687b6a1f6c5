"""A layout as a printer gets it."""

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from drills.demo.factories import RecipeFactory, rig_on
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.actions import start_run
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in
from tests.layouts import demo_layout, practice_rig
from tests.runs.player import Player, right, wrong

INK = """() => {
  const at = getComputedStyle(document.querySelector('.facepage .cell'));
  return [at.color, at.backgroundColor, getComputedStyle(document.documentElement).backgroundColor];
}"""

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def box(db: None) -> Rig:
    return rig_on(demo_layout("mesa-box"), unit="11")


@pytest.mark.parametrize("mood", ["day", "night"])
def test_paper_is_black_on_white_whatever_the_mood(
    open_page: OpenPage, hire: Person, box: Rig, mood: str
) -> None:
    page = open_page(size="desk", mood=mood)
    sign_in(page, hire)
    expect(page.get_by_role("link", name="Choose")).to_be_visible()
    page.goto("/rigs/mesa-box/revisions/1/paper/")
    page.emulate_media(media="print")

    assert page.evaluate(INK) == ["rgb(0, 0, 0)", "rgb(255, 255, 255)", "rgb(255, 255, 255)"]
    expect(page.get_by_role("link", name="Back to the drawing")).to_be_hidden()
    expect(page.get_by_role("link", name="Today")).to_be_hidden()


def test_a_search_prints_nothing_that_lies_behind_a_lock(
    open_page: OpenPage, hire: Person, box: Rig
) -> None:
    page = open_page(size="desk")
    sign_in(page, hire)
    expect(page.get_by_role("link", name="Choose")).to_be_visible()
    page.goto("/rigs/mesa-box/?find=fentanyl&open=D1")
    found = page.locator(".founds b", has_text="Fentanyl")
    line = page.locator(".lines").get_by_text("Fentanyl")
    expect(found).to_be_visible()
    expect(line).to_be_visible()

    page.emulate_media(media="print")

    expect(found).to_be_hidden()
    expect(line).to_be_hidden()


def test_a_debrief_prints_no_place_behind_a_lock(open_page: OpenPage, hire: Person) -> None:
    rig = rig_on(practice_rig(), unit="12")
    recipe = RecipeFactory.create(slug="all", kinds="locate:10")
    now = timezone.now()
    run = start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=now, seed=3)
    Player(run, now).finish(lambda each: right(each) if each.is_retry else wrong(each))
    page = open_page(size="desk")
    sign_in(page, hire)
    expect(page.get_by_role("link", name="Choose")).to_be_visible()
    page.goto(reverse("runs:debrief", args=[run.pk]))
    page.evaluate("document.querySelectorAll('.miss').forEach((each) => { each.open = true; })")
    locked = page.locator(".miss b").get_by_text("I1 Wall cabinet › Locked drawer")
    open_ones = page.locator(".miss b", has_text="S1 Street cabinet").first
    assert locked.count()
    for each in locked.all():
        expect(each).to_be_visible()

    page.emulate_media(media="print")

    for each in locked.all():
        expect(each).to_be_hidden()
    expect(open_ones).to_be_visible()
