"""Sheets as Chromium prints them, read by a decoder: off the paper, and as a phone sees them."""

import io
import random
import re
from collections.abc import Iterator

import pytest
from django.test import Client
from PIL import Image, ImageFilter
from playwright.sync_api import Browser, Page
from zxingcpp import BarcodeFormat, BarcodeFormats, read_barcodes

from drills.demo.factories import rig_on
from drills.engine.labels import (
    ARM,
    FORMATS,
    FRAME_PX,
    PHOTO_PX,
    SheetFormat,
    module_of,
    pixels_per_mm,
    read_from,
)
from drills.people.models import Person
from drills.rigs.actions import make_labels
from drills.rigs.models import Place, Rig
from tests.journeys.conftest import PATIENCE_MS
from tests.layouts import practice_rig
from tests.rigs.conftest import NOW

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

DPI, CSS_DPI, INCH = 300, 96, 25.4
PLACES = ["S1", "S1A", "BAG", "BAG-L", "BAG-M", "I1", "I1A", "I1B", "P1"]
ON_FIRST = 4  # so many on the last labels of the first sheet, the rest on the second
MOST_PHOTOS, MOST_FRAMES = 2, 12  # 12 frames are half a second of a phone's
# What lens and light add to a frame: blur in pixels, and a part of noise; ours, no source.
SHARP, BLURRED, NOISE = 0.5, 1.0, 0.1

SIZES = """all => all.map(each => {
    const box = each.getBoundingClientRect(); return [box.width, box.height] })"""
BOXES = """all => all.map(each => {
    const box = each.getBBox(); return [box.x, box.y, box.width, box.height] })"""

CODES = BarcodeFormats([BarcodeFormat.QRCode])

by_format = pytest.mark.parametrize("form", FORMATS.values(), ids=FORMATS.keys())


@pytest.fixture
def rig(keeper: Person) -> Rig:
    rig = rig_on(practice_rig(), unit="11")
    make_labels(rig, list(Place.objects.filter(layout=rig.layout)), by=keeper, now=NOW)
    return rig


@pytest.fixture
def paper(browser: Browser, server: str, rig: Rig, keeper: Person) -> Iterator[Page]:
    """The keeper's browser, showing what would be printed with 300 dots to the inch."""
    client = Client()
    client.force_login(keeper)
    context = browser.new_context(
        base_url=server,
        viewport={"width": 900, "height": 1200},
        device_scale_factor=DPI / CSS_DPI,
    )
    cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": server}
    context.add_cookies([cookie])  # type: ignore[list-item]  # a plain cookie
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    page.emulate_media(media="print")
    yield page
    context.close()


def open_sheets(page: Page, form: SheetFormat) -> None:
    page.goto(
        f"/rigs/units/11/labels/sheets/?sheet={form.key}&which=all&skip={form.count - ON_FIRST}"
    )


def photographed(page: Page) -> list[Image.Image]:
    """Each sheet on its own, as grey dots."""
    sheets = page.locator("svg.labelsheet")
    shots = [sheets.nth(each).screenshot() for each in range(sheets.count())]
    return [Image.open(io.BytesIO(shot)).convert("L") for shot in shots]


def addresses(rig: Rig, server: str) -> list[str]:
    """Where the labels lead, in the order of the workbook."""
    tokens = dict(rig.labels.values_list("place__key", "token"))
    return [f"{server}/rigs/l/{tokens[key]}/" for key in PLACES]


def read_in_order(sheet: Image.Image) -> list[str]:
    """What the codes say, row by row."""
    found = read_barcodes(sheet, formats=CODES)
    row = DPI / 2
    at = [(code.position.top_left, code.text) for code in found]
    return [text for _, text in sorted(at, key=lambda each: (each[0].y // row, each[0].x))]


def seen(sheet: Image.Image, per_mm: float, *, blur: float, chance: random.Random) -> Image.Image:
    """The sheet in the frame of a phone: held askew, in poor light, with so many pixels a mm."""
    angle, smaller = chance.uniform(-12, 12), per_mm * INCH / DPI
    askew = sheet.rotate(angle, Image.Resampling.BICUBIC, expand=True, fillcolor=255)
    size = round(askew.width * smaller), round(askew.height * smaller)
    frame = askew.resize(size, Image.Resampling.BOX).filter(ImageFilter.GaussianBlur(blur))
    poor = frame.point(lambda value: 50 + value * 150 // 255)
    noise = Image.frombytes("L", size, chance.randbytes(size[0] * size[1]))
    return Image.blend(poor, noise, NOISE)


def texts(picture: Image.Image) -> set[str]:
    return {code.text for code in read_barcodes(picture, formats=CODES)}


@by_format
def test_a_printed_sheet_is_read_off_the_paper_and_by_a_phone(
    paper: Page, rig: Rig, server: str, form: SheetFormat
) -> None:
    """Off the paper each code is that of the place beside it. Two photos of 12 megapixels from 60
    cm show all of them, out of focus where the page promises arm's length. From as far as the page
    says, in full HD, no frame need show them all, but half a second of frames does."""
    chance = random.Random(form.key)  # noqa: S311  # the same pictures every time
    open_sheets(paper, form)
    all_of_them = addresses(rig, server)
    expected = [all_of_them[:ON_FIRST], all_of_them[ON_FIRST:]]

    sheets = photographed(paper)

    assert [read_in_order(sheet) for sheet in sheets] == expected
    reach = read_from(module_of(form.side, _modules(paper)))
    blur = BLURRED if reach >= ARM else SHARP
    photo, frame = pixels_per_mm(ARM, PHOTO_PX), pixels_per_mm(reach, FRAME_PX)
    for sheet, there in zip(sheets, expected, strict=True):
        for per_mm, out_of_focus, most in ((photo, blur, MOST_PHOTOS), (frame, SHARP, MOST_FRAMES)):
            found = set[str]()
            for _ in range(most):
                found |= texts(seen(sheet, per_mm, blur=out_of_focus, chance=chance))
                if found >= set(there):
                    break
            assert found == set(there)


def test_a_sheet_is_printed_as_large_as_it_is_with_its_words_on_the_labels(paper: Page) -> None:
    """In the browser's own letters; and no empty page follows in a PDF, whose pages are the
    paper's size within half a point."""
    for form in FORMATS.values():
        open_sheets(paper, form)
        sizes = paper.locator("svg.labelsheet").evaluate_all(SIZES)
        boxes = paper.locator("svg.labelsheet text").evaluate_all(BOXES)
        pages = re.findall(
            rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", paper.pdf(prefer_css_page_size=True)
        )

        for size in sizes:
            assert [side / CSS_DPI * INCH for side in size] == pytest.approx(form.page, abs=0.05)
        assert len(boxes) >= 3 * len(PLACES)
        for x, y, width, height in boxes:
            assert form.words_at - 0.01 <= x <= form.width - width, form.key
            assert 0 <= y <= form.height - height, form.key
        assert len(pages) == len(sizes) == 2
        for page in pages:
            points = [float(side) / 72 * INCH for side in page]
            assert points == pytest.approx(form.page, abs=0.2)


def _modules(page: Page) -> int:
    """Modules a side of the first code, from what is drawn."""
    path = page.locator("svg.labelsheet path.ink").first
    width: float = path.evaluate("each => each.getBBox().width")
    return round(width)
