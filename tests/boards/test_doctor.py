"""The command that looks a service over."""

import json
from collections.abc import Iterator
from datetime import timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.db import OperationalError, connection, transaction
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from drills.boards import doctor
from drills.competency.models import Fit
from drills.competency.refitting import refit
from drills.demo.factories import PersonFactory
from drills.formulary.models import FormularyRevision
from drills.people.audit import record
from drills.people.models import Person, Role, SignInCode
from drills.rigs.actions import report_absence
from drills.rigs.models import Absence, Rig
from tests.competency.test_refit import answered as answered
from tests.formulary.conftest import director as director
from tests.formulary.conftest import own as own
from tests.formulary.conftest import put_in_force
from tests.layouts import FIXTURES
from tests.runs.conftest import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def site(settings: Any, tmp_path: Path) -> Any:
    """The settings of a service, its static files collected."""
    settings.DEBUG = False
    settings.SECRET_KEY = "a key of a service that nobody else has ever read 1234"
    settings.ALLOWED_HOSTS = ["readiness.example"]
    settings.SECURE_SSL_REDIRECT = settings.SESSION_COOKIE_SECURE = True
    settings.STATIC_ROOT = str(tmp_path / "static")
    call_command("collectstatic", interactive=False, verbosity=0)
    return settings


@pytest.fixture(scope="module")
def reference(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """The reference data, read once; what a test changes is taken back after it."""
    with django_db_blocker.unblock(), transaction.atomic():
        call_command("loaddata", *sorted(FIXTURES.glob("*.json")), verbosity=0)
        yield
        transaction.set_rollback(True)


@pytest.fixture
def whole(reference: None, site: Any, admin: Person, rig: Rig) -> None:
    """A service in order: the reference data first, as an operator loads it."""


def findings(*, ends: int) -> dict[str, dict[str, str]]:
    """What was found, by what was looked at; the command ends with that status."""
    out = StringIO()
    status = 0
    try:
        call_command("doctor", "--json", stdout=out)
    except SystemExit as ended:
        status = int(ended.code or 0)
    document = json.loads(out.getvalue())
    assert status == ends
    assert document["format"] == "readiness-doctor/1"
    return {each["what"]: each for each in document["findings"]}


def test_a_service_in_order_ends_well(whole: None) -> None:
    found = findings(ends=0)

    states = {what: each["state"] for what, each in found.items()}
    assert "wrong" not in states.values()
    assert {what for what, state in states.items() if state == "look"} <= {
        *("formulary", "must-haves", "backups"),
    }
    assert "259 needs" in found["reference data"]["words"]


def test_every_finding_that_is_not_fine_says_what_to_do(whole: None) -> None:
    for each in findings(ends=0).values():
        assert bool(each["to_do"]) == (each["state"] != "fine"), each


def test_lines_say_what_how_it_is_and_what_to_do(whole: None) -> None:
    out = StringIO()

    call_command("doctor", stdout=out)

    assert "administrators  fine   1 active.\n" in out.getvalue()
    assert "backups         look   " in out.getvalue()


@pytest.mark.parametrize(
    ("what", "changes"),
    [
        ("debug", {"DEBUG": True}),
        ("secret key", {"SECRET_KEY": "development-only-key-never-for-a-real-service"}),
        ("HTTPS", {"SECURE_SSL_REDIRECT": False}),
        ("static files", {"STATIC_ROOT": "/nowhere/static"}),
    ],
)
def test_a_setting_no_service_may_have_is_wrong(
    whole: None, site: Any, what: str, changes: dict[str, Any]
) -> None:
    for name, value in changes.items():
        setattr(site, name, value)

    assert findings(ends=1)[what]["state"] == "wrong"


def test_a_style_sheet_of_another_release_is_wrong(whole: None, site: Any) -> None:
    Path(site.STATIC_ROOT, "drills", "readiness.css").write_text("main {}")

    assert findings(ends=1)["static files"]["words"].startswith("1 of ")


def test_a_name_of_this_machine_alone_is_looked_at(whole: None, site: Any) -> None:
    site.ALLOWED_HOSTS = ["127.0.0.1"]

    assert "Set HOST" in findings(ends=0)["names"]["to_do"]


def test_a_site_without_an_administrator_is_wrong(whole: None, admin: Person) -> None:
    Person.objects.filter(pk=admin.pk).update(is_active=False)

    assert findings(ends=1)["administrators"]["state"] == "wrong"


def test_administrators_of_whom_none_can_sign_in_are_wrong(whole: None, admin: Person) -> None:
    PersonFactory.create(employee_number="B2", roles=[Role.ADMIN], password=None)
    assert findings(ends=0)["administrators"]["words"] == "1 active."
    admin.set_unusable_password()
    admin.save()

    found = findings(ends=1)["administrators"]

    assert found["words"] == "2 active, none of them with a password or a code that is good."
    call_command(*found["to_do"].removeprefix("Run manage.py ").rstrip(".").split())
    assert findings(ends=0)["administrators"]["words"] == "1 active."
    SignInCode.objects.update(lapses_at=timezone.now())
    assert findings(ends=1)["administrators"]["state"] == "wrong"


def test_tables_of_an_earlier_release_are_wrong_and_not_looked_into(whole: None) -> None:
    MigrationRecorder(connection).record_unapplied("runs", "0006_marks_of_answers")

    found = findings(ends=1)

    assert "1 migration is not applied" in found["tables"]["words"]
    assert "reference data" not in found


def test_tables_of_a_later_release_are_wrong(whole: None) -> None:
    MigrationRecorder(connection).record_applied("runs", "9999_later")

    assert "runs.9999_later" in findings(ends=1)["tables"]["words"]


def test_a_database_out_of_reach_is_wrong_and_nothing_else_is_asked(
    whole: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail() -> None:
        raise OperationalError("no such host")

    monkeypatch.setattr(connection, "ensure_connection", fail)

    found = findings(ends=1)

    assert "cannot be reached: no such host" in found["database"]["words"]
    assert "tables" not in found


def test_a_damaged_file_is_wrong(whole: None, monkeypatch: pytest.MonkeyPatch) -> None:
    if connection.vendor != "sqlite":
        assert findings(ends=0)["storage"]["state"] == "fine"
        return
    monkeypatch.setattr(doctor, "_asked", lambda statement: "row 3 missing from index")

    assert "damaged" in findings(ends=1)["storage"]["words"]


def test_a_row_that_names_nobody_is_wrong(whole: None, admin: Person) -> None:
    """A file that was written to by hand; a database that holds its keys has no such row."""
    if connection.vendor != "sqlite":
        return
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("UPDATE people_rolegrant SET person_id = 99999")

        words = findings(ends=1)["storage"]["words"]

        transaction.set_rollback(True)
    assert words.endswith(
        "The file is damaged: a row of people_rolegrant names another that is not there."
    )


@pytest.mark.parametrize(("free", "state"), [(2**40, "fine"), (2**30, "look"), (2**20, "wrong")])
def test_a_full_disk_is_told_in_time(
    whole: None, monkeypatch: pytest.MonkeyPatch, free: int, state: str
) -> None:
    monkeypatch.setattr("shutil.disk_usage", lambda folder: Usage(free))

    assert findings(ends=int(state == "wrong"))["disk"]["state"] == state


class Usage:
    def __init__(self, free: int) -> None:
        self.free = free


def test_an_approved_formulary_is_fine(
    whole: None, director: Person, own: FormularyRevision
) -> None:
    put_in_force(own, by=director, document="Protocols, edition 7", now=NOW)

    assert "by Di Rector" in findings(ends=0)["formulary"]["words"]


def test_a_report_that_waits_more_than_two_weeks_is_looked_at(
    whole: None, rig: Rig, admin: Person
) -> None:
    report_absence(
        ["I1A"], thing="tourniquet", rig=rig, revision=rig.revision, by=admin, now=timezone.now()
    )
    assert findings(ends=0)["reports"]["state"] == "fine"

    Absence.objects.update(reported_at=timezone.now() - timedelta(days=15))

    assert findings(ends=0)["reports"]["words"].startswith("1 of what is not where the layout says")


def test_a_fit_of_these_nights_is_fine_and_an_older_one_is_looked_at(
    whole: None, answered: None
) -> None:
    assert "none yet" in findings(ends=0)["refit"]["words"]
    now = timezone.now()
    refit(now=lambda: now - timedelta(hours=47), say=lambda _: None)
    assert findings(ends=0)["refit"]["state"] == "fine"

    Fit.objects.update(made_at=now - timedelta(days=3, hours=1))
    found = findings(ends=0)["refit"]

    assert found["state"] == "look"
    assert found["words"].endswith("That is 3 days ago.")
    assert "manage.py refit" in found["to_do"]


def test_a_fit_that_cannot_be_read_is_looked_at(whole: None, answered: None) -> None:
    refit(now=timezone.now, say=lambda _: None)
    Fit.objects.update(figures={"coefficients": {"another": 1.0}}, made_at=timezone.now())

    assert "cannot read it" in findings(ends=0)["refit"]["words"]


def test_must_haves_without_an_item_are_counted_by_layout(whole: None, rig: Rig) -> None:
    found = findings(ends=0)["must-haves"]

    assert found["state"] == "look"
    assert f"{rig.revision}: " in found["words"]


def test_a_clock_behind_the_records_is_wrong(whole: None, admin: Person) -> None:
    record("add rig", "12", by=admin, now=timezone.now() + timedelta(hours=2))

    assert findings(ends=1)["clock"]["to_do"] == "Set the clock."
