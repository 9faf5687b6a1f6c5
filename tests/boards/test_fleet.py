"""What a cohort and the fleet would find of each call type: in figures, and nobody by name."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.core.cache import cache
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.boards.fleet import FleetBoard, fleet_board
from drills.boards.readiness import readiness_board
from drills.competency.actions import void_evidence
from drills.competency.models import Evidence
from drills.demo.factories import PersonFactory
from drills.engine.scoring import RIGHT, WRONG
from drills.people.models import Cohort, Person, Role
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.scenarios.models import CallType
from tests.boards.test_readiness import answered
from tests.calls import bleeding_call
from tests.runs.conftest import ClientOf

pytestmark = pytest.mark.django_db
Crew = Callable[..., list[Person]]


@pytest.fixture(autouse=True)
def _nothing_kept() -> None:
    cache.clear()


@pytest.fixture
def call(rig: Rig) -> CallType:
    return bleeding_call(rig.revision)


@pytest.fixture
def crew(call: CallType, rig: Rig) -> Crew:
    """So many people on a rig, the first of whom missed the splint the more often."""

    def made(count: int, *, on: Rig = rig, first: int = 0) -> list[Person]:
        people = []
        for number in range(first, first + count):
            person = PersonFactory.create(employee_number=f"C{number}", roles=[Role.CREW])
            pick_rig(person, on, now=timezone.now())
            answered(person, rig, RIGHT, "tourniquet", "splint", times=12)
            answered(person, rig, WRONG, "splint", "tourniquet", "splint", times=4 - number % 4)
            people.append(person)
        return people

    return made


def board(cohort: Cohort | None = None, **more: Any) -> FleetBoard:
    return fleet_board(cohort, more.get("revision"), now=timezone.now())


def test_the_median_and_the_quarters_are_of_what_each_page_says(
    crew: Crew, educator: Person
) -> None:
    people = crew(4)
    chances = []
    for each in people:
        (row,) = readiness_board(each, viewer=educator, now=timezone.now()).told
        chances.append(row.said.chance or 0.0)

    (found,) = board().calls
    told = found.told

    one, two, three, four = sorted(chances)
    assert one < two < three < four
    assert (told.told, told.untold, told.share_told) == (4, 0, 100)
    assert told.median == pytest.approx((two + three) / 2, abs=1e-3)
    assert told.lowest == pytest.approx(one + 0.75 * (two - one), abs=1e-3)
    assert told.highest == pytest.approx(three + 0.25 * (four - three), abs=1e-3)


def test_who_has_too_little_evidence_is_counted_and_nothing_else(
    crew: Crew, hire: Person, rig: Rig
) -> None:
    crew(3)
    before = board().calls[0].told
    pick_rig(hire, rig, now=timezone.now())

    told = board().calls[0].told

    assert (told.told, told.untold, told.share_told) == (3, 1, 75)
    assert (told.median, told.lowest) == (before.median, before.lowest)


def test_of_fewer_than_three_people_nothing_is_said(
    crew: Crew, educator: Person, client_of: ClientOf
) -> None:
    crew(2)

    (row,) = board().calls

    assert (row.told.told, row.told.median, row.shown) == (2, None, None)
    content = client_of(educator).get(reverse("boards:calls")).content.decode()
    assert "fewer than three people" in content
    assert "svg class=" not in content


def test_who_rides_no_rig_is_told_and_counts_on_a_layout(
    crew: Crew, rig: Rig, hire: Person
) -> None:
    crew(3)
    assert (board().people, board().rigless) == (3, 1)
    whole = board(revision=rig.revision)
    assert (whole.people, whole.rigless) == (4, 0)
    assert whole.calls[0].told.untold == 1
    assert not whole.parts


def test_a_cohort_is_who_is_in_it(crew: Crew) -> None:
    people = crew(4)
    cohort = Cohort.objects.create(name="Autumn", slug="autumn")
    cohort.members.set(people[:3])
    assert board(cohort).calls[0].told.of == 3


def test_a_rig_stands_by_itself_where_three_ride_it_and_others_ride_others(
    crew: Crew, rig: Rig
) -> None:
    other = Rig.objects.create(unit="12", layout=rig.layout, revision=rig.revision)
    crew(3)
    assert [(part.is_rig, part.people) for part in board().parts] == [(False, 3)]
    crew(2, on=other, first=3)

    parts = board().parts

    assert [(part.name, part.people) for part in parts] == [(str(rig.revision), 5), (str(rig), 3)]
    assert parts[0].least[0][0].slug == "bleeding"


def test_what_is_kept_is_given_up_once_an_answer_comes_or_goes(crew: Crew, rig: Rig) -> None:
    people = crew(3)
    before = board()
    assert board() == before

    answered(people[0], rig, WRONG, "splint", "splint", times=5)
    after = board()
    assert after.calls[0].told.lowest != before.calls[0].told.lowest

    given = Evidence.objects.filter(source__contains="splint+splint")
    for source in set(given.values_list("source", flat=True)):
        void_evidence(source, by="x", now=timezone.now())
    assert board().calls[0].told.lowest == pytest.approx(before.calls[0].told.lowest, abs=1e-3)


def test_the_queries_do_not_grow_with_the_people(
    crew: Crew, django_assert_num_queries: Any
) -> None:
    crew(3)
    with django_assert_num_queries(17):
        board()
    cache.clear()
    crew(9, first=3)
    with django_assert_num_queries(17):
        board()


def test_nobody_is_named_and_simulated_answers_are_told(
    crew: Crew, rig: Rig, educator: Person, client_of: ClientOf
) -> None:
    people = crew(4)
    for name in (each.name for each in people):
        assert name not in client_of(educator).get(reverse("boards:calls")).content.decode()
    assert not board().has_simulated
    answered(people[0], rig, RIGHT, "splint", "gauze roll", times=1, is_simulated=True)
    assert (board().has_simulated, board().has_imported) == (True, False)


def test_imported_answers_are_told(
    crew: Crew, rig: Rig, educator: Person, client_of: ClientOf
) -> None:
    people = crew(4)
    assert not board().has_imported
    answered(people[0], rig, RIGHT, "splint", "gauze roll", times=1, is_imported=True)

    assert "imported answers among them" in words_of_page(client_of(educator))
    assert "imported answers among them" in words_of_page(client_of(educator))


def words_of_page(browser: Client) -> str:
    return " ".join(browser.get(reverse("boards:calls")).content.decode().split())


def test_yesterday_is_thought_anew(crew: Crew) -> None:
    crew(3)
    now = timezone.now()
    today, later = (fleet_board(None, None, now=now + timedelta(days=days)) for days in (0, 30))
    assert today.calls[0].told.median != later.calls[0].told.median


@pytest.mark.parametrize("asked", [{"cohort": "nobody"}, {"layout": "nowhere"}])
def test_what_is_not_there_is_refused_by_name(
    asked: dict[str, str], rig: Rig, educator: Person, client_of: ClientOf
) -> None:
    response = client_of(educator).get(reverse("boards:calls"), asked)
    assert response.status_code == 422
    assert "there are:" in response.content.decode()


def test_the_board_of_the_cohort_leads_to_it(educator: Person, client_of: ClientOf) -> None:
    content = client_of(educator).get(reverse("boards:educator")).content.decode()
    assert reverse("boards:calls") in content
