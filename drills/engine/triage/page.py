"""The triage tables as the manual prints them: from the rows themselves, never retyped."""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial

from drills.engine.incidents.tables import LEVELS, SCARCE
from drills.engine.injured.tables import LEVELS as INJURED
from drills.engine.quantities import plain
from drills.engine.tables.kinds import Sourced
from drills.engine.tables.page import PageTable, with_what_is_said
from drills.engine.triage import (
    CATEGORIES,
    CHARTS,
    DIFFERENCES,
    FAMILY,
    JUMPSTART,
    LIFESAVING,
    ORDER,
    SALT,
    SECOND_LOOKS,
    START,
    category,
)
from drills.engine.triage.charts import Chart
from drills.engine.triage.field import CRITERIA, FIELD_FAMILY
from drills.engine.triage.measures import MEASURES

# What decides stands last: a phone shows the words and where they lead, and the rest by a swipe.
_CHART = ("step", "that is", "then", "when")


def _chart(chart: Chart, family: str = "") -> str:
    """Every branch in words, and where it leads; a category with its colour."""
    rows = [
        (row.step, _unfilled(row.words), _end(chart, family, row.leads_to), _plain(row.when))
        for row in chart.branches
    ]
    return _table(_CHART, rows, chart.branches)


def _plain(when: str) -> str:
    """A condition without underscores: names of fields break in the middle of a word."""
    return when.replace("_", " ")


def _unfilled(words: str) -> str:
    """The words of a branch, dots where a patient's figure will stand."""
    return re.sub(r"\{\w+\}", "…", words)


def _end(chart: Chart, family: str, leads_to: str) -> str:
    if leads_to not in chart.categories:
        return f"to {leads_to}"
    if not family:
        return f"**{leads_to}**"
    found = category(family, leads_to)
    return f"**{found.word}** ({found.colour})"


def _table(header: Sequence[str], rows: Iterable[Sequence[str]], sourced: Sequence[Sourced]) -> str:
    told = tuple(tuple(row) for row in rows)
    said = tuple(
        (f"{row.source} ({row.status})", *([row.note] if row.note else [])) for row in sourced
    )
    return with_what_is_said(PageTable("", "", header=tuple(header), rows=told, said=said))


def _categories() -> str:
    rows = [(c.schemes, c.word, c.colour, f"`{c.category}`", str(c.urgency)) for c in CATEGORIES]
    return _table(("schemes", "word", "colour", "key", "order"), rows, CATEGORIES)


def _second_looks() -> str:
    rows = [(s.scheme, f"from {s.begins} on", s.category, s.becomes) for s in SECOND_LOOKS]
    return _table(("scheme", "the chart", "comes out", "is then"), rows, SECOND_LOOKS)


def _lifesaving() -> str:
    return _table(("step", "when"), [(s.step, s.when_used) for s in LIFESAVING], LIFESAVING)


def _differences() -> str:
    rows = [(d.subject, d.start, d.jumpstart, d.salt) for d in DIFFERENCES]
    return _table(("", "START", "JumpSTART", "SALT"), rows, DIFFERENCES)


def _measures() -> str:
    return _table(
        ("field", "what is counted"), [(f"`{m.key}`", m.words) for m in MEASURES], MEASURES
    )


def _scarce() -> str:
    rows = [(each.has, f"{each.needed_by.removeprefix('who needs it ')}.") for each in SCARCE]
    return _table(("thing", "who needs it"), rows, SCARCE)


def _levels() -> str:
    rows = [
        (
            str(each.level),
            *(f"{plain(share * 100)} %" for share in (each.near, each.traps, each.worsens)),
            "everything" if each.tells_all else "what the chart asks for",
        )
        for each in LEVELS.values()
    ]
    header = ("difficulty", "beside a limit", "a trap", "worse at a second look", "told")
    return _table(header, rows, tuple(LEVELS.values()))


def _injured() -> str:
    """How injured patients are drawn for the field criteria, by difficulty."""
    shares = ("red", "yellow", "neither", "near", "also")
    rows = [
        (
            str(each.level),
            *(f"{plain(getattr(each, name) * 100)} %" for name in shares),
            str(each.decoys),
        )
        for each in INJURED.values()
    ]
    header = ("difficulty", "high", "moderate", "neither", "at a limit", "both", "decoys")
    return _table(header, rows, tuple(INJURED.values()))


# What the chapter names in double brackets, and what is put there.
PRINTED: Mapping[str, Callable[[], str]] = {
    "triage: start": partial(_chart, CHARTS[START], FAMILY[START]),
    "triage: jumpstart": partial(_chart, CHARTS[JUMPSTART], FAMILY[JUMPSTART]),
    "triage: salt": partial(_chart, CHARTS[SALT], FAMILY[SALT]),
    "triage: order": partial(_chart, ORDER),
    "triage: field": partial(_chart, CRITERIA, FIELD_FAMILY),
    "triage: lifesaving": _lifesaving,
    "triage: second look": _second_looks,
    "triage: categories": _categories,
    "triage: differences": _differences,
    "triage: measures": _measures,
    "triage: levels": _levels,
    "triage: scarce": _scarce,
    "triage: injured": _injured,
}
