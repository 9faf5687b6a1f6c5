"""Restoring a backup into a database that holds nothing yet, whole or not at all."""

import json
import zipfile
from itertools import islice
from pathlib import Path
from traceback import clear_frames
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.color import no_style
from django.db import (
    DEFAULT_DB_ALIAS,
    DatabaseError,
    IntegrityError,
    connection,
    models,
    transaction,
)

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

WHOLE: dict[str, type] = {"migrations": list, "made_at": str, "version": str, "tables": list}
OF_TABLE: dict[str, type] = {"table": str, "columns": list, "rows": int, "sha256": str}
# What a value raises that its column does not take, here or in the database.
UNFIT = (TypeError, ValueError, ArithmeticError, RecursionError, ValidationError, DatabaseError)


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
    whole = _shaped(found, WHOLE)
    whole["tables"] = [_shaped(each, OF_TABLE) for each in whole["tables"]]
    if not _are_texts(whole["migrations"], *(each["columns"] for each in whole["tables"])):
        raise BackupRefusedError(
            f"The {MANIFEST} has migrations or columns that are no names; it takes one that "
            "backup wrote."
        )
    return whole


def _shaped(found: object, shape: dict[str, type]) -> dict[str, Any]:
    """What is asked for of a part of the manifest, each of its type."""
    if not isinstance(found, dict):
        raise BackupRefusedError(
            f"The {MANIFEST} says {found!r} of a table; it takes one that backup wrote."
        )
    for name, kind in shape.items():
        if type(found.get(name)) is not kind:
            raise BackupRefusedError(
                f"The {MANIFEST} has {found.get(name)!r} for {name}; it takes one that "
                "backup wrote."
            )
    return {name: found[name] for name in shape}


def _are_texts(*lists: list[object]) -> bool:
    return all(isinstance(each, str) for words in lists for each in words)


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
    name = table._meta.label_lower
    with archive.open(file_of(name)) as file:
        numbered = enumerate(file, start=1)
        while lines := list(islice(numbered, ROWS_AT_ONCE)):
            rows = [_row(table, number, line) for number, line in lines]
            try:
                # Not by save(), which guards rows against people and sets times by itself.
                table._base_manager.bulk_create(rows)
            except UNFIT as error:
                raise BackupRefusedError(
                    f"Rows {lines[0][0]} to {lines[-1][0]} of {name} cannot be stored: {error}."
                ) from error


def _row(table: Table, number: int, line: bytes) -> Any:
    try:
        values = json.loads(line)
        if not isinstance(values, list):
            raise TypeError(f"it takes a list, and {type(values).__name__} came in")
        pairs = zip(columns(table), values, strict=True)
        return table(**{field.attname: _value(field, value) for field, value in pairs})
    except UNFIT as error:
        told = "; ".join(error.messages) if isinstance(error, ValidationError) else error
        raise BackupRefusedError(
            f"Row {number} of {table._meta.label_lower} is none of that table: {told}."
        ) from error


def _value(field: "models.Field[Any, Any]", given: object) -> Any:
    """A value as its column has it; how long a text is is measured here, as SQLite does not."""
    value = field.to_python(given)
    if field.max_length and isinstance(value, str) and len(value) > field.max_length:
        raise ValueError(
            f"{field.name} has {len(value)} characters, and at most {field.max_length} are taken"
        )
    return value


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
        try:
            stored = digest(lines_of(table, alias=DEFAULT_DB_ALIAS))
        except UNFIT as error:
            # A cursor read halfway would live as long as the error is kept.
            clear_frames(error.__traceback__)
            raise BackupRefusedError(
                f"{each['table']} came out otherwise than it went in: {error}."
            ) from error
        if stored != (each["rows"], each["sha256"]):
            raise BackupRefusedError(
                f"{each['table']} came out otherwise than it went in: {stored[0]} rows stored, "
                f"{each['rows']} in the backup. Nothing was kept."
            )
