"""The new hire's first morning: sign in, walk a cabinet, take a drill, be called away, debrief."""

from datetime import timedelta
from typing import Any

import pytest
from django.db.models import QuerySet
from playwright.sync_api import Page, expect

from drills.demo.factories import RecipeFactory, rig_on
from drills.engine.recipes import LOCATE
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.rigs.reading import layout_of
from drills.runs.models import Presentation, PresentationState, Run, RunState
from tests.cast import PASSWORD
from tests.journeys.conftest import OpenPage
from tests.layouts import practice_rig
from tests.runs.player import right, wrong

# Quicker than this is quicker than a person, and the server would not believe it.
LOOK_MS = 350

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def rig(db: None) -> Rig:
    RecipeFactory.create(slug="one-cabinet", name="One cabinet", kinds="locate:4;contents:1")
    RecipeFactory.create(slug="find-ten", name="Find ten things", kinds="locate:4;contents:1")
    return rig_on(practice_rig(), unit="11")


def sign_in(page: Page, person: Person) -> None:
    page.goto("/")
    page.get_by_label("Employee number").fill(person.employee_number)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def choose_rig_and_walk_a_cabinet(page: Page) -> None:
    page.get_by_role("link", name="Choose").click()
    page.get_by_role("button", name="I ride it").first.click()
    page.get_by_role("link", name="Study walk").first.click()
    page.get_by_role("link", name="Start at S1").click()
    expect(page.get_by_text("Response bag").first).to_be_visible()
    expect(page.get_by_text("Tourniquet").first).to_be_visible()


def open_prompt(run: Run) -> Presentation:
    found = run.presentations.select_related("prompt", "run__drill__revision").get(
        state=PresentationState.OPEN
    )
    return found


def choose(page: Page, presentation: Presentation, keys: list[str]) -> None:
    """Choose as a finger does: the face, the door, then what lies in it."""
    run, prompt = presentation.run, presentation.prompt
    if prompt is not None and prompt.kind != LOCATE:
        for key in keys:
            page.locator(f'label:has(input[value="{run.token_for(key)}"])').click()
        return
    layout = layout_of(run.drill.revision)
    chain = layout.chain(keys[0])
    face = page.locator(f".kp-{layout.face_of(chain[0].code)}")
    if face.is_visible():  # a desk shows every face at once
        face.click()
    for each in chain:
        token = run.token_for(each.code)
        page.locator(f'label:has(input[value="{token}"]):visible').first.click()


def answer(page: Page, run: Run, keys: list[str]) -> None:
    presentation = open_prompt(run)
    page.wait_for_timeout(LOOK_MS)
    choose(page, presentation, keys)
    # Of a pocket that holds the whole category nothing wrong can be chosen.
    send = page.locator("#foot").get_by_role("button", name="Send")
    if keys:
        send.click()
    else:
        say_unknown(page)
    state = Presentation.objects.filter(pk=presentation.pk, state=PresentationState.ANSWERED)
    wait_for(page, lambda: state.exists())


def say_unknown(page: Page) -> None:
    """Two steps, so that no slip of a finger gives an answer away."""
    unknown = page.get_by_role("button", name="I do not know")
    expect(unknown).to_be_hidden()
    page.locator("summary:visible", has_text="Cannot answer").click()
    unknown.click()


def wait_for(page: Page, happened: Any) -> None:
    for _ in range(100):
        if happened():
            return
        page.wait_for_timeout(50)
    raise AssertionError(page.locator("main").inner_text())


def warm_up(page: Page, run: Run) -> None:
    while (presentation := open_prompt(run)).is_warm_up:
        answer(page, run, [presentation.subject])
        wait_for(page, lambda: run.presentations.filter(state=PresentationState.OPEN).exists())
        expect(page.locator('[data-asking] input[name="token"]')).to_have_value(
            open_prompt(run).token
        )


@pytest.mark.parametrize(
    ("mood", "scripts", "size"),
    [
        ("day", True, "phone"),
        ("night", True, "desk"),
        ("night", False, "phone"),
        ("day", False, "desk"),
    ],
    ids=["day-phone", "night-desk", "night-phone-without-scripts", "day-desk-without-scripts"],
)
def test_from_sign_in_to_debrief(
    open_page: OpenPage, hire: Person, rig: Rig, mood: str, scripts: bool, size: str
) -> None:
    page = open_page(size=size, mood=mood, scripts=scripts)
    sign_in(page, hire)
    choose_rig_and_walk_a_cabinet(page)

    page.goto("/boards/drills/")
    page.get_by_role("button", name="Start Find ten things").click()
    page.get_by_role("button", name="Begin", exact=True).click()
    expect(page.locator("[data-asking]")).to_be_visible()
    run = Run.objects.get()
    warm_up(page, run)

    answer(page, run, wrong(open_prompt(run)))
    expect(page.locator("#ask")).to_contain_text("Wrong")
    expect(page.get_by_text("This one is asked again.")).to_be_visible()
    page.get_by_role("button", name="Next").click()
    expect(page.locator("[data-asking]")).to_be_visible()

    page.get_by_role("button", name="Called away").click()
    expect(page.get_by_text("Go. This drill waits.")).to_be_visible()
    page.context.close()
    another_day(run)

    page = open_page(size=size, mood=mood, scripts=scripts)
    sign_in(page, hire)
    page.get_by_role("button", name="Resume").click()
    finish(page, run)

    expect(page.get_by_text("1 wrong")).to_be_visible()
    expect(page.locator(".miss")).to_have_count(1)
    run.refresh_from_db()
    assert run.state == RunState.FINISHED
    timed = run.presentations.filter(prompt__isnull=False, state=PresentationState.ANSWERED)
    assert {each.time_state for each in timed} == {"verified" if scripts else "unverified"}


def another_day(run: Run) -> None:
    """Yesterday, as far as the database knows."""
    for each in run.presentations.all():
        each.served_at -= timedelta(days=1)
        each.received_at = each.received_at and each.received_at - timedelta(days=1)
        each.save(update_fields=["served_at", "received_at"])


def finish(page: Page, run: Run) -> None:
    """Answer the rest right, feedback after feedback."""
    for _ in range(12):
        expect(page.locator("[data-asking]")).to_be_visible()
        answer(page, run, right(open_prompt(run)))
        expect(page.locator("#ask")).to_contain_text("Right")
        page.get_by_role("button", name="Next").click()
        wait_for(page, lambda: moved_on(run))
        run.refresh_from_db()
        if run.state == RunState.FINISHED:
            page.wait_for_url("**/debrief/")
            return
    raise AssertionError("the run does not end")


def moved_on(run: Run) -> bool:
    run.refresh_from_db()
    is_open = run.presentations.filter(state=PresentationState.OPEN).exists()
    return run.state == RunState.FINISHED or is_open


def others_open(run: Run, but: Presentation) -> QuerySet[Presentation]:
    """Between one prompt that is voided and the next there is a moment without any."""
    return run.presentations.filter(state=PresentationState.OPEN).exclude(pk=but.pk)


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no-scripts"])
def test_giving_an_answer_up_takes_two_steps(
    open_page: OpenPage, hire: Person, rig: Rig, scripts: bool
) -> None:
    page = open_page(scripts=scripts)
    sign_in(page, hire)
    choose_rig_and_walk_a_cabinet(page)
    page.goto("/boards/drills/")
    page.get_by_role("button", name="Start Find ten things").click()
    page.get_by_role("button", name="Begin untimed").click()
    expect(page.locator("[data-asking]")).to_be_visible()
    run = Run.objects.get()
    first = open_prompt(run)

    expect(page.get_by_role("button", name="Gloves")).to_be_hidden()
    expect(page.get_by_role("button", name="Not where the layout says")).to_be_hidden()
    say_unknown(page)
    expect(page.locator("#ask")).to_contain_text("Wrong")
    first.refresh_from_db()
    assert (first.state, first.answer) == (PresentationState.ANSWERED, [])

    expect(page.get_by_role("button", name="Gloves")).to_be_visible()
    page.get_by_role("button", name="Next").click()
    expect(page.locator("[data-asking]")).to_be_visible()
    second = open_prompt(run)
    page.locator("summary:visible", has_text="Cannot answer").click()
    page.get_by_role("button", name="Not where the layout says").click()
    wait_for(page, lambda: others_open(run, second).exists())
    expect(page.get_by_role("button", name="I do not know")).to_be_hidden()
    second.refresh_from_db()
    assert second.state == PresentationState.VOID
