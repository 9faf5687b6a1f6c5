"""The reference data of a release brought in row by row, past whatever was edited here.

A row is named by its table and its lasting key, never by its number. It counts as edited where it
is not what was last brought in; of a row that nothing was noted of, nobody can tell.
"""

import json
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from hashlib import sha256
from pathlib import Path
from typing import Any

from django.apps import apps
from django.core import serializers
from django.core.serializers.base import DeserializationError
from django.core.serializers.json import DjangoJSONEncoder
from django.db import DatabaseError, models, transaction

from drills.people.audit import record
from drills.rigs.models import ReferenceRow, RequiredRow

NEW, CHANGED, SAME = "new", "changed", "as it was"
EDITED, UNKNOWN, GONE = "edited here, left", "of unknown making, left", "taken away here, left"
WITHDRAWN = "withdrawn by this release, stays"
TAKEN_OUT = "withdrawn by this release, taken out of its sample"
LIST_LEFT = "of a list that was left, left"


class ReferenceRefusedError(ValueError):
    """Raised when a file holds no reference data that this release can read."""


@dataclass(frozen=True, slots=True)
class RowTold:
    """What became of one row, named by its table and key; `words` say more of it."""

    name: str
    what: str
    words: str = ""


@dataclass(slots=True)
class Update:
    """One run over the files: what was noted before, and what became of each row."""

    taken: Collection[str]
    marks: dict[tuple[str, str], str]
    told: list[RowTold] = field(default_factory=list)
    came: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))

    @property
    def counts(self) -> Counter[str]:
        return Counter(each.what for each in self.told)


def update_reference(
    files: Iterable[Path], *, now: datetime, is_trial: bool = False, taken: Collection[str] = ()
) -> Update:
    """Bring in what nobody edited, all of it or nothing; a trial stores nothing.

    `taken` names rows that the release's words replace whatever was done to them.
    """
    texts = _by_room(files)
    with transaction.atomic():
        rows = ReferenceRow.objects.values_list("table", "key", "checksum")
        update = Update(taken, {(table, key): checksum for table, key, checksum in rows})
        for file, text in texts:
            for row in _rows(file, text):
                update.told.append(_bring(row, update))
        if unknown := set(taken) - {each.name for each in update.told}:
            raise ReferenceRefusedError(
                f"{', '.join(sorted(unknown))} came in. A row is named as in rigs.need:hard-hat."
            )
        update.told += _withdrawn(update)
        _note(update, now=now)
        transaction.set_rollback(is_trial)
    return update


def _by_room(files: Iterable[Path]) -> list[tuple[Path, str]]:
    """The files of lower rooms first, since keys point downward alone."""
    order = {each.label: place for place, each in enumerate(apps.get_app_configs())}
    found = []
    for file in files:
        try:
            text = file.read_text(encoding="utf-8")
            room = json.loads(text)[0]["model"].partition(".")[0]
            found.append((order[room], file, text))
        except (OSError, ValueError, LookupError, TypeError, AttributeError) as error:
            raise ReferenceRefusedError(
                f"{file} holds no reference data ({error!r}). It takes a fixture of a release."
            ) from error
    return [(file, text) for _, file, text in sorted(found)]


def _rows(file: Path, text: str) -> Iterator[models.Model]:
    try:
        for each in serializers.deserialize("json", text):
            yield each.object
    except (DeserializationError, DatabaseError) as error:
        raise ReferenceRefusedError(f"{file} cannot be brought in: {error}.") from error


def _bring(row: models.Model, update: Update) -> RowTold:
    """Store a row where it is new or nobody edited the one that is here."""
    table, key = row._meta.label_lower, _words_of(_key(row))
    name = f"{table}:{key}"
    update.came[table].add(key)
    if isinstance(row, RequiredRow) and not row.of.is_sample:
        return RowTold(name, LIST_LEFT)
    held = type(row)._base_manager.filter(**_key(row)).first()
    mark = update.marks.get((table, key))
    changed = _changed(held, row)
    if held and not changed:
        update.marks[table, key] = _checksum(held)
        return RowTold(name, SAME)
    if name not in update.taken and (kept := _why_kept(held, mark)):
        return RowTold(name, kept, ", ".join(changed))
    row.pk, became = (held.pk, CHANGED) if held else (None, NEW)
    _store(row, update)
    return RowTold(name, became, ", ".join(changed))


def _why_kept(held: models.Model | None, mark: str | None) -> str:
    """Why a release's words do not go before what is here; empty where they do."""
    if held is None:
        return GONE if mark else ""
    if mark is None:
        return UNKNOWN
    return "" if mark == _checksum(held) else EDITED


def _changed(held: models.Model | None, row: models.Model) -> list[str]:
    """The columns in which two rows differ; none where nothing is here."""
    if held is None:
        return []
    now = _values(held)
    return [column for column, value in _values(row).items() if now[column] != value]


def _store(row: models.Model, update: Update) -> None:
    """Save it as its room does, past no guard of its own, and note how it came out."""
    row.save()
    row.refresh_from_db()
    update.marks[row._meta.label_lower, _words_of(_key(row))] = _checksum(row)


def _withdrawn(update: Update) -> list[RowTold]:
    """Rows that a former release brought and these files have no more, with how often each is
    used; but for rows of a sample nothing is taken away, and what is not here any longer is
    forgotten."""
    gone = [
        (table, key)
        for table, key in update.marks
        if table in update.came and key not in update.came[table]
    ]
    return [told for table, key in gone if (told := _gone(table, key, update))]


def _gone(table: str, key: str, update: Update) -> RowTold | None:
    model = apps.get_model(table)
    row = next((each for each in model._base_manager.all() if _words_of(_key(each)) == key), None)
    if row is None:
        del update.marks[table, key]
        return None
    if isinstance(row, RequiredRow) and row.of.is_sample:
        row.delete()
        del update.marks[table, key]
        return RowTold(f"{table}:{key}", TAKEN_OUT)
    uses = sum(
        relation.related_model._base_manager.filter(**{relation.field.name: row}).count()
        for relation in model._meta.related_objects
    )
    return RowTold(f"{table}:{key}", WITHDRAWN, f"used {uses} times")


def _note(update: Update, *, now: datetime) -> None:
    """Keep how each row came out, and one line of the audit for all of them."""
    ReferenceRow.objects.all().delete()
    ReferenceRow.objects.bulk_create(
        (
            ReferenceRow(table=table, key=key, checksum=checksum)
            for (table, key), checksum in sorted(update.marks.items())
        ),
        batch_size=500,
    )
    if set(update.counts) != {SAME}:
        record("update reference", "data", by=None, now=now, after=dict(update.counts))


def _key(row: models.Model) -> dict[str, Any]:
    """What names a row for good: a pair that is unique, else its one column that is."""
    for constraint in row._meta.constraints:
        if isinstance(constraint, models.UniqueConstraint) and constraint.condition is None:
            return {name: getattr(row, name) for name in constraint.fields}
    unique = [
        each.name for each in row._meta.concrete_fields if each.unique and not each.primary_key
    ]
    if not unique:
        raise ReferenceRefusedError(f"{row._meta.label_lower} has nothing that names its rows.")
    return {unique[0]: getattr(row, unique[0])}


def _words_of(key: dict[str, Any]) -> str:
    parts = [
        part
        for value in key.values()
        for part in (value.natural_key() if hasattr(value, "natural_key") else (value,))
    ]
    return "/".join(map(str, parts))


def _values(row: models.Model) -> dict[str, str]:
    """What a row says by column, its number left out, however it came in."""
    return {
        column.name: json.dumps(_plain(column, row), cls=DjangoJSONEncoder, sort_keys=True)
        for column in row._meta.concrete_fields
        if not column.primary_key
    }


def _plain(column: "models.Field[Any, Any]", row: models.Model) -> Any:
    value = column.value_from_object(row)
    if isinstance(column, models.DecimalField) and value is not None:
        return str(round(Decimal(value), column.decimal_places or 0).normalize())
    return value


def _checksum(row: models.Model) -> str:
    return sha256(json.dumps(_values(row), sort_keys=True).encode()).hexdigest()
