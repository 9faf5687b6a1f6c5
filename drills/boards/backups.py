"""A backup: every row that the rooms keep, from one moment, in one file that was read back.

The file is a zip of `manifest.json` and, for each table, `tables/NAME.jsonl`: one JSON list a row,
in the order of the primary key. No database is needed to read it, and it is the same whichever
database it was taken from.
"""

import hashlib
import json
import os
import tomllib
import zipfile
import zlib
from base64 import b64encode
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from sqlite3 import connect
from tempfile import TemporaryDirectory
from typing import Any
from uuid import UUID

from django.apps import apps
from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, connection, connections, models, transaction
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from drills.people.audit import record

FORMAT = "readiness-backup/1"
MANIFEST = "manifest.json"
ROOMS = "drills."
LEFT_OUT = {
    "sessions": "they would let in again whoever was signed in when the backup was taken; "
    "everybody signs in anew",
    "content types and permissions": "migrate makes them; nothing here uses them",
}
OWNER_ALONE = 0o600
# What reading a damaged archive raises; a member that asks for a password is a RuntimeError.
DAMAGE = (OSError, EOFError, zipfile.BadZipFile, zlib.error, RuntimeError)
ROWS_AT_ONCE = 2000

Tell = Callable[[str], object]
Table = type[models.Model]


class BackupRefusedError(ValueError):
    """Raised when a backup cannot be written, or a file is no backup that may be restored."""


def write_backup(where: Path, *, now: datetime, tell: Tell) -> tuple[Path, dict[str, Any]]:
    """Write a backup into a folder or to a file that does not exist; the file and its manifest.

    It bears its name only once it was read back and is what was read from the database; then the
    audit keeps that it was taken, so the line is in the next backup.
    """
    path = _target(where, now)
    part = path.with_name(f".{path.name}.part")
    try:
        descriptor = os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR, OWNER_ALONE)
    except OSError as error:
        raise BackupRefusedError(f"{part} cannot be written: {error.strerror}.") from error
    try:
        with os.fdopen(descriptor, "w+b") as file:
            manifest = _write(file, path.parent, now, tell)
            file.flush()
            os.fsync(file.fileno())
        tell("Reading it back.")
        with zipfile.ZipFile(part) as archive:
            verify(archive, manifest)
        _refuse_existing(path)
        part.rename(path)
    finally:
        part.unlink(missing_ok=True)
    rows = sum(each["rows"] for each in manifest["tables"])
    record("backup", path.name[:160], by=None, now=now, after={"rows": rows})
    return path, manifest


def tables() -> list[Table]:
    """Every table of the rooms, those that link two rows among them, in a lasting order."""
    found = apps.get_models(include_auto_created=True)
    own = [each for each in found if each._meta.app_config.name.startswith(ROOMS)]
    return sorted(own, key=lambda table: table._meta.label_lower)


def columns(table: Table) -> list["models.Field[Any, Any]"]:
    return list(table._meta.concrete_fields)


def lines_of(table: Table, *, alias: str) -> Iterator[bytes]:
    """The rows of a table as they stand in a backup, few in memory at a time."""
    names = [field.attname for field in columns(table)]
    rows = table._base_manager.using(alias).order_by("pk").values_list(*names)
    for row in rows.iterator(chunk_size=ROWS_AT_ONCE):
        text = json.dumps(row, default=_plain, ensure_ascii=False, sort_keys=True)
        yield text.encode() + b"\n"


def digest(lines: Iterable[bytes]) -> tuple[int, str]:
    """How many lines there are, and the SHA-256 of all."""
    counted, sum_of = 0, hashlib.sha256()
    for line in lines:
        counted += 1
        sum_of.update(line)
    return counted, sum_of.hexdigest()


def file_of(name: str) -> str:
    """Where the rows of a table lie in the archive."""
    return f"tables/{name}.jsonl"


def migrations_known() -> list[str]:
    """The migrations that this release has, as a backup names them."""
    found = MigrationLoader(None, ignore_no_migrations=True).disk_migrations
    return sorted(f"{app}.{name}" for app, name in found if app in _labels())


def migrations_applied(alias: str = DEFAULT_DB_ALIAS) -> list[str]:
    """The migrations that a database had."""
    found = MigrationRecorder(connections[alias]).applied_migrations()
    return sorted(f"{app}.{name}" for app, name in found if app in _labels())


def verify(archive: zipfile.ZipFile, manifest: dict[str, Any]) -> None:
    """Refuse an archive whose files are not, to the byte, what its manifest says."""
    expected = {MANIFEST, *(file_of(each["table"]) for each in manifest["tables"])}
    found = archive.namelist()
    if set(found) != expected or len(found) != len(expected):
        odd = ", ".join(sorted(set(found) ^ expected)) or "a file twice"
        raise BackupRefusedError(f"The file and its manifest differ in what is in it: {odd}.")
    for each in manifest["tables"]:
        try:
            with archive.open(file_of(each["table"])) as file:
                rows, sha256 = digest(file)
        except DAMAGE as error:
            raise BackupRefusedError(f"{each['table']} cannot be read: {error}.") from error
        if (rows, sha256) != (each["rows"], each["sha256"]):
            raise BackupRefusedError(
                f"{each['table']} has {rows} rows with checksum {sha256[:12]}; "
                f"its manifest says {each['rows']} with {each['sha256'][:12]}."
            )


def _write(file: Any, folder: Path, now: datetime, tell: Tell) -> dict[str, Any]:
    with (
        _standing_still(folder) as alias,
        zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive,
    ):
        manifest = {
            "format": FORMAT,
            "version": _version(),
            "made_at": now.isoformat(),
            "database": connection.vendor,
            "migrations": migrations_applied(alias),
            "left_out": LEFT_OUT,
            "tables": [_store(archive, table, alias, tell) for table in tables()],
        }
        archive.writestr(MANIFEST, json.dumps(manifest, indent=1))
    return manifest


def _store(archive: zipfile.ZipFile, table: Table, alias: str, tell: Tell) -> dict[str, Any]:
    name = table._meta.label_lower
    with archive.open(file_of(name), "w", force_zip64=True) as file:
        rows, sha256 = digest(_copied(lines_of(table, alias=alias), file))
    tell(f"{name}: {rows}")
    names = [field.attname for field in columns(table)]
    return {"table": name, "columns": names, "rows": rows, "sha256": sha256}


def _copied(lines: Iterable[bytes], file: Any) -> Iterator[bytes]:
    for line in lines:
        file.write(line)
        yield line


@contextmanager
def _standing_still(folder: Path) -> Iterator[str]:
    """The alias of a database that shows one moment, whatever is written meanwhile.

    A reader of SQLite keeps writers waiting, which give up after some seconds; so what is read
    is a copy, taken page by page at once and gone afterwards. PostgreSQL needs none.
    """
    if connection.vendor != "sqlite":
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
            yield DEFAULT_DB_ALIAS
        return
    with TemporaryDirectory(prefix=".readiness-", dir=folder) as beside:
        alias, copied = "snapshot", Path(beside) / "snapshot.sqlite3"
        connection.ensure_connection()
        to = connect(copied)
        connection.connection.backup(to)
        to.close()
        connections[alias] = connection.copy(alias=alias)
        connections[alias].settings_dict["NAME"] = str(copied)
        try:
            yield alias
        finally:
            connections[alias].close()
            del connections[alias]


def _target(where: Path, now: datetime) -> Path:
    path = where / f"readiness-{now:%Y%m%dT%H%M%SZ}.zip" if where.is_dir() else where
    _refuse_existing(path)
    if not path.parent.is_dir():
        raise BackupRefusedError(
            f"{path.parent} is no folder; it takes a folder that is there, or a new file in one."
        )
    return path


def _refuse_existing(path: Path) -> None:
    if path.exists():
        raise BackupRefusedError(f"{path} is there already; a backup overwrites nothing.")


def _plain(value: object) -> str:
    if isinstance(value, (datetime, date)):
        return value.isoformat()
    if isinstance(value, (Decimal, UUID)):
        return str(value)
    if isinstance(value, (bytes, memoryview)):
        return b64encode(value).decode()
    raise TypeError(f"A backup has no form for {type(value).__name__}.")


def _labels() -> set[str]:
    return {each.label for each in apps.get_app_configs() if each.name.startswith(ROOMS)}


def _version() -> str:
    """The version as the release names it, beside `manage.py`."""
    file = Path(settings.BASE_DIR) / "pyproject.toml"
    found: str = tomllib.loads(file.read_text())["project"]["version"]
    return found
