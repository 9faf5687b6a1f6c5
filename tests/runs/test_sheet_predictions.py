"""What is thought of somebody before they are seen at the rig, kept beside what was seen."""

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from drills.competency.gathering import Manner
from drills.competency.models import Evidence, Modality, PersonOffset
from drills.competency.refitting import refit
from drills.competency.reports import knowledge_of
from drills.engine.memory import COUNTED
from drills.engine.observing import BROUGHT, FOUND, HELPED, WRONG_THING
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.rigs.reading import layout_of
from drills.runs.actions import (
    answer_thing,
    close_sheet,
    contest_sheet,
    decide_sheet_contest,
    lines_of,
    open_sheet,
)
from drills.runs.models import Sheet, Verdict
from drills.scenarios.models import CallType, Recipe
from tests.competency.test_refit import answered as answered
from tests.competency.test_refit import say
from tests.runs.conftest import NOW, SEED
from tests.runs.test_hands_on import ALL, closed, marked, numbers, opened, watched
from tests.runs.test_hands_on import call_type as call_type
from tests.runs.test_single_things import recipe as recipe

pytestmark = pytest.mark.django_db


@pytest.fixture
def fitted(answered: None) -> str:
    """A fit of ninety days of two people; the name it thinks under."""
    made = refit(now=lambda: NOW, say=say)
    assert made is not None
    return f"fit {made.pk}"


def at_the_rig() -> list[Evidence]:
    return list(Evidence.objects.filter(modality="hands-on").select_related("fact__item"))


def brought(sheet: Sheet, **other: str) -> Sheet:
    return closed(watched(sheet, marked(sheet, **ALL | other)))


def test_what_was_thought_when_it_was_opened_stands_beside_what_was_seen(
    hire: Person, fto: Person, rig: Rig, call_type: CallType, fitted: str
) -> None:
    """Every row has a chance, that of the moment before anything was marked."""
    sheet = opened(hire, fto, rig)
    thought = dict(sheet.predictions)
    brought(sheet, splint=WRONG_THING)
    rows = at_the_rig()

    assert rows
    assert {row.predicted_by for row in rows} == {fitted}
    assert {row.prediction for row in rows} <= set(thought.values())
    assert all(row.prediction is not None and 0.0 < row.prediction < 1.0 for row in rows)


def test_it_is_thought_of_the_rig_and_not_of_the_screen(
    hire: Person, fto: Person, rig: Rig, call_type: CallType, fitted: str
) -> None:
    """The chances are those of a kit at the rig, out of all that is aboard."""
    sheet = opened(hire, fto, rig)
    facts = [
        fact
        for fact in knowledge_of(hire, layout=rig.layout, now=NOW).observations
        if str(fact) in sheet.predictions
    ]
    kit = Manner(
        kind=sheet.kind, choices=len(layout_of(rig.revision).stock), modality=Modality.HANDS_ON
    )
    by_hand = knowledge_of(hire, layout=rig.layout, now=NOW, manner=kit).predictions(facts)

    assert facts
    assert by_hand == {name: sheet.predictions[name] for name in by_hand}


def test_what_was_seen_moves_the_person_and_replays_the_same(
    hire: Person, fto: Person, rig: Rig, call_type: CallType, fitted: str
) -> None:
    """A wrong thing lowers its person at once, and replaying all evidence gives the same."""
    before = PersonOffset.objects.get(person=hire).mean
    brought(opened(hire, fto, rig), splint=WRONG_THING, tourniquet=WRONG_THING)
    out = StringIO()
    call_command("recompute", "--check", stdout=out, stderr=StringIO())

    assert PersonOffset.objects.get(person=hire).mean < before
    assert "is what its" in out.getvalue()


def test_what_was_brought_with_help_moves_nobody(
    hire: Person, fto: Person, rig: Rig, call_type: CallType, fitted: str
) -> None:
    """After help it is no first answer: the chance stands beside it, and nothing is moved by it."""
    brought(opened(hire, fto, rig), splint=HELPED)
    helped = [row for row in at_the_rig() if row.is_assisted]
    alone = Evidence.objects.filter(modality="hands-on", is_first=True)

    assert helped
    assert all(row.prediction is not None and not row.is_first for row in helped)
    assert alone.exists()


def test_before_a_fit_counts_think(
    hire: Person, fto: Person, rig: Rig, call_type: CallType
) -> None:
    brought(opened(hire, fto, rig))

    assert {row.predicted_by for row in at_the_rig()} == {COUNTED}
    assert all(row.prediction is not None for row in at_the_rig())


def test_single_things_have_theirs(
    hire: Person, fto: Person, rig: Rig, recipe: Recipe, fitted: str
) -> None:
    """Asked one by one, each has the chance of before the first."""
    sheet = open_sheet(
        hire,
        officer=fto,
        rig=rig,
        call_type=None,
        things=recipe,
        in_service=True,
        told="dispatch",
        now=NOW,
        seed=SEED,
    )
    for number in range(len(lines_of(sheet))):
        now = NOW + timedelta(seconds=20 * (number + 1))
        sheet = answer_thing(sheet, number, FOUND, wrong_places=0, now=now)
    close_sheet(sheet, back=range(len(lines_of(sheet))), now=NOW + timedelta(minutes=3))

    assert {row.predicted_by for row in at_the_rig()} == {fitted}
    assert all(row.prediction is not None for row in at_the_rig())


def test_after_a_contest_the_same_chances_stand(
    hire: Person, fto: Person, educator: Person, rig: Rig, call_type: CallType, fitted: str
) -> None:
    """What is judged anew was thought before, and no more is known of it."""
    sheet = brought(opened(hire, fto, rig), splint=WRONG_THING)
    first = {row.fact_id: row.prediction for row in at_the_rig()}
    made = contest_sheet(
        sheet, part=str(numbers(sheet)["splint"]), because="It was the splint.", by=hire, now=NOW
    )
    decide_sheet_contest(made, verdict=Verdict.VOIDED, answer="So it was.", by=educator, now=NOW)
    again = [row for row in at_the_rig() if row.voided_at is None]

    assert again
    assert all(row.prediction == first[row.fact_id] for row in again)


def test_closing_asks_the_database_for_one_thing_more(
    hire: Person, fto: Person, rig: Rig, call_type: CallType, fitted: str
) -> None:
    """The thinking is done at the opening: closing moves the person, and reads nothing for it."""

    def queries(sheet: Sheet) -> list[str]:
        watched(sheet, marked(sheet, tourniquet=BROUGHT, splint=BROUGHT))
        with CaptureQueriesContext(connection) as asked:
            closed(sheet)
        return [each["sql"] for each in asked]

    queries(opened(hire, fto, rig))  # what is kept in memory is read once
    unthought = opened(hire, fto, rig)
    Sheet.objects.filter(pk=unthought.pk).update(predictions={}, predicted_by="")
    plain, thought = queries(unthought), queries(opened(hire, fto, rig))

    assert len(thought) == len(plain) + 1
    assert not [sql for sql in thought if "competency_fit" in sql]
