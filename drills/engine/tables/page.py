"""The tables as the manual prints them: from the rows themselves, never retyped."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, fields
from fractions import Fraction
from itertools import zip_longest

from drills.engine import tables
from drills.engine.ages import Age
from drills.engine.quantities import plain
from drills.engine.tables.kinds import Banded, Sourced

AGES, SEE = "ages", "see"
_BAND = ("from_months", "below_months", "word")  # told as ages
_LAST = ("source", "status", "note")
_HEADINGS = {
    "litres_per_psi": "L/psi",
    "litres_per_min": "L/min",
    "gtt_per_ml": "gtt/mL",
    "from_kg": "from kg",
    "below_kg": "below kg",
    "per_year": "each year",
    "most_j": "most J",
    "mmhg": "mmHg",
    "ml_per_h": "mL/h",
    "ml": "mL",
    "below_months": "under age",
    "under_kg": "under kg",
    "also": "also read",
    "up_to": "up to",
    "included": "that itself",
    "faces": "front and back apart",
    "sides": "left and right apart",
}
_TABLES: tuple[tuple[str, str, Sequence[Sourced]], ...] = (
    ("Oxygen cylinders", "A letter means something only within its list.", tables.CYLINDERS),
    ("Residual pressures", "What stays in the cylinder, in psi.", tables.RESIDUALS),
    (
        "Least pressures of a regulation",
        "Each checked against the factor of its cylinder and 200 psi left.",
        tables.LEAST_PRESSURES,
    ),
    ("Drip sets", "Drops that make one mL.", tables.DRIP_SETS),
    (
        "Weight by age",
        "In kg, from whole years or months. A weight measured, or read from a length, is better.",
        tables.WEIGHT_FORMULAS,
    ),
    ("Least systolic pressure", "Below it is low.", tables.SYSTOLIC),
    ("Vital signs by age", "Two published sets that do not agree.", tables.VITAL_SIGNS),
    ("Tube size by age", "Inner width in mm, and what each whole year adds.", tables.TUBES_BY_AGE),
    ("Tube size by weight", "Inner width in mm.", tables.TUBES_BY_WEIGHT),
    ("Shocks", "In J/kg, low to high.", tables.ENERGIES),
    (
        "Coma scales",
        "The points of each answer. Always name the scale. What else is read is ours.",
        tables.COMA_SCALES,
    ),
    (
        "Patients of a coma scale",
        "Whom an exercise asks about: the three go together.",
        tables.COMA_PATIENTS,
    ),
    ("Shock index", "What each set calls an index up to a limit.", tables.SHOCK_BANDS),
    (
        "Burned area",
        "Percent of the body surface of one region; what each whole year over 1 adds.",
        tables.BURN_PARTS,
    ),
    ("Palm", "The patient's own palm with the fingers, in percent.", (tables.PALM,)),
    (
        "Fluid after a burn",
        "mL for each kg and each percent burned, low to high, in the first 24 hours.",
        tables.BURN_FORMULAS,
    ),
    ("Fluid before the area is known", "mL/h.", tables.START_RATES),
    ("Into one muscle", "The most mL in one site.", tables.INJECTION_SITES),
)


@dataclass(frozen=True, slots=True)
class PageTable:
    """One table for a page: title, one sentence, and cells; every row is as long as the header.

    `said` has for each row its source with its status, and its note where it has one.
    """

    title: str
    says: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    said: tuple[tuple[str, ...], ...]


def page_tables() -> tuple[PageTable, ...]:
    """Every table with what is said of every row, in the order of the manual."""
    return tuple(_page_table(title, says, rows) for title, says, rows in _TABLES)


def markdown(heading: str = "###") -> str:
    """Every table as Markdown, each under a heading of this depth.

    Sources and notes stand beneath it once each, by number: in every row they would hide the
    figures.
    """
    return "\n\n".join(
        f"{heading} {each.title}\n\n{each.says}\n\n{with_what_is_said(each)}"
        for each in page_tables()
    )


def as_markdown(header: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """A table as Markdown."""
    header = tuple(header)
    return "\n".join((_line(header), _line("---" for _ in header), *map(_line, rows)))


def with_what_is_said(table: PageTable) -> str:
    """A table as Markdown, with its sources and notes beneath it by number; one source by name."""
    words = dict.fromkeys(each for column in zip_longest(*table.said) for each in column if each)
    if len(words) == 1:
        return f"{as_markdown(table.header, table.rows)}\n\nSource: {', '.join(words)}."
    numbers = {each: str(number) for number, each in enumerate(words, 1)}
    rows = [
        (*cells, ", ".join(numbers[each] for each in said))
        for cells, said in zip(table.rows, table.said, strict=True)
    ]
    beneath = "\n".join(f"{number}. {each}" for each, number in numbers.items())
    return f"{as_markdown((*table.header, SEE), rows)}\n\n{beneath}"


def _page_table(title: str, says: str, rows: Sequence[Sourced]) -> PageTable:
    is_banded = isinstance(rows[0], Banded)
    untold = {"key", *(_BAND if is_banded else ()), *_LAST}
    names = [each.name for each in fields(rows[0]) if each.name not in untold]
    told = [name for name in names if any(_cell(name, row) for row in rows)]
    header = [_HEADINGS.get(name, name) for name in told]
    return PageTable(
        title,
        says,
        header=(AGES, *header) if is_banded else tuple(header),
        rows=tuple(tuple(_cells(row, told)) for row in rows),
        said=tuple(map(_said, rows)),
    )


def _said(row: Sourced) -> tuple[str, ...]:
    source = f"{row.source} ({row.status})"
    return (source, row.note) if row.note else (source,)


def _cells(row: Sourced, names: Iterable[str]) -> Iterator[str]:
    if isinstance(row, Banded):
        yield _ages(row)
    yield from (_cell(name, row) for name in names)


def _cell(name: str, row: Sourced) -> str:
    value = getattr(row, name)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if name == "below_months" and value is not None:
        return str(Age(value))
    if isinstance(value, int | Fraction):
        return plain(Fraction(value))
    return "" if value is None else str(value)


def _ages(row: Banded) -> str:
    first = Age(row.from_months)
    if row.below_months is None:
        return f"from {first}" if row.from_months else "every age"
    below = Age(row.below_months)
    return f"{first} to under {below}" if row.from_months else f"under {below}"


def _line(cells: Iterable[str]) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"
