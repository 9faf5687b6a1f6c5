"""Many answers to one prompt in the same moment: one is stored, and the first one counts.

Luck decides nothing here: each of two stops before its first write until the other has come as
far. Moves that one lock makes wait for each other never meet there, and the stop runs out.
"""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from threading import Barrier, BrokenBarrierError
from typing import Any

import pytest
from django.db import connection
from django.utils import timezone

from drills.competency.models import Evidence
from drills.engine.recipes import LOCATE
from drills.people.models import Person
from drills.rigs.models import Absence
from drills.rigs.reading import layout_of
from drills.runs.actions import AnsweredOtherwiseError, answer_prompt, report_not_there, serve_next
from drills.runs.models import Presentation, PresentationState, Run
from tests.runs.player import Player, right

THREADS, MEETING = 8, 2
WRITES = ("INSERT", "UPDATE", "DELETE", "REPLACE")
# Two that nothing holds apart meet in far less; longer, and a test of what holds them takes long.
SECONDS = 2.0
pytestmark = pytest.mark.django_db(transaction=True)


@dataclass
class Meeting:
    """Where two moves wait for each other between what they read and what they write."""

    barrier: Barrier = field(default_factory=lambda: Barrier(MEETING, timeout=SECONDS))

    @property
    def has_happened(self) -> bool:
        """Whether both had read before either wrote."""
        return not self.barrier.broken

    @contextmanager
    def before_the_first_write(self) -> Iterator[None]:
        """Stop the statements of this thread once, at the first that changes a row."""
        has_stopped = False

        def stop(execute: Callable[..., Any], sql: str, *rest: Any) -> Any:
            nonlocal has_stopped
            if sql.lstrip().upper().startswith(WRITES) and not has_stopped:
                has_stopped = True
                # Broken when the other one waits for our lock, or has come and gone.
                with suppress(BrokenBarrierError):
                    self.barrier.wait()
            return execute(sql, *rest)

        with connection.execute_wrapper(stop):
            yield


def at_once(act: Callable[[int], Any], *, threads: int = THREADS) -> list[Any]:
    """What each of some threads gets that act in the same moment."""
    start = Barrier(threads, timeout=10 * SECONDS)

    def run_one(number: int) -> Any:
        start.wait()
        try:
            return act(number)
        finally:
            connection.close()

    with ThreadPoolExecutor(threads) as pool:
        return list(pool.map(run_one, range(threads)))


def held_apart(act: Callable[[int], Any]) -> list[Any]:
    """The same for two that would meet between reading and writing, if nothing held them apart."""
    meeting = Meeting()

    def stopped(number: int) -> Any:
        with meeting.before_the_first_write():
            return act(number)

    said = at_once(stopped, threads=MEETING)
    assert not meeting.has_happened, "both had read before either wrote"
    return said


def sender(run: Run, presentation: Presentation) -> Callable[[int], str]:
    """Sends another answer for each number, and says what became of it."""
    prompt = presentation.prompt
    assert prompt is not None
    keys = prompt.choices or list(layout_of(run.drill.revision).by_code)
    tokens = [run.token_for(key) for key in keys]

    def send(number: int) -> str:
        try:
            answered = answer_prompt(
                run,
                token=presentation.token,
                tokens=[tokens[number % len(tokens)]],
                claim=None,
                now=timezone.now(),
            )
        except AnsweredOtherwiseError as refused:
            return f"refused: {refused.presentation.answer}"
        return f"stored: {answered.answer}"

    return send


def assert_one_answer(presentation: Presentation, said: list[str]) -> None:
    presentation.refresh_from_db()
    assert presentation.state == PresentationState.ANSWERED
    assert set(said) == {f"stored: {presentation.answer}", f"refused: {presentation.answer}"}
    rows = Evidence.objects.filter(source=f"answer {presentation.token}")
    assert rows.count() == rows.values("fact").distinct().count() > 0


def test_one_prompt_has_one_answer_whoever_comes_first(run: Run) -> None:
    presentation = Player(run).past_warm_ups()

    said = at_once(sender(run, presentation))

    assert_one_answer(presentation, said)


def test_no_answer_is_judged_on_what_another_is_about_to_change(run: Run) -> None:
    presentation = Player(run).past_warm_ups()

    said = held_apart(sender(run, presentation))

    assert_one_answer(presentation, said)
    assert len(set(said)) == MEETING


def test_an_answer_and_its_resending_in_one_moment_are_one(run: Run) -> None:
    presentation = Player(run).past_warm_ups()
    send = sender(run, presentation)

    said = held_apart(lambda _: send(0))

    presentation.refresh_from_db()
    assert said == [f"stored: {presentation.answer}"] * MEETING


def test_two_who_go_on_are_served_one_prompt(run: Run) -> None:
    player = Player(run)
    first = player.past_warm_ups()
    player.answer(first, right(first))

    served = held_apart(lambda _: serve_next(run, now=player.now))

    assert len(set(served)) == 1
    assert run.presentations.filter(state=PresentationState.OPEN).count() == 1


def reporter(run: Run, presentation: Presentation, hire: Person) -> Callable[[int], int | None]:
    return lambda _: report_not_there(run, token=presentation.token, by=hire, now=timezone.now())


def places_of(presentation: Presentation) -> int:
    prompt = presentation.prompt
    assert prompt is not None
    return len(prompt.answer) if prompt.kind == LOCATE else 1


def test_many_reports_of_one_prompt_are_one_report(run: Run, hire: Person) -> None:
    presentation = Player(run).past_warm_ups()

    said = at_once(reporter(run, presentation, hire))

    places = places_of(presentation)
    assert sorted(said, key=str) == [places] + [None] * (THREADS - 1)
    assert Absence.objects.count() == places


def test_no_report_is_made_of_what_another_is_about_to_void(run: Run, hire: Person) -> None:
    presentation = Player(run).past_warm_ups()

    said = held_apart(reporter(run, presentation, hire))

    places = places_of(presentation)
    assert sorted(said, key=str) == [places, None]
    assert Absence.objects.count() == places


def test_two_that_nothing_holds_apart_would_meet(run: Run) -> None:
    """The stop works: outside a transaction both read the open prompt before either answers it."""
    presentation = Player(run).past_warm_ups()
    meeting = Meeting()

    def read_then_write(_: int) -> str:
        with meeting.before_the_first_write():
            seen = Presentation.objects.get(pk=presentation.pk)
            Presentation.objects.filter(pk=seen.pk).update(
                state=PresentationState.ANSWERED, received_at=timezone.now()
            )
            return seen.state

    said = at_once(read_then_write, threads=MEETING)

    assert meeting.has_happened
    assert said == [PresentationState.OPEN] * MEETING
