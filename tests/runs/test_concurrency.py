"""Many answers to one prompt in the same moment: one is stored, and the first one counts."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection
from django.utils import timezone

from drills.competency.models import Evidence
from drills.engine.recipes import LOCATE
from drills.people.models import Person
from drills.rigs.models import Absence
from drills.rigs.reading import layout_of
from drills.runs.actions import AnsweredOtherwiseError, answer_prompt, report_not_there
from drills.runs.models import PresentationState, Run
from tests.runs.player import Player

THREADS = 8
pytestmark = pytest.mark.django_db(transaction=True)


def test_one_prompt_has_one_answer_whoever_comes_first(run: Run) -> None:
    presentation = Player(run).past_warm_ups()
    prompt = presentation.prompt
    assert prompt is not None
    keys = prompt.choices or list(layout_of(run.drill.revision).by_code)
    start = Barrier(THREADS)

    def send(number: int) -> str:
        token = run.token_for(keys[number % len(keys)])
        start.wait()
        try:
            answered = answer_prompt(
                run, token=presentation.token, tokens=[token], claim=None, now=timezone.now()
            )
        except AnsweredOtherwiseError as refused:
            return f"refused: {refused.presentation.answer}"
        else:
            return f"stored: {answered.answer}"
        finally:
            connection.close()

    with ThreadPoolExecutor(THREADS) as pool:
        said = list(pool.map(send, range(THREADS)))

    presentation.refresh_from_db()
    assert presentation.state == PresentationState.ANSWERED
    stored = {each for each in said if each.startswith("stored")}
    assert stored == {f"stored: {presentation.answer}"}
    assert {each for each in said if each.startswith("refused")} == {
        f"refused: {presentation.answer}"
    }
    rows = Evidence.objects.filter(source=f"answer {presentation.token}")
    assert rows.count() == rows.values("fact").distinct().count() > 0


def test_many_reports_of_one_prompt_are_one_report(run: Run, hire: Person) -> None:
    presentation = Player(run).past_warm_ups()
    prompt = presentation.prompt
    assert prompt is not None
    places = len(prompt.answer) if prompt.kind == LOCATE else 1
    start = Barrier(THREADS)

    def report(_: int) -> int | None:
        start.wait()
        try:
            return report_not_there(run, token=presentation.token, by=hire, now=timezone.now())
        finally:
            connection.close()

    with ThreadPoolExecutor(THREADS) as pool:
        said = list(pool.map(report, range(THREADS)))

    assert sorted(said, key=str) == [places] + [None] * (THREADS - 1)
    assert Absence.objects.count() == places
