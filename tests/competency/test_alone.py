"""What one refit at a time holds: by whom, until when, and what is said to others."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, transaction

from drills.competency import alone as locking
from drills.competency.alone import BESIDE, UnderWayError, alone
from drills.competency.models import Refit
from tests.competency.others import may_begin
from tests.rigs.test_all_or_nothing import address_of_database

NOW = datetime(2026, 3, 2, tzinfo=UTC)
HOLDS = """
import sys, django
django.setup()
from datetime import UTC, datetime
from drills.competency.alone import alone
with alone(datetime(2026, 3, 1, tzinfo=UTC), stage="half way"):
    print("held", flush=True)
    sys.stdin.read()
"""
# PostgreSQL learns that a process is gone from its connection, which takes it a moment.
A_MOMENT = 5.0


@contextmanager
def another_process() -> Iterator[subprocess.Popen[str]]:
    """One that holds on until it is ended."""
    env = {
        **os.environ,
        "DATABASE_URL": address_of_database(),
        "DJANGO_SETTINGS_MODULE": "readiness.settings",
        "DJANGO_DEBUG": "1",
    }
    held = subprocess.Popen(
        [sys.executable, "-c", HOLDS],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=env,
    )
    with held:
        assert held.stdout is not None
        assert held.stdout.readline() == "held\n"
        yield held
        held.kill()


@pytest.mark.django_db(transaction=True)
class TestOutsideATransaction:
    """On PostgreSQL the lock is of the session then."""

    def test_it_is_held_until_the_end_and_not_longer(self) -> None:
        with alone(NOW):
            assert not may_begin()
        assert may_begin()
        assert not Refit.objects.exists()

    def test_it_is_let_go_of_after_a_failure(self) -> None:
        with pytest.raises(ZeroDivisionError), alone(NOW):
            raise ZeroDivisionError
        assert may_begin()

    def test_a_connection_that_broke_has_let_go(self) -> None:
        """Leaving the block asks nothing of it, and the next one begins."""
        with alone(NOW):
            connection.close()
        assert may_begin()
        with alone(NOW):
            assert not may_begin()

    def test_it_takes_a_transaction_within(self) -> None:
        with alone(NOW), transaction.atomic():
            assert not may_begin()
        assert may_begin()

    def test_within_itself_it_is_refused_alike_on_every_database(self) -> None:
        """The outer one goes on, with its mark and its lock."""
        with alone(NOW, stage="outer"):
            with pytest.raises(UnderWayError, match="outer"), alone(NOW):
                pytest.fail("It began within itself.")
            assert not may_begin()
            assert Refit.objects.get().stage == "outer"
        with alone(NOW):
            assert not may_begin()

    def test_another_process_is_waited_for_and_lets_go_when_killed(self) -> None:
        with another_process() as other:
            with pytest.raises(UnderWayError, match="half way") as refused, alone(NOW):
                pytest.fail("Two began.")
            assert f"end process {other.pid} on " in refused.value.in_full
            os.kill(other.pid, signal.SIGKILL)
            other.wait()
        until = time.monotonic() + A_MOMENT
        while not may_begin() and time.monotonic() < until:
            time.sleep(0.05)

        assert Refit.objects.exists()
        with alone(NOW, stage="the next"):
            assert Refit.objects.get().stage == "the next"


@pytest.mark.django_db
def test_of_a_transaction_it_ends_with_the_block_or_with_the_transaction() -> None:
    with alone(NOW):
        assert not may_begin()
    with alone(NOW):
        assert not may_begin()


@pytest.mark.django_db
def test_a_file_of_another_user_is_named_to_who_runs_the_service(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pages name nothing of the machine; the command says what to do."""

    def refused(path: Path, *_: object) -> None:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(Path, "open", refused)
    monkeypatch.setattr(
        locking, "_hold", lambda held: locking._hold_file(held, tmp_path / f"service{BESIDE}")
    )

    with pytest.raises(UnderWayError) as told, alone(NOW):
        pytest.fail("It began.")
    assert str(tmp_path) not in str(told.value)
    with pytest.raises(CommandError, match=f"service{BESIDE} cannot be opened .Permission denied."):
        call_command("refit")
    assert not Refit.objects.exists()
