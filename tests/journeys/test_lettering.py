"""Names on a drawing: none is cut in the middle of a word, and none is missing."""

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from drills.demo.factories import rig_on
from drills.engine.workbook import read_workbook
from drills.rigs.actions import pick_rig
from tests.cast import make_hire
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in
from tests.layouts import FIXTURES

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# Names in sight with a word that is wider than what they are written in.
CUT = """() => {
  const pen = document.createElement("canvas").getContext("2d"), found = [];
  document.querySelectorAll(".bay > .cell > .nm").forEach((name) => {
    const style = getComputedStyle(name);
    if (style.position === "absolute" || !name.clientWidth) { return; }
    pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
    const words = name.firstChild.textContent.trim().split(/[\\s-]+/);
    if (words.some((word) => pen.measureText(word).width > name.clientWidth + 1)) {
      found.push(name.textContent);
    }
  });
  return found;
}"""
# Codes of what is in sight without its name.
LEFT_OUT = """() => Array.from(document.querySelectorAll(".bay > .cell > .nm"))
  .filter((name) => getComputedStyle(name).position === "absolute")
  .filter((name) => name.parentNode.checkVisibility({ visibilityProperty: true }))
  .map((name) => name.parentNode.querySelector(".code").textContent)"""


@pytest.mark.parametrize("size", ["phone", "desk"])
@pytest.mark.parametrize("name", ["mesa-box", "arroyo-van"])
def test_no_word_is_cut_and_what_is_left_out_stands_beneath(
    open_page: OpenPage, name: str, size: str
) -> None:
    layout = read_workbook(FIXTURES / "layouts" / name, name=name).layout
    assert layout is not None
    hire = make_hire()
    pick_rig(hire, rig_on(layout, unit="204"), now=timezone.now())
    page = open_page(size=size)
    sign_in(page, hire)
    page.goto(f"/rigs/{name}/")
    keys = page.locator(".keyplan label:visible")
    for number in range(max(keys.count(), 1)):
        if keys.count():
            keys.nth(number).click()
        assert page.evaluate(CUT) == []
    for code in page.evaluate(LEFT_OUT):
        expect(page.locator(".keyed > span:visible b", has_text=code).first).to_be_visible()
