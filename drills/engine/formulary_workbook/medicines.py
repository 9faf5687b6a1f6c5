"""The sheets of medicines and presentations, and cells elsewhere that name what they hold."""

import re
from collections.abc import Collection, Iterable
from difflib import get_close_matches

from drills.engine.concentrations import written_volume
from drills.engine.formulary_workbook.amounts import choice, strength, volume
from drills.engine.formulary_workbook.book import Known, Medicine, Packed
from drills.engine.formulary_workbook.columns import CONTAINERS, KEY_LENGTH, NAME_LENGTH
from drills.engine.workbook.cells import Row, tidy
from drills.engine.workbook.problems import quote

KEY = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
Keys = Collection[str] | None  # None where they could not be read: any text may be one
A_KEY = "lower-case letters and digits with hyphens between, such as"


def read_medicines(rows: list[Row], known: Known) -> tuple[Medicine, ...]:
    """The medicines; a key has one name in every revision, so another name is refused."""
    found = tuple(_medicine(row, known) for row in rows)
    refuse_doubles(rows, "key", [each.key for each in found])
    return found


def _medicine(row: Row, known: Known) -> Medicine:
    key = own_key(row, "epinephrine")
    name = row.text("name", limit=NAME_LENGTH, required=True)
    here = known.medicines.get(key, name)
    if name and here != name:
        accepted = f"{quote(here)}, as this key is called in every revision, or a key of its own"
        row.refuse("name", quote(name), accepted)
    return Medicine(key, name)


def read_presentations(rows: list[Row], medicines: Keys, known: Known) -> tuple[Packed, ...]:
    """The presentations; `medicines` are the keys that rows of that sheet have."""
    found = tuple(_packed(row, medicines, known) for row in rows)
    refuse_doubles(rows, "key", [each.key for each in found])
    return found


def _packed(row: Row, medicines: Keys, known: Known) -> Packed:
    packed = Packed(
        key=own_key(row, "epinephrine-vial"),
        medicine=named(row, "medicine", medicines, "a key of the medicines sheet", required=True),
        strength=strength(row, "strength"),
        volume=volume(row, "volume"),
        container=choice(row, "container", CONTAINERS),
        need=named(row, "need", known.needs, "the key of a need"),
    )
    if not row.given("strength") and not row.given("volume"):
        row.refuse("strength", "no value", "a strength, or a volume for a plain fluid")
    held = packed.strength.partition(" / ")[2]
    if held and packed.volume and written_volume(held) != packed.volume:
        row.refuse("volume", quote(packed.volume), f"{held}, as the strength says, or nothing")
    return packed


def own_key(row: Row, example: str) -> str:
    """The key of a row, in small letters; empty where it is refused."""
    text = row.text("key", limit=KEY_LENGTH, required=True).lower()
    if text and not KEY.fullmatch(text):
        row.refuse("key", quote(text), f"{A_KEY} {example}")
        return ""
    return text


def keys_in(rows: Iterable[Row]) -> tuple[str, ...]:
    """What the rows of a sheet have for keys, the refused ones too: who names one of those is not
    blamed for it."""
    cells = (row.cells.get("key", "") for row in rows)
    return tuple(tidy(cell).lower() for cell in cells if isinstance(cell, str))


def named(row: Row, column: str, keys: Keys, accepted: str, *, required: bool = False) -> str:
    """The key that a cell names, whatever the case; empty where it is refused or names none."""
    text = row.text(column, limit=KEY_LENGTH, required=required).lower()
    if text and not is_one(row, column, text, keys, accepted):
        return ""
    return text


def is_one(row: Row, column: str, text: str, keys: Keys, accepted: str) -> bool:
    """Whether a text is one of the keys; refused otherwise, with the key that is nearest to it."""
    if keys is None or text in keys:
        return True
    near = get_close_matches(text, sorted(keys), n=1)
    row.refuse(column, quote(text), f"{accepted}, perhaps {near[0]}" if near else accepted)
    return False


def refuse_doubles(rows: list[Row], column: str, keys: Iterable[str]) -> None:
    """Refuse a key that an earlier row has as well."""
    first: dict[str, Row] = {}
    for row, key in zip(rows, keys, strict=True):
        other = first.setdefault(key.casefold(), row) if key else row
        if other is not row:
            got = f"{quote(key)}, which row {other.number} has too,"
            row.refuse(column, got, "each once, whatever the case of its letters")
