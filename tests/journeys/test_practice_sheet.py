"""A sheet of problems as it is printed: so many on a page that it is worth the paper."""

import pytest
from django.urls import reverse

from drills.people.models import Person
from drills.rigs.models import Rig
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import rig as rig
from tests.journeys.test_first_drill import sign_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# A page of Letter without its margins of 12 mm, in px of CSS; A4 is taller.
WIDTH, HEIGHT = 725, 965
LEAST_ROOM = 100
MEASURE = """() => {
  const problems = [...document.querySelectorAll(".problems .sums > li")];
  const box = (each) => each.getBoundingClientRect();
  return {
    fourth: box(problems[3]).bottom - box(document.querySelector(".problems")).top,
    room: Math.min(...problems.map((each) => box(each.querySelector(".room")).height)),
    breaks: getComputedStyle(document.querySelector(".problems")).breakAfter,
  };
}"""


@pytest.mark.parametrize("grade", ["1", "3"])
def test_four_problems_fit_a_page_each_with_room_to_work(
    open_page: OpenPage, hire: Person, rig: Rig, grade: str
) -> None:
    """The answers begin a page of their own."""
    page = open_page()
    sign_in(page, hire)
    page.wait_for_url("**/boards/**")
    wish = f"layout={rig.layout.slug}&what=sums&grade={grade}&rule=shown&count=8&seed=3"
    page.goto(f"{reverse('boards:practice_sheet')}?{wish}")
    page.set_viewport_size({"width": WIDTH, "height": HEIGHT})
    page.emulate_media(media="print")

    found = page.evaluate(MEASURE)

    assert found["fourth"] <= HEIGHT
    assert found["room"] >= LEAST_ROOM
    assert found["breaks"] == "page"
