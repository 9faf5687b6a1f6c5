"""Judge one answer to a problem of dosing or supply math, read and printed as JSON."""

from collections.abc import Mapping
from typing import Any

from drills.engine.door import shown, shown_name
from drills.engine.dosing import Judgement, ProblemError, judge
from drills.engine.dosing.reading import read_problem
from drills.people.doors import JsonDoor


class Command(JsonDoor):
    """Reads a problem, the figure asked for and what was entered; no database is touched."""

    help = "Judge one answer to a problem of dosing or supply math: JSON in, JSON out."

    def told(self, given: Any) -> dict[str, Any]:
        """The judgement of an answer."""
        problem, asked, entered = _parts(given)
        return _told(judge(read_problem(problem), asked, entered))


_PARTS = ("problem", "asked", "entered")


def _parts(given: Any) -> tuple[Any, str, str]:
    if not isinstance(given, Mapping):
        raise ProblemError("standard input: an object with problem, asked and entered is accepted.")
    for name in sorted(given.keys() - {"id", "note", *_PARTS}):
        raise ProblemError(
            f"{shown_name(name)}: no field of a judgement; there are {', '.join(_PARTS)}."
        )
    for name in _PARTS:
        if name not in given:
            raise ProblemError(f"{name}: it is missing.")
    for name in ("asked", "entered"):
        if not isinstance(given[name], str):
            raise ProblemError(f"{name}: {shown(given[name])} came in; a text is accepted.")
    return given["problem"], given["asked"], given["entered"]


def _told(found: Judgement) -> dict[str, Any]:
    return {
        "verdict": found.verdict.replace(" ", "_"),
        "ratio": None if found.ratio is None else float(found.ratio),
        "slips": [each.key for each in found.slips],
        "sentence": found.sentence,
        "possibly": [[each.key for each in pair] for pair in found.possibly],
        "classes": sorted({each.error for each in found.slips}),
        "writing": [{"rule": each.key, "words": each.words} for each in found.writing],
    }
