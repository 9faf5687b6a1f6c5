"""The knobs of difficulty in words, for the page of a recipe and for the manual."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from drills.engine.incidents.tables import LEVELS
from drills.engine.injured.tables import LEVELS as FIELD_LEVELS
from drills.engine.knobs import ALL_KNOBS, EASIEST, HARDEST, Knob, lawful
from drills.engine.quantities import plain
from drills.engine.recipes import FIELD, KINDS, TRIAGE
from drills.engine.tables.page import as_markdown


@dataclass(frozen=True, slots=True)
class Row:
    """A knob for whom it concerns: what it moves, and what it is set to at each difficulty."""

    kinds: str
    moves: str
    values: tuple[str, ...]
    note: str

    def at(self, difficulty: int) -> str:
        """What it is set to at a difficulty."""
        return self.values[lawful(difficulty) - EASIEST]


def rows_for(kinds: Collection[str]) -> list[Row]:
    """The knobs that move anything of some kinds of prompt, in their order."""
    found = [_row(knob) for knob in ALL_KNOBS if any(map(knob.is_for, kinds))]
    return [
        *found,
        *(_of_triage() if TRIAGE in kinds else ()),
        *(_of_field() if FIELD in kinds else ()),
    ]


def as_table() -> str:
    """Every knob with every level, for the manual."""
    levels = [str(level) for level in range(EASIEST, HARDEST + 1)]
    rows = [(each.kinds, f"{each.moves} ({each.note})", *each.values) for each in rows_for(KINDS)]
    return as_markdown(("kinds", "what it moves", *levels), rows)


def _row(knob: Knob) -> Row:
    values = tuple(_told(knob.unit, float(value), plain(value)) for value in knob.values)
    return Row(knob.kinds.replace(";", ", "), knob.moves, values, knob.note or knob.source)


def _told(unit: str, value: float, figure: str) -> str:
    if unit == "times":
        return f"× {figure}"
    if unit == "share":
        return f"{round(value * 100)} %"
    if unit == "calls":
        return "as it comes" if value == 1 else f"{_which(value)} of {abs(round(value))}"
    return figure


def _which(value: float) -> str:
    return "most" if value > 0 else "fewest"


def _of_triage() -> Iterator[Row]:
    """What the levels of an incident set, a row for each."""
    levels = [LEVELS[level] for level in range(EASIEST, HARDEST + 1)]
    shares = (
        ("Patients whose counted figure stands beside a limit of the chart", "near"),
        ("Patients whom schemes, or first sight, are apart on", "traps"),
    )
    for moves, name in shares:
        told = tuple(f"{round(float(getattr(each, name)) * 100)} %" for each in levels)
        yield Row(TRIAGE, moves, told, "no published grading was found")
    told = tuple("everything" if each.tells_all else "what is asked" for each in levels)
    yield Row(TRIAGE, "What is told of a patient", told, "what the chart asks for, or more beside")


def _of_field() -> Iterator[Row]:
    """What the levels of an injured patient set, a row for each."""
    levels = [FIELD_LEVELS[level] for level in range(EASIEST, HARDEST + 1)]
    source = "no published grading was found"
    near, also = (
        tuple(f"{round(float(getattr(each, name)) * 100)} %" for each in levels)
        for name in ("near", "also")
    )
    decoys = tuple(str(each.decoys) for each in levels)
    yield Row(
        FIELD, "Patients drawn at a limit of the criteria, on either side of it", near, source
    )
    yield Row(FIELD, "Told beside: what looks grave and meets no criterion", decoys, source)
    yield Row(
        FIELD, "Of high risk: how many meet a criterion of moderate risk as well", also, source
    )
