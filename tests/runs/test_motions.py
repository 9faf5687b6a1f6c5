"""The motion table: fitted to kits at the open doors, taken over by its keeper, and back again."""

import re
from datetime import timedelta

import pytest
from django.db import IntegrityError
from django.test import Client
from django.urls import reverse

from drills.demo.factories import PersonFactory, RecipeFactory
from drills.engine.observing import BROUGHT, HELPED
from drills.engine.optimum.motions import OURS, Multipliers
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import motion_table, motions_in_force, take_over_motions
from drills.rigs.models import MotionTable, Rig
from drills.runs.actions import Watched, close_sheet, lines_of, open_sheet, start_watch, stop_watch
from drills.runs.calibrating import gather
from drills.runs.models import Sheet
from drills.runs.sheets import sheet_context
from drills.runs.targets import quickest_s
from drills.scenarios.models import CallType, Drill, Mode
from drills.scenarios.reading import layout_asked
from tests.calls import bleeding_call
from tests.runs.conftest import NOW, SEED, ClientOf

pytestmark = pytest.mark.django_db

PAGE = "runs:motions"


@pytest.fixture
def call_type(rig: Rig) -> CallType:
    RecipeFactory.create(slug="kit-at-the-rig", kinds="stage:1", mode=Mode.ASSESSED)
    return bleeding_call(rig.revision)


@pytest.fixture
def people(db: None) -> list[Person]:
    return PersonFactory.create_batch(7)


def opened(person: Person, officer: Person, rig: Rig) -> Sheet:
    return open_sheet(
        person,
        officer=officer,
        rig=rig,
        call_type=None,
        in_service=True,
        told="dispatch",
        now=NOW,
        seed=SEED,
    )


def ours_s(drill: Drill) -> float:
    found = quickest_s(drill, drill.prompts.get(position=0), layout_asked(drill))
    assert found is not None
    return found


def brought(person: Person, officer: Person, rig: Rig, *, times: float) -> Sheet:
    """A whole kit, brought in so many times the quickest way."""
    sheet = opened(person, officer, rig)
    took = times * ours_s(sheet.drill)
    start_watch(sheet, now=NOW)
    seen = dict.fromkeys(range(len(lines_of(sheet))), BROUGHT)
    stopped = NOW + timedelta(seconds=took + 1)
    stop_watch(sheet, Watched(seen=seen, claim=took), now=stopped)
    return close_sheet(sheet, back=seen, now=stopped)


@pytest.fixture
def runs(people: list[Person], fto: Person, rig: Rig, call_type: CallType) -> list[Sheet]:
    """Thirty runs of seven people that take about 1.3 times as long as the quickest way."""
    return [
        brought(people[number % 7], fto, rig, times=1.3 + 0.01 * (number % 5 - 2))
        for number in range(30)
    ]


@pytest.fixture
def at_desk(educator: Person, client_of: ClientOf) -> Client:
    return client_of(educator)


def page(client: Client) -> str:
    return client.get(reverse(PAGE)).content.decode().replace("\u00a0", " ")


def test_with_too_few_runs_it_says_how_many_are_missing_and_offers_nothing(
    at_desk: Client, people: list[Person], fto: Person, rig: Rig, call_type: CallType
) -> None:
    brought(people[0], fto, rig, times=1.4)
    content = page(at_desk)
    assert "1 run of 1 person" in content
    assert "29 more runs" in content
    assert "5 more people" in content
    assert "Take it over" not in content
    assert at_desk.post(reverse(PAGE), {"take": "130 130 130 30 7"}).status_code == 422
    assert motion_table() is None


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        ({"is_simulated": True}, "simulated"),
        ({"person": None}, "of somebody who was erased"),
        ({"outcome": ""}, "called away"),
        ({"seen": {"0": HELPED, "1": BROUGHT}}, "brought with help"),
        ({"wrong_doors": 1}, "a wrong door opened"),
        ({"outcome": "wrong"}, "not the whole kit, or a wrong thing"),
        ({"watch": "unverified"}, "timed by the server, not by the officer's watch"),
        ({"parts": {}}, "no quickest way is known"),
        ({"seconds": 2.0}, "a time that cannot be one of its kit"),
    ],
)
def test_what_tells_nothing_of_motions_is_left_out_and_counted(
    people: list[Person],
    fto: Person,
    rig: Rig,
    call_type: CallType,
    changed: dict[str, object],
    why: str,
) -> None:
    brought(people[0], fto, rig, times=1.4)
    other = brought(people[1], fto, rig, times=1.4)
    assert len(gather().runs) == 2
    Sheet.objects.filter(pk=other.pk).update(**changed)
    found = gather()
    assert [each.person for each in found.runs] == [people[0].pk]
    assert found.left_out == {why: 1}


def test_who_has_extra_time_makes_nobodys_table(
    people: list[Person], fto: Person, rig: Rig, call_type: CallType
) -> None:
    brought(people[0], fto, rig, times=1.4)
    Person.objects.filter(pk=people[0].pk).update(time_allowance=1.5)
    assert gather().left_out == {"of somebody with extra time": 1}


def test_the_parts_of_a_run_are_its_quickest_way(
    people: list[Person], fto: Person, rig: Rig, call_type: CallType
) -> None:
    sheet = brought(people[0], fto, rig, times=1.4)
    (timed,) = gather().runs
    assert timed.quickest == pytest.approx(ours_s(sheet.drill))
    assert timed.took == pytest.approx(1.4 * timed.quickest)


def test_taken_over_by_one_button_as_it_was_shown(
    at_desk: Client, runs: list[Sheet], educator: Person
) -> None:
    content = page(at_desk)
    assert "30 runs of 7 people" in content
    assert "one figure stands for all three" in content
    assert "Walking, opening and taking" in content
    before = runs[0].drill
    told = ours_s(before)
    done = at_desk.post(reverse(PAGE), {"take": "130 130 130 30 7"}, follow=True)
    assert "Taken over." in done.content.decode()
    assert "This is what is in force." in done.content.decode()
    assert motions_in_force() == Multipliers(130, 130, 130)
    entry = AuditEntry.objects.get(action="set motion table")
    assert entry.before
    assert entry.after
    assert (entry.actor, entry.before["walking"], entry.after["walking"]) == (educator, 100, 130)
    before.refresh_from_db()
    assert ours_s(before) == told


def test_what_is_made_later_goes_by_it_and_its_time_is_longer(
    runs: list[Sheet], people: list[Person], fto: Person, rig: Rig, educator: Person
) -> None:
    told = sheet_context(runs[0], viewer=fto)["target"]
    take_over_motions(Multipliers(130, 130, 130), runs=30, people=7, by=educator, now=NOW)
    later = opened(people[0], fto, rig)
    assert ours_s(later.drill) == pytest.approx(1.3 * ours_s(runs[0].drill), rel=0.01)
    assert sheet_context(later, viewer=fto)["target"] > told
    assert sheet_context(runs[0], viewer=fto)["target"] == told


def test_other_figures_than_these_are_not_taken_over(at_desk: Client, runs: list[Sheet]) -> None:
    response = at_desk.post(reverse(PAGE), {"take": "150 130 130 30 7"})
    assert response.status_code == 422
    assert "Other figures came in" in response.content.decode()
    assert motions_in_force() == OURS


def test_a_press_of_no_button_is_refused(at_desk: Client) -> None:
    response = at_desk.post(reverse(PAGE), {})
    assert response.status_code == 422
    assert "No button came in" in response.content.decode()


def test_back_to_our_own_table_and_both_stay_in_the_audit(
    at_desk: Client, runs: list[Sheet]
) -> None:
    at_desk.post(reverse(PAGE), {"take": "130 130 130 30 7"})
    at_desk.post(reverse(PAGE), {"take": "130 130 130 30 7"})
    at_desk.post(reverse(PAGE), {"ours": "1"})
    content = page(at_desk)
    assert "Our own table" in content
    assert "Take it over" in content
    assert motions_in_force() == OURS
    assert AuditEntry.objects.filter(action="set motion table").count() == 2
    at_desk.post(reverse(PAGE), {"ours": "1"})
    assert AuditEntry.objects.filter(action="set motion table").count() == 2


def test_each_figure_has_its_unit(at_desk: Client) -> None:
    rows = re.findall(r'<span class="num">([0-9.]+)([^<]*)</span>', page(at_desk))

    assert ("1.2", " m/s") in rows
    assert {unit for _, unit in rows} == {" s", " m/s"}


def test_going_back_where_nobody_set_any_changes_nothing(at_desk: Client) -> None:
    assert at_desk.post(reverse(PAGE), {"ours": "1"}).status_code == 302
    assert not MotionTable.objects.exists()


def test_a_table_out_of_range_is_never_stored(db: None) -> None:
    with pytest.raises(IntegrityError):
        MotionTable.objects.create(walking=49, set_at=NOW)


def test_each_who_sets_it_is_led_to_it(
    keeper: Person, educator: Person, hire: Person, client_of: ClientOf
) -> None:
    address = reverse(PAGE)
    assert address in client_of(keeper).get(reverse("rigs:index")).content.decode()
    assert address in client_of(educator).get(reverse("boards:educator")).content.decode()
    assert address not in client_of(hire).get(reverse("rigs:index")).content.decode()
