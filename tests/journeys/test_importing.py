"""A keeper sends a workbook in a real browser, and sees that it is being read."""

from time import sleep

import pytest
from django.urls import reverse
from playwright.sync_api import FilePayload, expect

from drills.demo.factories import rig_on
from drills.engine.workbook import Parsed, read_workbook, to_zip
from drills.people.models import Person
from drills.rigs.models import Revision
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in
from tests.layouts import practice_rig
from tests.rigs.test_keep_places import RECODED

# Playwright looks at no page that another one is about to follow.
KEEP_WHAT_IS_SAID = """
const status = document.querySelector("form[data-reading] [role=status]");
new MutationObserver(() => { sessionStorage.said = status.textContent; })
  .observe(status, {childList: true, subtree: true});
"""

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def slowly(data: bytes, *, name: str) -> Parsed:
    """Read it in a while that a large workbook would take."""
    sleep(2)
    return read_workbook(data, name=name)


def test_the_page_says_what_is_read_and_then_asks_which_places_are_the_same(
    open_page: OpenPage, keeper: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("drills.rigs.views.drafts.read_workbook", slowly)
    rig_on(practice_rig(), unit="11")
    page = open_page()
    sign_in(page, keeper)
    page.goto(reverse("rigs:import"))
    workbook: FilePayload = {
        "name": "rig.zip",
        "mimeType": "application/zip",
        "buffer": to_zip(RECODED),
    }
    page.get_by_label(".xlsx, or .zip").set_input_files(workbook)

    page.evaluate(KEEP_WHAT_IS_SAID)
    page.get_by_role("button", name="Read it").click()

    expect(page.get_by_role("heading", name="New, or the same place?")).to_be_visible()
    page.get_by_label("Z1 Upper drawer, in").select_option("I1A")
    page.get_by_label("Z2 Lower shelf, in").select_option("S1A")
    page.get_by_role("button", name="Keep what people know of these").click()
    expect(page.get_by_text("What people know of them stays.")).to_be_visible()
    said = page.evaluate("sessionStorage.said")
    assert "Reading rig.zip, 2 kB. Large ones take some seconds." in said
    assert said.endswith(" s so far.")
    draft = Revision.objects.get(number=2)
    assert draft.compartments.get(code="Z1").place.key == "I1A"
