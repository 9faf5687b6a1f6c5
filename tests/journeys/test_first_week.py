"""A service's first week: people in, drills given and reviewed, a weak spot seen, one leaves."""

import csv
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from drills.demo.factories import RecipeFactory, rig_on
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.models import Assigned, Run
from drills.scenarios.models import Recipe
from tests.boards.conftest import move_the_bag
from tests.boards.test_educator import by_habit, take
from tests.cast import PASSWORD
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_sign_in import CODE, OWN, send, sign_in
from tests.layouts import practice_rig

PEOPLE = 6
HEAD = "employee number,name,roles,cohort,fto\n"
COMES = HEAD + "".join(
    f"N{number},Nia Newcomer {number},crew,Spring intake,FTO\n" for number in range(1, PEOPLE + 1)
)
LEAVES = "employee number,name,leaves\nN1,Nia Newcomer 1,yes\n"

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def rig(db: None) -> Rig:
    """A rig whose bag moved yesterday, and one drill."""
    RecipeFactory.create(
        slug="find-ten", name="Find ten", kinds="locate:10", pass_marks_percent=90, minutes=2
    )
    rig = rig_on(practice_rig(), unit="11")
    move_the_bag(rig)
    return rig


def slip_of(page: Page, name: str) -> str:
    page.get_by_role("button", name="Slips").click()
    return str(CODE.findall(page.locator(".paper", has_text=name).inner_text())[0])


def first_sign_in(page: Page, number: str, code: str) -> None:
    sign_in(page, number, code)
    page.get_by_label("New password", exact=True).fill(OWN)
    page.get_by_label("New password once more").fill(OWN)
    page.get_by_role("button", name="Keep it and go in").click()
    expect(page.get_by_text("That is your password from now on.")).to_be_visible()


def assign_to_the_intake(page: Page) -> None:
    page.goto("/")
    page.get_by_role("link", name="Assign a drill").click()
    page.get_by_text("Spring intake").click()
    page.get_by_text("Find ten").click()
    page.get_by_role("button", name="Assign", exact=True).click()
    expect(page.get_by_text(f"Assigned: Find ten to {PEOPLE} people")).to_be_visible()


def give_up_on_every_prompt(page: Page) -> None:
    """What was assigned is begun from Today, and nothing is known yet."""
    page.goto("/")
    page.get_by_role("link", name="Choose").click()
    page.get_by_role("button", name="I ride it").first.click()
    expect(page.get_by_role("link", name="Study walk").first).to_be_visible()
    page.goto("/")
    page.get_by_role("button", name="Start").first.click()
    page.get_by_role("button", name="Begin untimed").click()
    for _ in range(10 * 3):
        expect(page.locator("[data-asking], .debrief")).to_be_visible()
        if page.locator(".debrief").count():
            break
        page.locator("summary:visible", has_text="Cannot answer").click()
        page.get_by_role("button", name="I do not know").click()
        page.get_by_role("button", name="Next").click()
    expect(page.get_by_text("not met: marks 0 of 100, 90 asked")).to_be_visible()


@pytest.mark.parametrize("mood", ["day", "night"])
def test_from_the_roster_to_the_weak_spot(
    open_page: OpenPage,
    admin: Person,
    educator: Person,
    fto: Person,
    rig: Rig,
    tmp_path: Path,
    mood: str,
) -> None:
    office, doors = open_page(size="desk", mood=mood), open_page(size="desk", mood=mood)
    phone = open_page(mood=mood)
    sign_in(office, "ADMIN", PASSWORD)
    send(office, COMES)
    first_sign_in(phone, "N1", slip_of(office, "Nia Newcomer 1"))

    sign_in(doors, "FTO", PASSWORD)
    assign_to_the_intake(doors)
    give_up_on_every_prompt(phone)
    recipe = Recipe.objects.get()
    for number in range(2, PEOPLE + 1):
        person = Person.objects.get(employee_number=f"N{number}")
        take(person, rig, recipe, by_habit)

    doors.reload()
    expect(doors.get_by_text("not met yet").first).to_be_visible()
    doors.locator("tr", has_text="Nia Newcomer 1").get_by_role("link", name="Nia").click()
    expect(doors.get_by_text("Assigned by Ola Field")).to_be_visible()
    assert Assigned.objects.filter(runs__isnull=False).distinct().count() == PEOPLE

    phone.get_by_text("Contest this mark").first.click()
    phone.get_by_label("What is wrong with it?").first.fill("It hangs elsewhere today")
    phone.get_by_role("button", name="Contest", exact=True).first.click()
    expect(phone.get_by_text("Waits for an FTO or an educator").first).to_be_visible()
    doors.goto("/runs/contests/")
    doors.get_by_label("Your answer, which they read").fill("Looked: it does")
    doors.get_by_role("button", name="Void the answer").click()
    expect(doors.get_by_text("Nothing waits")).to_be_visible()

    desk = open_page(size="desk", mood=mood)
    sign_in(desk, "EDUCATOR", PASSWORD)
    expect(desk.locator(".weakest")).to_contain_text("look in the old place")
    with desk.expect_download() as download:
        desk.get_by_role("link", name="Export CSV").click()
    download.value.save_as(tmp_path / "missed.csv")
    with (tmp_path / "missed.csv").open(encoding="utf-8-sig", newline="") as file:
        assert any("Response bag" in cell for row in csv.reader(file) for cell in row)

    send(office, LEAVES)
    phone.goto("/")
    expect(phone.get_by_role("button", name="Sign in")).to_be_visible()
    assert Run.objects.filter(person__employee_number="N1").exists()
