"""The stock sheet: which item lies where, how many, and what belongs to the item itself."""

import re
from dataclasses import replace

from drills.engine.layout import CATEGORIES, StockLine
from drills.engine.workbook.cells import Row
from drills.engine.workbook.codes import Codes
from drills.engine.workbook.columns import (
    ALIAS_LENGTH,
    ALIASES,
    KEY_LENGTH,
    MAX_PAR,
    MAX_WEIGHT_KG,
    NOTES_LENGTH,
    WORD_LENGTH,
)
from drills.engine.workbook.presentation import ACCEPTED, presentation_of
from drills.engine.workbook.problems import quote

NEED = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
OF_THE_ITEM = ("item", "unit", "category", "aliases", "presentation", "weight_kg", "need")


def read_stock(rows: list[Row], codes: Codes) -> tuple[StockLine, ...]:
    """The stock lines; `codes` are those of the compartments.

    What belongs to an item is taken from its first line: a later line that leaves it out takes
    it over, one that says something else is remarked.
    """
    lines = [_line(row, codes) for row in rows]
    _refuse_doubles(rows, lines, codes)
    _remark_categories(rows, lines)
    first: dict[str, StockLine] = {}
    return tuple(
        _like_first(row, line, first.setdefault(line.key, line))
        for row, line in zip(rows, lines, strict=True)
    )


def _line(row: Row, codes: Codes) -> StockLine:
    return StockLine(
        compartment=_compartment(row, codes),
        item=row.text("item", required=True),
        par=row.whole("par", 1, MAX_PAR) or 1,
        unit=row.text("unit", limit=WORD_LENGTH),
        category=_category(row),
        critical=row.yes("critical"),
        aliases=row.listed("aliases", limit=ALIAS_LENGTH, most=ALIASES),
        presentation=_presentation(row),
        weight_kg=row.decimal("weight_kg", MAX_WEIGHT_KG),
        need=_need(row),
        expires=row.day("expires"),
        notes=row.text("notes", limit=NOTES_LENGTH, lines=True),
    )


def _compartment(row: Row, codes: Codes) -> str:
    text = row.text("compartment", required=True)
    code = codes.find(text) if text else ""
    if text and not code:
        codes.miss(row, "compartment", text, "a code of the compartments sheet")
    return code


def _category(row: Row) -> str:
    text = row.text("category", limit=WORD_LENGTH)
    return text.lower() if text.lower() in CATEGORIES else text


def _presentation(row: Row) -> str:
    text = row.text("presentation", limit=KEY_LENGTH)
    presentation = presentation_of(text)
    if text and presentation is None:
        row.refuse("presentation", quote(text), ACCEPTED)
    if presentation and len(presentation) > KEY_LENGTH:  # written our way it may be longer
        row.refuse("presentation", quote(presentation), f"at most {KEY_LENGTH} characters")
    return presentation or ""


def _need(row: Row) -> str:
    need = row.text("need", limit=KEY_LENGTH).lower()
    if need and not NEED.fullmatch(need):
        row.refuse("need", quote(need), "a key such as pelvic-binder, or nothing")
    return need


def _refuse_doubles(rows: list[Row], lines: list[StockLine], codes: Codes) -> None:
    """Refuse an item twice in one place; where two places have one code nobody can say."""
    seen: dict[tuple[str, str], Row] = {}
    for row, line in zip(rows, lines, strict=True):
        if not line.compartment or not line.key or codes.is_twin(line.compartment):
            continue
        other = seen.setdefault((line.compartment, line.key), row)
        if other is not row:
            got = f"{quote(line.item)}, which row {other.number} puts in {line.compartment} too,"
            row.refuse("item", got, "one line for an item in one compartment")


def _remark_categories(rows: list[Row], lines: list[StockLine]) -> None:
    """Remark each category of the agency's own once, and once that lines have none."""
    known = set(CATEGORIES)
    for row, line in zip(rows, lines, strict=True):
        if line.category not in known:
            known.add(line.category)
            own = f"{quote(line.category)} is not one of ours and is kept"
            row.remark("category", own if line.category else "there is no category")


def _like_first(row: Row, line: StockLine, first: StockLine) -> StockLine:
    """The line with everything that belongs to the item as its first line has it."""
    for name in OF_THE_ITEM:
        value = getattr(line, name)
        if value and value != getattr(first, name):
            text = f"differs from the first line of {quote(first.item)}, which stands"
            row.remark(name, text)
    return replace(line, **{name: getattr(first, name) for name in OF_THE_ITEM})
