"""A backup, and a database restored from it."""

import gc
import json
import os
import stat
import zipfile
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from io import StringIO
from pathlib import Path
from threading import Thread
from types import GeneratorType
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.test import Client

from drills.boards.backups import MANIFEST, columns, digest, lines_of, tables
from drills.people.audit import record
from drills.people.models import AuditEntry, CertificationLevel, Person, Role
from drills.rigs.reading import forget_kept
from drills.runs.access import forget_drills
from drills.runs.models import Run
from tests.cast import PASSWORD, make_educator, make_fto, make_hire
from tests.layouts import FIXTURES
from tests.runs.conftest import rig as rig

pytestmark = pytest.mark.django_db(transaction=True)
AT = datetime(2026, 3, 1, 4, 5, 6, 789_123, tzinfo=UTC)


@pytest.fixture
def service(transactional_db: None) -> None:
    """Two people and a line of the audit, with a moment to the microsecond."""
    make_fto(trainee=make_hire())
    record("change person", "HIRE", by=None, now=AT, before={"a": [1.5]}, after={"ü": None})


@pytest.fixture
def taken(service: None, tmp_path: Path) -> Path:
    return backup(tmp_path / "one.zip")


def backup(where: Path) -> Path:
    out = StringIO()
    call_command("backup", str(where), stdout=out, stderr=StringIO())
    return Path(out.getvalue().removeprefix("Wrote ").partition(": ")[0])


def restore(path: Path) -> str:
    out = StringIO()
    call_command("restore", str(path), stdout=out, stderr=StringIO())
    return out.getvalue()


def refusal(path: Path) -> str:
    with pytest.raises(CommandError) as refused:
        restore(path)
    assert "Nothing was stored." in str(refused.value)
    return str(refused.value)


def empty() -> None:
    """Leave the tables and take every row."""
    forget_kept()
    forget_drills()
    with transaction.atomic(), connection.cursor() as cursor:
        for table in tables():
            cursor.execute(f"DELETE FROM {table._meta.db_table}")  # noqa: S608  # a name of ours


def rows() -> int:
    return sum(table._base_manager.count() for table in tables())


def manifest_of(path: Path) -> dict[str, Any]:
    with zipfile.ZipFile(path) as archive:
        found: dict[str, Any] = json.loads(archive.read(MANIFEST))
    return found


def rewritten(path: Path, change: Callable[[str, bytes], bytes]) -> Path:
    """A copy whose members were changed, each with a checksum of the archive that fits it."""
    copy = path.with_name("changed.zip")
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(copy, "w") as target:
        for name in source.namelist():
            target.writestr(name, change(name, source.read(name)))
    return copy


def with_manifest(path: Path, **changes: Any) -> Path:
    def change(name: str, content: bytes) -> bytes:
        return json.dumps(json.loads(content) | changes).encode() if name == MANIFEST else content

    return rewritten(path, change)


def with_rows(path: Path, table: str, change: Callable[[list[Any]], list[Any]]) -> Path:
    """A copy in which the rows of a table were changed, and whose manifest fits them."""
    member, manifest = f"tables/{table}.jsonl", manifest_of(path)
    with zipfile.ZipFile(path) as archive:
        rows = change([json.loads(line) for line in archive.read(member).splitlines()])
    lines = [json.dumps(row, sort_keys=True).encode() + b"\n" for row in rows]
    (entry,) = [each for each in manifest["tables"] if each["table"] == table]
    entry["rows"], entry["sha256"] = digest(lines)
    new = {member: b"".join(lines), MANIFEST: json.dumps(manifest).encode()}
    return rewritten(path, lambda name, content: new.get(name, content))


def with_value(column: str, value: object) -> Callable[[list[Any]], list[Any]]:
    """Changes one value of the first row of the people."""
    at = [field.attname for field in columns(Person)].index(column)
    return lambda rows: [[*rows[0][:at], value, *rows[0][at + 1 :]], *rows[1:]]


def test_the_demonstration_restored_is_the_same_row_by_row(tmp_path: Path) -> None:
    call_command("loaddata", *sorted(FIXTURES.glob("*.json")), verbosity=0)
    call_command("seed_demo", stdout=StringIO())
    before = {table: list(lines_of(table, alias="default")) for table in tables()}
    first = backup(tmp_path / "one.zip")
    empty()

    restore(first)

    assert {table: list(lines_of(table, alias="default")) for table in tables()} == before
    assert Run.objects.exists()
    second = manifest_of(backup(tmp_path / "two.zip"))
    assert second["tables"] == manifest_of(first)["tables"]


def test_whoever_had_a_password_signs_in_again(taken: Path) -> None:
    empty()

    restore(taken)

    assert Client().login(username="HIRE", password=PASSWORD)
    person = Person.objects.get(employee_number="FTO")
    assert person.roles == {Role.FTO}
    assert person.trainees.get().crew.employee_number == "HIRE"


def test_moments_and_nothing_are_kept_to_the_letter(taken: Path) -> None:
    empty()

    restore(taken)

    line = AuditEntry.objects.get()
    assert (line.at, line.before, line.after) == (AT, {"a": [1.5]}, {"ü": None})


def test_numbering_goes_on_after_what_was_restored(taken: Path) -> None:
    empty()
    restore(taken)

    assert make_educator().pk > Person.objects.get(employee_number="FTO").pk


def test_nobody_else_on_the_machine_may_read_it(taken: Path) -> None:
    assert stat.S_IMODE(taken.stat().st_mode) == 0o600


def test_a_folder_gets_a_file_named_by_the_moment(service: None, tmp_path: Path) -> None:
    path = backup(tmp_path)

    assert path.parent == tmp_path
    assert path.name.startswith("readiness-20")


def test_nothing_is_left_beside_it(taken: Path) -> None:
    assert list(taken.parent.iterdir()) == [taken]


def test_stands_in_the_audit_once_it_is_whole(taken: Path) -> None:
    with pytest.raises(CommandError):
        backup(taken)

    line = AuditEntry.objects.get(action="backup")
    held = sum(each["rows"] for each in manifest_of(taken)["tables"])
    assert (line.subject, line.actor, line.after) == ("one.zip", None, {"rows": held})
    assert held == rows() - 1  # the line itself is in the next one


def test_a_file_that_is_there_is_not_overwritten(taken: Path) -> None:
    content = taken.read_bytes()

    with pytest.raises(CommandError, match="is there already; a backup overwrites nothing"):
        backup(taken)

    assert taken.read_bytes() == content


def test_a_folder_that_is_not_there_is_refused(service: None, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="is no folder"):
        backup(tmp_path / "nowhere" / "one.zip")


def test_sessions_are_left_out_and_it_says_why(service: None, tmp_path: Path) -> None:
    assert Client().login(username="HIRE", password=PASSWORD)
    key = Session.objects.get().session_key

    path = backup(tmp_path / "one.zip")

    with zipfile.ZipFile(path) as archive:
        assert not any(key.encode() in archive.read(name) for name in archive.namelist())
    assert "signs in anew" in manifest_of(path)["left_out"]["sessions"]


def test_the_manifest_says_what_is_in_it(taken: Path) -> None:
    manifest = manifest_of(taken)

    people = next(each for each in manifest["tables"] if each["table"] == "people.person")
    assert people["rows"] == 2
    assert len(people["sha256"]) == 64
    assert "people.0001_initial" in manifest["migrations"]
    assert manifest["format"] == "readiness-backup/1"


def test_a_database_with_any_row_is_refused(taken: Path) -> None:
    empty()
    CertificationLevel.objects.create(key="emt", name="EMT", rank=1)

    said = refusal(taken)

    assert "This database holds 1 rows, 1 of them in people.certificationlevel" in said
    assert rows() == 1


@pytest.mark.parametrize("share", [0.0, 0.3, 0.9, 0.999])
def test_a_truncated_file_is_refused(taken: Path, share: float) -> None:
    empty()
    content = taken.read_bytes()
    taken.write_bytes(content[: int(len(content) * share)])

    assert "no whole backup" in refusal(taken)
    assert rows() == 0


def test_a_byte_that_changed_is_refused(taken: Path) -> None:
    empty()
    content = bytearray(taken.read_bytes())
    with zipfile.ZipFile(taken) as archive:
        person = archive.getinfo("tables/people.person.jsonl")
    content[person.header_offset + 90] ^= 0xFF
    taken.write_bytes(bytes(content))

    assert "people.person" in refusal(taken)
    assert rows() == 0


def test_a_row_that_was_changed_is_refused(taken: Path) -> None:
    empty()
    changed = rewritten(taken, lambda _, content: content.replace(b"Noor Hire", b"Noor Hare"))

    assert "people.person has 2 rows with checksum" in refusal(changed)
    assert rows() == 0


def test_another_format_is_refused(taken: Path) -> None:
    empty()

    said = refusal(with_manifest(taken, format="readiness-backup/9"))

    assert "'readiness-backup/9'; this release takes 'readiness-backup/1'" in said


NO_TABLES: list[Any] = [7, None, [], {"table": "people.person"}]
TABLE = {"table": "people.person", "columns": ["id"], "rows": 1, "sha256": "0" * 64}


@pytest.mark.parametrize(
    "changes",
    [
        *({name: None} for name in ("migrations", "made_at", "version", "tables")),
        *({"migrations": [value]} for value in (7, [1], None)),
        *({"tables": [value]} for value in NO_TABLES),
        *({"tables": [TABLE | {name: []}]} for name in ("table", "rows", "sha256")),
        *({"tables": [TABLE | {"columns": value}]} for value in (None, "id", [1])),
        *({"tables": [TABLE | {"sha256": 7}]}, {"tables": [TABLE | {"rows": True}]}),
    ],
    ids=repr,
)
def test_a_manifest_with_a_gap_is_refused(taken: Path, changes: dict[str, Any]) -> None:
    empty()

    assert "it takes one that backup wrote" in refusal(with_manifest(taken, **changes))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda _: [[1]], "Row 1 of people.person is none of that table: "),
        (
            lambda rows: [rows[0], None],
            "Row 2 of people.person is none of that table: it takes a l",
        ),
        (lambda _: [7], "Row 1 of people.person is none of that table: it takes a list, and int"),
        (lambda rows: [dict.fromkeys(map(str, rows[0]))], "takes a list, and dict came in"),
        (lambda rows: [*rows, rows[0]], "Rows 1 to 3 of people.person cannot be stored: "),
        (with_value("id", "one"), "“one” value must be an integer"),
        (with_value("id", 10**30), "Rows 1 to 2 of people.person cannot be stored: "),
        (with_value("name", None), "Rows 1 to 2 of people.person cannot be stored: "),
        (with_value("name", "N" * 500), "name has 500 characters, and at most 120 are taken"),
        (with_value("name", "Noor\ud800"), "Rows 1 to 2 of people.person cannot be stored: "),
        (with_value("name", ["Noor"]), "people.person came out otherwise than it went in"),
        (with_value("is_active", []), "Row 1 of people.person is none of that table: "),
        (with_value("time_allowance", {}), "Row 1 of people.person is none of that table: "),
        (with_value("time_allowance", "1e9"), "people.person c"),  # where, the database decides
        (with_value("last_login", 7), "Row 1 of people.person is none of that table: "),
        (with_value("last_login", "2026-02-30T00:00:00Z"), "Row 1 of people.person is none of"),
        (with_value("certification_id", 999), "A row names another that is not there"),
    ],
)
def test_rows_that_are_no_rows_of_their_table_are_refused(
    taken: Path, change: Callable[[list[Any]], list[Any]], said: str
) -> None:
    """Files that were written to by hand, with a manifest that fits to the byte."""
    empty()

    assert said in refusal(with_rows(taken, "people.person", change))
    assert rows() == 0


def test_a_refusal_holds_no_cursor_that_was_read_halfway(taken: Path) -> None:
    """Where the database takes the value and its reader does not, the error is kept, no cursor."""
    empty()

    refusal(with_rows(taken, "people.person", with_value("time_allowance", "1e9")))

    # By type alone: some objects that wait to be asked are woken by isinstance.
    generators = [each for each in gc.get_objects() if type(each) is GeneratorType]
    assert [each for each in generators if each.__name__ == "cursor_iter" and each.gi_frame] == []


def test_a_copy_that_cannot_be_read_back_gets_no_name(
    service: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A disk that keeps another byte than was written."""

    def garble(descriptor: int) -> None:
        with os.fdopen(os.dup(descriptor), "rb") as file, zipfile.ZipFile(file) as archive:
            person = archive.getinfo("tables/people.person.jsonl")
        byte = os.pread(descriptor, 1, person.header_offset + 90)
        os.pwrite(descriptor, bytes([byte[0] ^ 0xFF]), person.header_offset + 90)

    monkeypatch.setattr("os.fsync", garble)

    with pytest.raises(CommandError, match=r"people\.person"):
        backup(tmp_path / "one.zip")

    assert list(tmp_path.iterdir()) == []
    assert not AuditEntry.objects.filter(action="backup").exists()


def test_other_tables_are_refused_by_the_migrations_they_lack(taken: Path) -> None:
    empty()
    later = [*manifest_of(taken)["migrations"], "people.9999_later"]

    said = refusal(with_manifest(taken, migrations=later))

    assert "differ by: people.9999_later" in said
    assert "takes the release that the backup was taken with" in said


def test_a_member_too_many_is_refused(taken: Path) -> None:
    empty()
    with zipfile.ZipFile(taken, "a") as archive:
        archive.writestr("tables/other.jsonl", "")

    assert "tables/other.jsonl" in refusal(taken)


def test_what_is_no_backup_at_all_is_refused(transactional_db: None, tmp_path: Path) -> None:
    file = tmp_path / "page.zip"
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr("page.html", "")

    assert "has no manifest.json" in refusal(file)
    assert "no whole backup" in refusal(tmp_path / "nothing.zip")


def test_what_comes_out_otherwise_takes_all_back(
    taken: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A column that the database changes as it stores it."""
    empty()
    monkeypatch.setattr(
        Person._meta.get_field("name"), "get_db_prep_save", lambda value, connection: value.upper()
    )

    assert "people.person came out otherwise" in refusal(taken)
    assert rows() == 0


def test_rows_written_meanwhile_are_whole_or_not_in_it(
    service: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A change that comes after the snapshot was taken is in none of the tables."""
    late = AT + timedelta(days=1)

    def write() -> None:
        record("change person", "HIRE", by=None, now=late)
        connection.close()

    def tell(*_: object) -> None:
        somebody_else = Thread(target=write)
        somebody_else.start()
        somebody_else.join()

    monkeypatch.setattr("django.core.management.base.OutputWrapper.write", tell)
    call_command("backup", str(tmp_path / "one.zip"))

    counts = {each["table"]: each["rows"] for each in manifest_of(tmp_path / "one.zip")["tables"]}
    assert counts["people.auditentry"] == 1
    assert AuditEntry.objects.count() > 10
