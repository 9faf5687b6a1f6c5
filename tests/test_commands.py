"""What a command says where the database is what keeps it from its work."""

import json
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import get_commands
from django.db import OperationalError, ProgrammingError, connection
from django.db.migrations.recorder import MigrationRecorder

from drills.people import doors, tables
from drills.people.doors import JsonDoor
from readiness import commands
from tests.test_settings import DEVELOPMENT, run_python

# Each of ours that reads or writes rows, with arguments that it looks at no further.
OURS = {
    "add_cohort": "slug name",
    "add_person": "N1 Name",
    "backup": "{folder}/new.zip",
    "bring_in_force": "",
    "check_calls": "slug",
    "check_exercises": "",
    "check_generated": "slug",
    "compare_revisions": "--layout slug",
    "demo_sign_ins": "",
    "erase_person": "N1 --confirm N1",
    "export_person": "N1",
    "give_code": "N1",
    "import_formulary": "fixtures",
    "import_layout": "fixtures/layouts/mesa-box",
    "import_records": "{folder}/roster.csv",
    "import_roster": "{folder}/roster.csv --commit",
    "pair": "N1 N2",
    "play_demo": "",
    "preview_drill": "--layout slug --recipe slug --seed 1",
    "seed_demo": "",
    "send_reminders": "",
    "recompute": "",
    "refit": "",
    "set_person": "N1 --active",
    "simulate_coverage": "slug",
    "stage_plan": "",
    "unpair": "N1 N2",
    "update_reference": "",
}
# Six read no row; one looks for this fault and more, one for a backup of this release.
OTHERS = {
    "doctor",
    "fit_items",
    "judge",
    "predict_log",
    "restore",
    "simulate_cohort",
    "solve",
    "triage",
}
EACH_IN_TURN = """
import contextlib, io, json, sys
from readiness.commands import run
told = {}
for name, rest in json.loads(ASKED).items():
    sys.stdin = io.StringIO('{"layout": "slug"}' if name == "stage_plan" else "amber-basin-7412\\n")
    out, err, code = io.StringIO(), io.StringIO(), 0
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            run(["manage.py", name, *rest.split()])
        except SystemExit as end:
            code = end.code
        except Exception as error:
            code = repr(error)
    told[name] = {"code": code, "out": out.getvalue(), "err": err.getvalue()}
print(json.dumps(told))
"""
NO_TABLES = "database: No tables are there yet. Run manage.py migrate."


def test_every_command_is_asked_here() -> None:
    ours = {name for name, app in get_commands().items() if str(app).startswith("drills.")}
    assert ours == {*OURS, *OTHERS}


def test_without_tables_every_command_says_so_in_one_sentence(tmp_path: Path) -> None:
    """And ends with 2, which no command does that found something out."""
    (tmp_path / "roster.csv").write_text("number,name\nN1,Name\n", encoding="utf-8")
    asked = json.dumps({name: rest.format(folder=tmp_path) for name, rest in OURS.items()})
    bare = {"DATABASE_URL": f"sqlite:///{tmp_path / 'bare.sqlite3'}"}

    done = run_python(f"ASKED = {asked!r}{EACH_IN_TURN}", **DEVELOPMENT, READINESS_DEMO="1", **bare)

    told = json.loads(done.stdout)
    assert set(told) == set(OURS)
    assert json.loads(told["stage_plan"]["out"]) == {"error": NO_TABLES}
    told["stage_plan"]["err"] = NO_TABLES
    for name, each in told.items():
        assert (each["code"], each["err"].splitlines()[-1:]) == (2, [NO_TABLES]), (name, each)
        assert "Traceback" not in each["err"], name


@pytest.fixture
def stumbles(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every command meets a table that is not there."""

    def fail(arguments: list[str]) -> None:
        raise ProgrammingError("no such table")

    monkeypatch.setattr(commands, "execute_from_command_line", fail)


class TestFault:
    @pytest.mark.usefixtures("stumbles")
    def test_of_this_release_a_fault_is_one_of_ours_and_is_raised(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(commands, "fault", lambda: "")

        with pytest.raises(ProgrammingError):
            commands.run(["manage.py", "check_calls", "slug"])

    @pytest.mark.parametrize("asked", [["migrate"], ["check_calls", "slug", "--traceback"]])
    @pytest.mark.usefixtures("stumbles")
    def test_where_tables_are_made_or_all_is_asked_for_it_is_raised_too(
        self, monkeypatch: pytest.MonkeyPatch, asked: list[str]
    ) -> None:
        monkeypatch.setattr(commands, "fault", lambda: NO_TABLES)

        with pytest.raises(ProgrammingError):
            commands.run(["manage.py", *asked])

    @pytest.mark.django_db
    def test_a_database_in_order_has_none(self) -> None:
        assert tables.fault() == ""

    @pytest.mark.django_db
    def test_tables_behind_and_ahead_of_the_release_are_told(self) -> None:
        recorder = MigrationRecorder(connection)
        recorder.record_unapplied("runs", "0001_initial")
        behind = tables.fault()
        recorder.record_applied("runs", "9999_later")

        assert behind == (
            "database: 1 migration is not applied. Take a backup, then run manage.py migrate."
        )
        assert tables.fault() == (
            "database: They are of a later release: runs.9999_later. Run that release."
        )

    def test_one_out_of_reach_is_told_in_one_line(self, monkeypatch: pytest.MonkeyPatch) -> None:
        def fail() -> None:
            raise OperationalError("refused\n\tIs it running?\n")

        monkeypatch.setattr(connection, "ensure_connection", fail)

        assert tables.fault().endswith(
            " cannot be reached: refused Is it running?. "
            "Look at DATABASE_URL, and whether the database runs."
        )


class TestJsonDoor:
    def test_a_fault_of_ours_is_no_fault_of_what_came_in(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        class Broken(JsonDoor):
            def told(self, given: Any) -> dict[str, Any]:
                raise ProgrammingError("no such column")

        monkeypatch.setattr(doors, "fault", lambda: "")
        monkeypatch.setattr("sys.stdin", StringIO("{}"))

        with pytest.raises(ProgrammingError):
            Broken().handle()
