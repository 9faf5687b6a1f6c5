"""What is thought of a kit before it is asked for, and what past kits set right."""

import math
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone

from drills.boards.readiness import readiness_board
from drills.competency.quality import kept_of_calls
from drills.demo.factories import PersonFactory
from drills.engine.memory import COUNTED
from drills.engine.observing import HELPED, WRONG_THING
from drills.engine.readying.musts import A_THING
from drills.engine.readying.recalibrating import FEWEST_CALLS, FEWEST_PEOPLE
from drills.engine.scoring import RIGHT, WRONG
from drills.people.models import Person, Role
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.runs.foretold import PastCalls, judged_calls, past_calls, refit
from drills.runs.models import Sheet, SheetState
from drills.runs.records import record_of
from drills.runs.targets import parts_s
from drills.scenarios.models import CallType
from drills.scenarios.reading import layout_asked
from tests.boards.test_readiness import answered
from tests.runs.conftest import ClientOf
from tests.runs.test_hands_on import ALL, closed, marked, opened, watched
from tests.runs.test_hands_on import call_type as call_type

pytestmark = pytest.mark.django_db


@pytest.fixture
def known(hire: Person, rig: Rig, call_type: CallType) -> Person:
    """A hire of whom enough is known, by a fit."""
    pick_rig(hire, rig, now=timezone.now())
    answered(hire, rig, RIGHT, "tourniquet", "splint", times=12)
    answered(hire, rig, WRONG, "splint", times=3)
    assert refit(now=timezone.now, say=lambda _: None) is not None
    return hire


def asked(person: Person, officer: Person, rig: Rig, call: CallType, **more: object) -> Sheet:
    return opened(person, officer, rig, call_type=call, now=timezone.now(), **more)


def test_what_is_kept_is_what_the_page_says_before(
    known: Person, fto: Person, rig: Rig, call_type: CallType
) -> None:
    (row,) = readiness_board(known, viewer=fto, now=timezone.now()).told

    sheet = asked(known, fto, rig, call_type)

    assert sheet.thought == pytest.approx(row.said.chance, abs=1e-3)
    assert sheet.thought_by.startswith("fit ")


def test_it_is_kept_however_wide_the_interval_is_and_the_page_says_none(
    known: Person,
    fto: Person,
    rig: Rig,
    call_type: CallType,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Past kits set right what is neither sure to be found nor sure to be missed as well."""
    (before,) = readiness_board(known, viewer=fto, now=timezone.now()).told
    monkeypatch.setattr("drills.engine.readying.call.WIDEST_SHOWN", 0.0)
    board = readiness_board(known, viewer=fto, now=timezone.now())

    sheet = asked(known, fto, rig, call_type)

    assert (len(board.told), len(board.untold)) == (0, 1)
    assert sheet.thought == pytest.approx(before.said.chance, abs=1e-3)


def test_nothing_that_comes_later_changes_what_was_thought(
    known: Person, fto: Person, rig: Rig, call_type: CallType
) -> None:
    sheet = asked(known, fto, rig, call_type)
    thought = sheet.thought

    watched(sheet, marked(sheet, **ALL))
    answered(known, rig, WRONG, "splint", "tourniquet", times=5)
    refit(now=timezone.now, say=lambda _: None)

    found = closed(sheet)
    assert found.thought == thought
    assert asked(known, fto, rig, call_type).thought != thought


def test_without_answers_enough_nothing_is_foretold(
    hire: Person, fto: Person, rig: Rig, call_type: CallType
) -> None:
    sheet = asked(hire, fto, rig, call_type)
    assert (sheet.thought, sheet.thought_by) == (None, "")


def test_before_the_first_fit_it_says_who_thought_it_and_counts_for_nothing(
    hire: Person, fto: Person, rig: Rig, call_type: CallType
) -> None:
    answered(hire, rig, RIGHT, "tourniquet", "splint", times=12)
    sheet = asked(hire, fto, rig, call_type)
    watched(sheet, marked(sheet, **ALL))
    found = closed(sheet)

    assert (found.thought_by, found.came_off is not None) == (COUNTED, True)
    assert judged_calls().calls == 0


# What was marked, how many seconds beyond 15 each and the quickest way, and whether it came off.
CAME = [
    ({}, 0.0, True),
    ({}, 0.5, False),
    ({"gauze_roll": None}, 0.0, True),
    ({"gauze_roll": WRONG_THING}, 0.0, True),
    ({"splint": None}, -20.0, False),
    ({"splint": HELPED}, -20.0, False),
    ({"tourniquet": WRONG_THING}, -20.0, False),
]


@pytest.mark.parametrize(("other", "beyond", "came"), CAME)
def test_it_came_off_where_every_must_have_was_brought_alone_and_in_time(
    other: dict[str, str | None],
    beyond: float,
    came: bool,
    known: Person,
    fto: Person,
    rig: Rig,
    call_type: CallType,
) -> None:
    sheet = asked(known, fto, rig, call_type)
    said = {thing: word for thing, word in (ALL | other).items() if word is not None}
    watched(sheet, marked(sheet, **said))
    prompt = sheet.drill.prompts.get(position=0)
    quickest = sum(parts_s(sheet.drill, prompt, layout_asked(sheet.drill)).values())
    seconds = 2 * A_THING + quickest + beyond
    Sheet.objects.filter(pk=sheet.pk).update(seconds=seconds)

    assert quickest > 0
    assert closed(sheet).came_off is came


def test_what_was_voided_is_another_kit_than_was_foretold(
    known: Person, fto: Person, rig: Rig, call_type: CallType
) -> None:
    sheet = asked(known, fto, rig, call_type)
    watched(sheet, marked(sheet, **ALL))
    Sheet.objects.filter(pk=sheet.pk).update(voided=["time"])
    assert closed(sheet).came_off is None


def test_a_simulated_kit_is_not_foretold(
    known: Person, fto: Person, rig: Rig, call_type: CallType
) -> None:
    sheet = asked(known, fto, rig, call_type, is_simulated=True)
    assert sheet.thought is None


def test_ones_own_record_tells_what_was_thought(
    known: Person, fto: Person, rig: Rig, call_type: CallType
) -> None:
    sheet = asked(known, fto, rig, call_type)
    watched(sheet, marked(sheet, **ALL))
    found = closed(sheet)

    (told,) = record_of(known)["seen at the rig"]

    assert told["chance of all of it thought beforehand"] == found.thought
    assert told["all of it in time"] is found.came_off


def past(sheet: Sheet, calls: int, people: int, *, thought: float, came_of_10: int) -> None:
    """Closed kits of crew, each thought as likely, of which so many of ten came off."""
    crew = [
        PersonFactory.create(employee_number=f"P{number}", roles=[Role.CREW])
        for number in range(people)
    ]
    Sheet.objects.bulk_create(
        Sheet(
            person=crew[number % people],
            officer=sheet.officer,
            rig=sheet.rig,
            drill=sheet.drill,
            in_service=True,
            told="x",
            state=SheetState.CLOSED,
            opened_at=timezone.now() - timedelta(days=number % 90),
            closed_at=timezone.now(),
            thought=thought,
            thought_by="fit 1",
            came_off=(number // people) % 10 < came_of_10,
        )
        for number in range(calls)
    )


def test_enough_past_kits_set_the_page_right(
    known: Person, fto: Person, rig: Rig, call_type: CallType, client_of: ClientOf
) -> None:
    """Said .4 and nine of ten came off: what is said of calls rises, and the page says by what."""
    sheet = asked(known, fto, rig, call_type)
    (before,) = readiness_board(known, viewer=fto, now=timezone.now()).told
    past(sheet, FEWEST_CALLS + 40, FEWEST_PEOPLE + 2, thought=0.4, came_of_10=9)

    assert past_calls() == PastCalls()
    refit(now=timezone.now, say=lambda _: None)

    told = past_calls()
    board = readiness_board(known, viewer=fto, now=timezone.now())

    assert (told.calls, told.people, told.are_enough) == (
        FEWEST_CALLS + 40,
        FEWEST_PEOPLE + 2,
        True,
    )
    assert told.expected == pytest.approx(0.4 * told.calls)
    assert told.recalibration.loss_after < told.recalibration.loss_before
    assert board.told[0].said.chance == pytest.approx(
        float(told.recalibration.of(before.said.chance or 0.0)), abs=1e-3
    )
    assert (board.told[0].said.chance or 0) > (before.said.chance or 0) + 0.05
    page = client_of(fto).get(reverse("boards:readiness", args=["HIRE"])).content.decode()
    assert "chances are set right by them" in page
    model = client_of(fto).get(reverse("boards:model")).content.decode()
    assert f"Seen: {told.came_off}" in model
    assert "Stretch" in model


@pytest.mark.parametrize(
    ("calls", "people"), [(FEWEST_CALLS - 1, FEWEST_PEOPLE), (FEWEST_CALLS, FEWEST_PEOPLE - 1)]
)
def test_too_few_kits_or_people_set_nothing_right_and_the_page_says_so(
    calls: int,
    people: int,
    known: Person,
    fto: Person,
    rig: Rig,
    call_type: CallType,
    client_of: ClientOf,
) -> None:
    past(asked(known, fto, rig, call_type), calls, people, thought=0.4, came_of_10=9)

    refit(now=timezone.now, say=lambda _: None)

    told = past_calls()

    assert told.recalibration.is_as_it_is
    assert not told.are_enough
    model = client_of(fto).get(reverse("boards:model")).content.decode()
    assert (
        f"{calls} of {FEWEST_CALLS} kits foretold and seen, of {people} of {FEWEST_PEOPLE} people"
        in model
    )
    assert "too few, so chances are not set right" in model


def test_what_is_simulated_erased_or_open_is_no_past_kit(
    known: Person, fto: Person, rig: Rig, call_type: CallType
) -> None:
    past(asked(known, fto, rig, call_type), 5, 5, thought=0.5, came_of_10=5)
    rows = list(Sheet.objects.filter(state=SheetState.CLOSED).order_by("pk"))
    Sheet.objects.filter(pk=rows[0].pk).update(is_simulated=True)
    Sheet.objects.filter(pk=rows[1].pk).update(person=None)
    Sheet.objects.filter(pk=rows[2].pk).update(thought=None)
    Sheet.objects.filter(pk=rows[3].pk).update(came_off=None)

    assert judged_calls().calls == 1


def test_pages_read_what_the_refit_kept_and_fit_nothing(
    known: Person,
    fto: Person,
    rig: Rig,
    call_type: CallType,
    client_of: ClientOf,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What came since counts from the next refit on; and replaying all evidence agrees with it."""
    past(asked(known, fto, rig, call_type), FEWEST_CALLS, FEWEST_PEOPLE, thought=0.4, came_of_10=9)
    call_command("refit", stdout=StringIO(), stderr=StringIO())
    kept = past_calls()

    def fitted(*_: object) -> None:
        raise AssertionError

    monkeypatch.setattr("drills.runs.foretold.recalibrated", fitted)
    for page in ("boards:readiness", "boards:model"):
        arguments = ["HIRE"] if page == "boards:readiness" else []
        assert client_of(fto).get(reverse(page, args=arguments)).status_code == 200
    Sheet.objects.filter(thought=0.4).update(came_off=False)

    assert not kept.recalibration.is_as_it_is
    assert past_calls() == kept
    out = StringIO()
    call_command("recompute", "--check", stdout=out, stderr=StringIO())
    assert "is what its" in out.getvalue()


def test_recompute_sets_calls_right_as_well(
    known: Person, fto: Person, rig: Rig, call_type: CallType
) -> None:
    past(asked(known, fto, rig, call_type), FEWEST_CALLS, FEWEST_PEOPLE, thought=0.4, came_of_10=9)

    call_command("recompute", stdout=StringIO(), stderr=StringIO())

    assert past_calls() == judged_calls()
    assert past_calls().calls == FEWEST_CALLS


@pytest.mark.usefixtures("known")
def test_what_is_not_a_number_is_kept_as_nothing() -> None:
    """No JSON of PostgreSQL takes it."""
    refit(now=timezone.now, say=lambda _: None)

    assert kept_of_calls()["recalibration"]["loss_before"] is None
    assert math.isnan(past_calls().recalibration.loss_before)
