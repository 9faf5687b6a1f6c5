"""Writes that fail, a database that somebody else holds, and a log that the power cut short."""

import shutil
import sqlite3
import struct
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from django.db import connection, transaction
from django.db.models import F
from django.test import Client
from django.urls import reverse

from drills.boards.person_records import erase_person
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.actions import (
    answer_prompt,
    call_away,
    contest,
    report_not_there,
    sign_off,
    start_run,
    withdraw_sign_off,
)
from drills.runs.actions.phases import Item, add_phase, change_phase, place_in_phase, write_note
from drills.runs.models import Presentation, PresentationState, Run, Sheet, SignOff
from drills.scenarios.models import Recipe
from readiness.sqlite import WAIT_SECONDS
from tests.rigs.test_all_or_nothing import fail_one_after_another
from tests.runs.assignments import given
from tests.runs.conftest import NOW, SEED, ClientOf
from tests.runs.player import Player, lately, right
from tests.runs.test_hands_on import call_type as call_type
from tests.runs.test_hands_on import sheet as sheet
from tests.runs.test_signing import met as met

# As long as the list of faults has it; then longer than anybody waits, made short.
HELD_S, SHORT_MS = 3.0, 300
WAL_HEADER, FRAME_HEADER, ANSWERS = 32, 24, 4
pytestmark = pytest.mark.django_db(transaction=True)


class TestWriteThatFails:
    """Whichever write of an act fails, all of it is stored or none."""

    def test_start(self, hire: Person, rig: Rig, recipe: Recipe) -> None:
        failed = fail_one_after_another(
            lambda: start_run(
                hire, recipe=recipe, revision=rig.revision, rig=rig, now=NOW, seed=SEED
            )
        )

        assert failed >= 3

    @pytest.mark.parametrize("way", ["practice", "assessed"])
    def test_answer(self, run: Run, assessed_run: Run, way: str) -> None:
        player = Player(run if way == "practice" else assessed_run)
        prompt = player.past_warm_ups()
        tokens = [prompt.run.token_for(key) for key in right(prompt)]

        failed = fail_one_after_another(
            lambda: answer_prompt(
                player.run, token=prompt.token, tokens=tokens, claim=None, now=player.now
            )
        )

        assert failed >= 2

    def test_warm_up_that_settles_the_baseline(self, run: Run) -> None:
        player = Player(run)
        shown = player.begin()
        for _ in range(2):
            player.answer(shown, right(shown))
            following = player.serve()
            assert following is not None
            shown = following

        failed = fail_one_after_another(lambda: player.answer(shown, right(shown)))

        assert failed >= 2

    def test_next_prompt(self, assessed_run: Run) -> None:
        player = Player(assessed_run)
        shown = player.past_warm_ups()
        player.answer(shown, right(shown))

        assert fail_one_after_another(player.serve) >= 2

    def test_finish(self, assessed_run: Run) -> None:
        player = Player(assessed_run)
        shown: Presentation | None = player.past_warm_ups()
        last = shown
        while shown is not None:
            last = shown
            player.answer(shown, right(shown))
            if assessed_run.drill.prompts.filter(is_spare=False).count() == _answered(player.run):
                break
            shown = player.serve()
        assert last is not None

        assert fail_one_after_another(player.serve) >= 2
        assert Run.objects.get(pk=player.run.pk).state == "finished"

    def test_called_away(self, assessed_run: Run) -> None:
        player = Player(assessed_run)
        player.past_warm_ups()

        assert fail_one_after_another(lambda: call_away(player.run, now=player.now)) >= 3

    def test_report(self, run: Run, hire: Person) -> None:
        player = Player(run)
        shown = player.past_warm_ups()
        player.answer(shown, right(shown))

        failed = fail_one_after_another(
            lambda: report_not_there(run, token=shown.token, by=hire, now=player.now)
        )

        assert failed >= 3

    def test_contest(self, run: Run) -> None:
        (first, *_) = Player(run).finish()

        failed = fail_one_after_another(
            lambda: contest(run, token=first.token, because="It lay there.", now=NOW)
        )

        assert failed >= 2

    def test_assign(self, recipe: Recipe, hire: Person, outsider: Person, fto: Person) -> None:
        assert fail_one_after_another(lambda: given(recipe, [hire, outsider], by=fto)) >= 3

    def test_sign_off_and_withdraw(self, met: Sheet, fto: Person) -> None:
        assert fail_one_after_another(lambda: sign_off(met, by=fto, now=NOW)) >= 2
        signed = SignOff.objects.get()

        failed = fail_one_after_another(
            lambda: withdraw_sign_off(signed, because="Another's bag", by=fto, now=NOW)
        )

        assert failed >= 2

    def test_phases(self, hire: Person, fto: Person, educator: Person) -> None:
        phase = add_phase("Looking on", by=educator, now=NOW)
        today = NOW.date()
        acts: list[Callable[[], object]] = [
            lambda: change_phase(
                phase, name="New", about="", items=[Item(None, "Radio")], by=educator, now=NOW
            ),
            lambda: place_in_phase(hire, phase, by=fto, today=today, now=NOW),
            lambda: write_note(
                hire,
                day=today,
                went_well="Calm",
                work_on="",
                next_step="",
                by=fto,
                today=today,
                now=NOW,
            ),
        ]

        for act in acts:
            assert fail_one_after_another(act) >= 2

    def test_erase_with_a_sign_off_that_is_held(
        self, met: Sheet, hire: Person, fto: Person
    ) -> None:
        sign_off(met, by=fto, now=NOW)

        failed = fail_one_after_another(
            lambda: erase_person(hire.employee_number, confirm=hire.employee_number, now=NOW)
        )

        assert failed >= 3
        assert SignOff.objects.get().person_name == "Noor Hire, HIRE"

    def test_erase(self, run: Run, hire: Person) -> None:
        Player(run).finish()
        hire.is_active = False
        hire.save()

        failed = fail_one_after_another(
            lambda: erase_person(hire.employee_number, confirm=hire.employee_number, now=NOW)
        )

        assert failed >= 3


def _answered(run: Run) -> int:
    rows = run.presentations.filter(state=PresentationState.ANSWERED)
    return rows.exclude(prompt=None).count()


@contextmanager
def held(run: Run, *, seconds: float) -> Iterator[threading.Event]:
    """Somebody else writes and does not come to an end: for so long, or until told to."""
    is_held, stop = threading.Event(), threading.Event()

    def hold() -> None:
        try:
            with transaction.atomic():
                Presentation.objects.filter(run=run).update(order=F("order"))
                is_held.set()
                stop.wait(seconds)
        finally:
            connection.close()

    thread = threading.Thread(target=hold)
    thread.start()
    assert is_held.wait(10)
    try:
        yield stop
    finally:
        stop.set()
        thread.join()


@pytest.fixture
def shown(assessed_run: Run) -> Presentation:
    return Player(assessed_run, now=lately()).past_warm_ups()


@pytest.fixture
def send(client_of: ClientOf, hire: Person, shown: Presentation) -> Callable[[], int]:
    browser: Client = client_of(hire)
    body = {"token": shown.token, "place": shown.run.token_for(right(shown)[0])}
    return lambda: browser.post(reverse("runs:answer", args=[shown.run.pk]), body).status_code


class TestSomebodyElseWrites:
    def test_an_answer_waits_three_seconds_and_is_taken(
        self, shown: Presentation, send: Callable[[], int]
    ) -> None:
        began = time.monotonic()
        with held(shown.run, seconds=HELD_S):
            assert send() == 302

        assert time.monotonic() - began >= HELD_S
        assert _answered(shown.run) == 1

    def test_longer_than_the_wait_it_is_refused_in_words_and_nothing_is_stored(
        self, client_of: ClientOf, hire: Person, shown: Presentation, send: Callable[[], int]
    ) -> None:
        browser, body = client_of(hire), {"token": shown.token, "unknown": "1"}
        with held(shown.run, seconds=WAIT_SECONDS), short_wait():
            response = browser.post(reverse("runs:answer", args=[shown.run.pk]), body)

        assert (response.status_code, response["Retry-After"]) == (503, "30")
        assert b"Nothing of what you sent was stored." in response.content
        assert _answered(shown.run) == 0
        assert send() == 302
        assert _answered(shown.run) == 1

    def test_who_serves_waits_as_long_on_either_database(self) -> None:
        with connection.cursor() as cursor:
            if connection.vendor == "sqlite":
                cursor.execute("PRAGMA busy_timeout")
                assert cursor.fetchone() == (WAIT_SECONDS * 1000,)
            else:
                cursor.execute("SHOW lock_timeout")
                assert cursor.fetchone() == (f"{WAIT_SECONDS}s",)


@contextmanager
def short_wait() -> Iterator[None]:
    """The wait for a lock made short, in this connection alone."""
    is_sqlite = connection.vendor == "sqlite"
    with connection.cursor() as cursor:
        cursor.execute(f"{'PRAGMA busy_timeout' if is_sqlite else 'SET lock_timeout'} = {SHORT_MS}")
    try:
        yield
    finally:
        connection.close()


def test_a_fault_that_is_not_the_databases_is_none_of_a_busy_database(
    client_of: ClientOf, hire: Person, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("drills.runs.views.taking.take_context", broken)

    with pytest.raises(ZeroDivisionError):
        client_of(hire).get(reverse("runs:take", args=[run.pk]))


class TestPowerCut:
    """SQLite's log of a service cut at each frame: what was acknowledged by then is there.

    Each answer is acknowledged once its frames are synced (synchronous FULL, which is what a mended
    SQLite is run with), so that the length of the log at that moment is what no cut may go under.
    """

    # PostgreSQL's log is its own to replay.
    __test__ = connection.vendor == "sqlite"

    @pytest.fixture
    def log(self, assessed_run: Run, tmp_path: Path) -> Iterator[tuple[Path, list[int]]]:
        """A database with its log, both as they lay, and the log's length after each answer."""
        player = Player(assessed_run)
        shown = player.past_warm_ups()
        copy = tmp_path / "cut.sqlite3"
        lengths = []
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA journal_mode=WAL")
            cursor.execute("PRAGMA synchronous=FULL")
            cursor.execute("PRAGMA wal_autocheckpoint=0")
            # What tests before this one left in the log is no part of it.
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        name = connection.settings_dict["NAME"]
        for _ in range(ANSWERS):
            player.answer(shown, right(shown))
            lengths.append(Path(f"{name}-wal").stat().st_size)
            following = player.serve()
            assert following is not None
            shown = following
        shutil.copy(name, copy)
        shutil.copy(f"{name}-wal", f"{copy}-wal")
        yield copy, lengths
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            cursor.execute("PRAGMA journal_mode=DELETE")
        connection.close()

    def test_every_prefix_of_the_log_opens_and_has_what_was_acknowledged_by_then(
        self, log: tuple[Path, list[int]], tmp_path: Path
    ) -> None:
        whole, lengths = log
        written = Path(f"{whole}-wal").read_bytes()
        frame = FRAME_HEADER + struct.unpack(">I", written[8:12])[0]
        cuts = range(WAL_HEADER, len(written) + 1, frame)
        found = [self._answers(whole, written[:cut], tmp_path / f"{cut}") for cut in cuts]

        assert found == sorted(found)
        assert (found[0], found[-1]) == (0, ANSWERS)
        assert [min(found[_frames(length, frame) :]) for length in lengths] == [1, 2, 3, 4]
        assert len(cuts) > 4 * ANSWERS

    def test_a_cut_inside_a_frame_is_a_cut_before_it(
        self, log: tuple[Path, list[int]], tmp_path: Path
    ) -> None:
        whole, lengths = log
        written = Path(f"{whole}-wal").read_bytes()

        assert self._answers(whole, written[: lengths[-1] - 100], tmp_path / "torn") == ANSWERS - 1

    @staticmethod
    def _answers(whole: Path, log: bytes, at: Path) -> int:
        """How many answers the database has with this much of its log; it must be whole."""
        at.mkdir()
        database = at / "cut.sqlite3"
        shutil.copy(whole, database)
        Path(f"{database}-wal").write_bytes(log)
        with closing(sqlite3.connect(database)) as opened:
            assert opened.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            assert opened.execute("PRAGMA foreign_key_check").fetchall() == []
            counted = (
                "SELECT COUNT(*) FROM runs_presentation WHERE state = 'answered' AND prompt_id"
            )
            (count,) = opened.execute(counted).fetchone()
            told = "SELECT COUNT(DISTINCT source) FROM competency_evidence"
            assert opened.execute(told).fetchone() == (count,)
        return int(count)


def _frames(length: int, frame: int) -> int:
    return (length - WAL_HEADER) // frame
