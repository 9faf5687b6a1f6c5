"""Scan to answer: labels as Chromium prints them, read by a decoder, open on the crew's phone."""

import io

import pytest
from django.test import Client
from PIL import Image
from playwright.sync_api import Page, expect
from zxingcpp import BarcodeFormat, BarcodeFormats, read_barcodes

from drills.competency.models import Evidence
from drills.demo.factories import RecipeFactory, rig_on
from drills.people.models import Person
from drills.rigs.actions import make_labels, pick_rig
from drills.rigs.models import Place, Rig
from drills.rigs.reading import layout_of
from drills.runs.models import PresentationState, Run
from tests.cast import PASSWORD
from tests.journeys.conftest import OpenPage
from tests.layouts import practice_rig
from tests.rigs.conftest import NOW
from tests.runs.player import right

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SHEETS = "/rigs/units/11/labels/sheets/?sheet=a4-2x7&which=all&skip=0"
CODES = BarcodeFormats([BarcodeFormat.QRCode])


@pytest.fixture
def rig(keeper: Person, hire: Person) -> Rig:
    RecipeFactory.create(slug="find-three", name="Find three things", kinds="locate:3")
    rig = rig_on(practice_rig(), unit="11")
    make_labels(rig, list(Place.objects.filter(layout=rig.layout)), by=keeper, now=NOW)
    pick_rig(hire, rig, now=NOW)
    return rig


def printed_addresses(page: Page, server: str, keeper: Person) -> set[str]:
    """What a decoder reads off the printed sheets."""
    client = Client()
    client.force_login(keeper)
    cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": server}
    page.context.add_cookies([cookie])  # type: ignore[list-item]  # a plain cookie
    page.emulate_media(media="print")
    page.goto(SHEETS)
    sheets = page.locator("svg.labelsheet")
    shots = [sheets.nth(each).screenshot(scale="device") for each in range(sheets.count())]
    images = [Image.open(io.BytesIO(shot)).convert("L") for shot in shots]
    bigger = [each.resize((each.width * 3, each.height * 3)) for each in images]
    return {code.text for each in bigger for code in read_barcodes(each, formats=CODES)}


@pytest.mark.parametrize("scripts", [True, False])
def test_three_things_are_found_by_scanning_the_labels_of_their_places(
    open_page: OpenPage, server: str, rig: Rig, hire: Person, keeper: Person, scripts: bool
) -> None:
    addresses = printed_addresses(open_page(size="desk"), server, keeper)
    tokens = dict(rig.labels.values_list("place__key", "token"))
    assert addresses == {f"{server}/rigs/l/{token}/" for token in tokens.values()}
    keys = {each.code: each.key for each in layout_of(rig.revision).compartments}
    page = open_page(scripts=scripts)
    page.goto("/")
    page.get_by_label("Employee number").fill(hire.employee_number)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.goto("/boards/drills/")
    page.locator('button[name="recipe"][value="find-three"]').first.click()
    page.get_by_role("button", name="Begin with labels").click()

    for number in range(3):
        expect(page.get_by_text("Open the place and scan its label")).to_be_visible()
        expect(page.get_by_role("button", name="Send", exact=True)).to_be_hidden()
        waiting = Run.objects.get().presentations.get(state=PresentationState.OPEN)
        code = right(waiting)[0]
        # The camera opens the address on the label, as a page of its own.
        page.goto(f"{server}/rigs/l/{tokens[keys[code]]}/")
        expect(page.get_by_role("heading")).to_contain_text("You have scanned a label")
        page.get_by_role("button", name="Answer with it").click()
        expect(page.get_by_role("button", name="Next")).to_be_visible()
        waiting.refresh_from_db()
        assert (number, waiting.outcome) == (number, "right")
        page.get_by_role("button", name="Next").click()

    expect(page).to_have_url(f"{server}/runs/{Run.objects.get().pk}/debrief/")
    assert {row.modality for row in Evidence.objects.all()} == {"scan"}
