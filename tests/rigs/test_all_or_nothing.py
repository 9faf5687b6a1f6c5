"""Whichever write fails, and whenever the process is killed, nothing is half stored."""

import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from django.db import connection

from drills.demo.factories import RigFactory
from drills.engine.layout import Compartment, Layout, Rect, StockLine
from drills.engine.merging import settle
from drills.engine.workbook import to_zip
from drills.people.models import Person
from drills.rigs.actions import discard_draft, import_layout, keep_places, publish_revision
from drills.rigs.models import Layout as LayoutRow
from drills.rigs.models import Revision
from drills.rigs.reading import layout_of
from tests.layouts import practice_rig
from tests.rigs.conftest import NOW
from tests.rigs.test_import import LATER, everything_stored, with_par
from tests.rigs.test_keep_places import RECODED

WRITES = ("INSERT", "UPDATE", "DELETE", "REPLACE")
KILLED = """
import os, signal, sys
import django
django.setup()
from django.core.management import call_command
from django.db import connection
import drills.engine.workbook.parse as parse

path, number = sys.argv[1], int(sys.argv[2])
writes = 0

def guard(execute, sql, params, many, context):
    global writes
    result = execute(sql, params, many, context)
    if sql.lstrip("( ").upper().startswith(("INSERT", "UPDATE", "DELETE", "REPLACE")):
        writes += 1
        if writes == number:
            os.kill(os.getpid(), signal.SIGKILL)
    return result

def die(*_):
    os.kill(os.getpid(), signal.SIGKILL)

if not number:
    parse.read_stock = die
with connection.execute_wrapper(guard):
    call_command("import_layout", path, "--publish")
print(writes)
"""


class WriteFailedError(Exception):
    """The disk was full."""


@contextmanager
def failing_write(number: int) -> Iterator[list[str]]:
    """Let the write of that number fail; the writes so far are listed, the failed one last."""
    writes: list[str] = []

    def guard(
        execute: Callable[..., Any], sql: str, params: Any, many: bool, context: dict[str, Any]
    ) -> Any:
        if sql.lstrip("( ").upper().startswith(WRITES):
            writes.append(sql)
            if len(writes) == number:
                raise WriteFailedError
        return execute(sql, params, many, context)

    with connection.execute_wrapper(guard):
        yield writes


def fail_one_after_another(act: Callable[[], object]) -> int:
    """Fail the first write, then the second, until one act passes; how many failed."""
    before = everything_stored()
    for number in range(1, 100):
        with failing_write(number) as writes:
            try:
                act()
            except WriteFailedError:
                assert everything_stored() == before, f"after {writes[-1]}"
            else:
                assert everything_stored() != before
                return number - 1
    pytest.fail("a hundred writes and no end")


def changed_rig() -> Layout:
    """The practice rig with a place and an item that are new."""
    rig = practice_rig()
    new_place = Compartment("R1", "Rear pouch", face="rear", rect=Rect(0, 0, 2, 2))
    return replace(
        rig,
        compartments=(*rig.compartments, new_place),
        stock=(*rig.stock, StockLine("R1", "Reflective vest", 2)),
    )


@pytest.mark.django_db(transaction=True)
class TestWriteThatFails:
    def test_a_first_import_leaves_no_layout(self, keeper: Person) -> None:
        failed = fail_one_after_another(
            lambda: import_layout(practice_rig(), by=keeper, now=LATER, publish=True)
        )

        assert failed >= 8
        assert LayoutRow.objects.count() == 1

    def test_a_draft_that_is_replaced_and_published(self, keeper: Person) -> None:
        first = import_layout(practice_rig(), by=keeper, now=NOW, publish=True)
        RigFactory.create(revision=first)
        import_layout(with_par(practice_rig(), 8), by=keeper, now=NOW)

        failed = fail_one_after_another(
            lambda: import_layout(changed_rig(), by=keeper, now=LATER, publish=True)
        )

        assert failed >= 12
        assert layout_of(Revision.objects.get(number=2)) == settle(changed_rig(), {})

    def test_a_revision_that_is_published(self, keeper: Person) -> None:
        first = import_layout(practice_rig(), by=keeper, now=NOW, publish=True)
        RigFactory.create(revision=first)
        draft = import_layout(changed_rig(), by=keeper, now=NOW)

        failed = fail_one_after_another(lambda: publish_revision(draft, by=keeper, now=LATER))

        assert failed >= 5

    def test_a_draft_that_is_discarded(self, keeper: Person) -> None:
        import_layout(practice_rig(), by=keeper, now=NOW, publish=True)
        draft = import_layout(changed_rig(), by=keeper, now=NOW)

        failed = fail_one_after_another(lambda: discard_draft(draft, by=keeper, now=LATER))

        assert failed >= 6

    def test_places_that_are_kept(self, keeper: Person) -> None:
        import_layout(practice_rig(), by=keeper, now=NOW, publish=True)
        draft = import_layout(RECODED, by=keeper, now=NOW)

        failed = fail_one_after_another(
            lambda: keep_places(draft, {"Z1": "I1A"}, by=keeper, now=LATER)
        )

        assert failed >= 10


def address_of_database() -> str:
    """The database of the tests, as another process is told of it."""
    at = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{at['NAME']}"
    return f"postgres://{at['USER']}@{at['HOST']}:{at['PORT']}/{at['NAME']}"


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("number", [0, 1, 9, 15])
def test_a_process_that_is_killed_leaves_nothing(
    keeper: Person, tmp_path: Path, number: int
) -> None:
    """Killed after a write of that number, or while it reads the stock where it is none."""
    import_layout(practice_rig(), by=keeper, now=NOW, publish=True)
    workbook = tmp_path / "rig.zip"
    workbook.write_bytes(to_zip(changed_rig()))
    before = everything_stored()

    done = subprocess.run(
        [sys.executable, "-c", KILLED, str(workbook), str(number)],
        capture_output=True,
        check=False,
        env={
            **os.environ,
            "DATABASE_URL": address_of_database(),
            "DJANGO_SETTINGS_MODULE": "readiness.settings",
            "DJANGO_DEBUG": "1",
        },
    )

    assert done.returncode == -signal.SIGKILL, done.stderr
    assert everything_stored() == before
