"""Restoring a backup into a database that holds nothing yet, whole or not at all."""

import json
import zipfile
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import Any

from django.core.management.color import no_style
from django.db import DEFAULT_DB_ALIAS, connection, transaction
from django.db.utils import IntegrityError

from drills.boards.backups import (
    DAMAGE,
    FORMAT,
    MANIFEST,
    ROWS_AT_ONCE,
    BackupRefusedError,
    Table,
    Tell,
    columns,
    digest,
    file_of,
    lines_of,
    migrations_applied,
    migrations_known,
    tables,
    verify,
)


def restore_backup(path: Path, *, tell: Tell) -> dict[str, Any]:
    """Load a backup and compare what is stored with it; its manifest.

    Any difference takes all of it back.
    """
    try:
        archive = zipfile.ZipFile(path)
    except DAMAGE as error:
        raise BackupRefusedError(
            f"{path} is no whole backup ({error}); it takes a file that the command backup wrote."
        ) from error
    with archive:
        manifest = _manifest(archive)
        _refuse_other_release(manifest)
        tell("Reading it through.")
        verify(archive, manifest)
        with transaction.atomic():
            _refuse_rows()
            for each, table in zip(manifest["tables"], tables(), strict=True):
                _load(archive, table)
                tell(f"{each['table']}: {each['rows']}")
            _settle()
            tell("Comparing what is stored with it.")
            _compare(manifest)
    return manifest


def _manifest(archive: zipfile.ZipFile) -> dict[str, Any]:
    try:
        found = json.loads(archive.read(MANIFEST))
    except (KeyError, ValueError, *DAMAGE) as error:
        raise BackupRefusedError(
            f"The file has no {MANIFEST} that can be read; it takes one that backup wrote."
        ) from error
    came = found.get("format") if isinstance(found, dict) else found
    if came != FORMAT:
        raise BackupRefusedError(f"The format is {came!r}; this release takes {FORMAT!r}.")
    try:
        whole = {name: found[name] for name in ("migrations", "made_at", "version")}
        named = ("table", "columns", "rows", "sha256")
        whole["tables"] = [{name: each[name] for name in named} for each in found["tables"]]
    except (KeyError, TypeError) as error:
        raise BackupRefusedError(
            f"The {MANIFEST} lacks {error}; it takes one that backup wrote."
        ) from error
    return whole


def _refuse_other_release(manifest: dict[str, Any]) -> None:
    """Rows mean what the tables meant when they were stored, so both are the same to the letter."""
    known = migrations_known()
    if manifest["migrations"] != known:
        odd = ", ".join(sorted(set(manifest["migrations"]) ^ set(known)))
        raise BackupRefusedError(
            f"The backup is of version {manifest['version']}; its tables and those of this "
            f"release differ by: {odd}. It takes the release that the backup was taken with; "
            "bring it up to date once it is restored."
        )
    if migrations_applied() != known:
        raise BackupRefusedError(
            "The tables of this database are not those of this release; run migrate first."
        )
    own = [
        (table._meta.label_lower, [field.attname for field in columns(table)]) for table in tables()
    ]
    if [(each["table"], each["columns"]) for each in manifest["tables"]] != own:
        raise BackupRefusedError("The tables or columns of the backup are not this release's.")


def _refuse_rows() -> None:
    held = {table._meta.label_lower: table._base_manager.count() for table in tables()}
    if any(held.values()):
        most = max(held, key=lambda name: held[name])
        raise BackupRefusedError(
            f"This database holds {sum(held.values())} rows, {held[most]} of them in {most}; "
            "restore overwrites nothing. It takes a database in which migrate was run and "
            "nothing else, loaddata neither."
        )


def _load(archive: zipfile.ZipFile, table: Table) -> None:
    with archive.open(file_of(table._meta.label_lower)) as file:
        while lines := list(islice(file, ROWS_AT_ONCE)):
            # Not by save(), which guards rows against people and sets times by itself.
            table._base_manager.bulk_create(_rows(table, lines))


def _rows(table: Table, lines: list[bytes]) -> Iterator[Any]:
    fields = columns(table)
    for line in lines:
        pairs = zip(fields, json.loads(line), strict=True)
        yield table(**{field.attname: field.to_python(value) for field, value in pairs})


def _settle() -> None:
    """Hold every key to its row, and let numbering go on after the highest."""
    try:
        connection.check_constraints()
    except IntegrityError as error:
        raise BackupRefusedError(f"A row names another that is not there: {error}.") from error
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), tables()):
            cursor.execute(statement)


def _compare(manifest: dict[str, Any]) -> None:
    for each, table in zip(manifest["tables"], tables(), strict=True):
        stored = digest(lines_of(table, alias=DEFAULT_DB_ALIAS))
        if stored != (each["rows"], each["sha256"]):
            raise BackupRefusedError(
                f"{each['table']} came out otherwise than it went in: {stored[0]} rows stored, "
                f"{each['rows']} in the backup. Nothing was kept."
            )
