"""A mark is contested from the debrief, and an FTO upholds or voids it."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from drills.competency.reports import knowledge_of
from drills.demo.factories import RecipeFactory, rig_on
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import pick_rig
from drills.runs.models import Contest, Run, Verdict
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in
from tests.layouts import practice_rig
from tests.runs.assignments import taken
from tests.runs.player import wrong

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

REASON, LOOKED = "It hangs on the other hook today", "I went and looked"


@pytest.fixture
def run(hire: Person, fto: Person) -> Run:
    """A finished run of the hire's in which every answer was wrong."""
    rig = rig_on(practice_rig(), unit="11")
    pick_rig(hire, rig, now=timezone.now())
    recipe = RecipeFactory.create(slug="five", name="Find five", kinds="locate:5")
    now = timezone.now() - timedelta(minutes=10)
    return taken(hire, recipe, rig, now=now, choose=wrong)


def observed(person: Person, run: Run) -> int:
    """How many answers are known of a person on the layout."""
    layout = run.drill.revision.layout
    known = knowledge_of(person, layout=layout, now=timezone.now())
    return sum(map(len, known.observations.values()))


@pytest.mark.parametrize(
    ("verdict", "scripts"),
    [(Verdict.VOIDED, True), (Verdict.VOIDED, False), (Verdict.UPHELD, False)],
    ids=["voided", "voided-without-scripts", "upheld-without-scripts"],
)
def test_from_the_debrief_to_the_decision_and_back(
    open_page: OpenPage, hire: Person, fto: Person, run: Run, verdict: Verdict, scripts: bool
) -> None:
    before = observed(hire, run)
    debrief = reverse("runs:debrief", args=[run.pk])
    page = open_page(scripts=scripts)
    sign_in(page, hire)
    page.goto(debrief)
    misses = page.locator(".miss").count()
    last = page.locator(".miss").last
    last.locator("summary").first.click()
    last.locator("summary", has_text="Contest this mark").click()
    last.get_by_label("What is wrong with it?").fill(REASON)
    last.get_by_role("button", name="Contest", exact=True).click()
    expect(page.get_by_text("Waits for an FTO or an educator.")).to_be_in_viewport()
    assert page.evaluate("scrollY") > 0
    page.context.close()

    officer = open_page(size="desk", scripts=scripts)
    sign_in(officer, fto)
    officer.get_by_role("link", name="1 contested mark waits").click()
    expect(officer.get_by_text(REASON)).to_be_visible()
    officer.get_by_label("Your answer, which they read").fill(LOOKED)
    press = "Void the answer" if verdict == Verdict.VOIDED else "Uphold the mark"
    officer.get_by_role("button", name=press).click()
    expect(officer.get_by_text("Nothing waits.")).to_be_visible()
    officer.context.close()

    page = open_page(scripts=scripts)
    sign_in(page, hire)
    page.goto(debrief)
    expect(page.get_by_text(LOOKED)).to_be_visible()
    is_voided = verdict == Verdict.VOIDED
    expect(page.get_by_text("Voided after a contest")).to_have_count(int(is_voided))
    expect(page.locator(".miss")).to_have_count(misses - is_voided)
    assert Contest.objects.get().verdict == verdict
    assert (observed(hire, run) < before) is is_voided
    assert AuditEntry.objects.get(action="decide contest").before == {
        "outcome": "wrong",
        "marks": 0,
    }
