"""What one row of a problem says, as it is kept: how it looks, and its vital signs at an age."""

import re
from collections.abc import Mapping
from typing import Any

from drills.engine.calls_workbook.columns import (
    FORM,
    LISTED,
    NAME_LENGTH,
    PHRASE_LENGTH,
    SEVERITIES,
    SLUG,
    SLUG_LENGTH,
    WORD_LENGTH,
    Known,
)
from drills.engine.calls_workbook.rows import Kept
from drills.engine.problemcheck import NAMES
from drills.engine.workbook.cells import Row
from drills.engine.workbook.problems import Problem, Report, quote

STATES, SIGNS = "states", "vitals"
PROBLEMS, PROBLEM = "problems", "problem"
KINDS = ("medical", "trauma", "exposure", "obstetric")
TAKEN = ("add",)  # the first word of an address of the pages of problems
WORDS = {1: "mild", 2: "moderate", 3: "severe"}
SOURCE_LENGTH = 300
SIGNS_OF = {
    STATES: ("gcs", "spo2", "temp", "glucose", "etco2", "cohb"),
    SIGNS: ("hr", "rr", "sbp", "spo2", "gcs"),
}
RANGE = re.compile(r"([0-9]{1,3}(?:[.,][0-9])?)\s*(?:to|-|–)\s*([0-9]{1,3}(?:[.,][0-9])?)")


def judged_about(cells: Mapping[str, str]) -> tuple[Kept, tuple[Problem, ...]]:
    """What a new problem says of itself on a page, and whatever is wrong with it, by column."""
    report = Report(FORM)
    row = Row(PROBLEMS, 0, cells, report)
    slug = row.text(PROBLEM, limit=SLUG_LENGTH, required=True)
    if slug and (slug in TAKEN or not SLUG.fullmatch(slug)):
        words = f"small letters, digits and hyphens, such as gas-in-eyes, but not {TAKEN[0]}"
        row.refuse(PROBLEM, quote(slug), words)
    kind = row.text("kind", limit=WORD_LENGTH, required=True)
    if kind and kind not in KINDS:
        row.refuse("kind", quote(kind), f"one of {', '.join(KINDS)}")
    kept = {"slug": slug, "name": row.text("name", limit=NAME_LENGTH, required=True), "kind": kind}
    return kept, report.problems


def judged_problem(
    sheet: str, cells: Mapping[str, str], known: Known
) -> tuple[Kept, tuple[Problem, ...]]:
    """One row that was written on a page, and whatever is wrong with it, by column."""
    report = Report(FORM)
    row = Row(sheet, 0, cells, report)
    severity = row.whole("severity", SEVERITIES[0], SEVERITIES[-1])
    kept: Kept = {"severity": severity}
    if sheet == STATES:
        kept["word"] = WORDS.get(severity or 0, "")
        kept["findings"] = row.text("findings", limit=PHRASE_LENGTH, required=True)
        kept["age_bands"] = _bands(row, known)
    else:
        kept["age_band"] = _band(row, known)
    kept["source"] = row.text("source", limit=SOURCE_LENGTH, required=True)
    for sign in SIGNS_OF[sheet]:
        found = _range(row, sign, required=sheet == SIGNS and sign in ("hr", "rr"))
        if found:
            kept[sign] = found
    return kept, report.problems


def problem_cells(sheet: str, kept: Mapping[str, Any]) -> dict[str, str]:
    """The cells that say what is kept, by column."""
    told = {"severity": str(kept["severity"])}
    if sheet == STATES:
        told |= {"findings": kept["findings"], "age_bands": "; ".join(kept["age_bands"])}
    else:
        told["age_band"] = kept["age_band"]
    for sign in SIGNS_OF[sheet]:
        told[sign] = range_told(kept.get(sign))
    return told | {"source": kept.get("source", "")}


def range_told(given: Any) -> str:
    """A range as it is written: `90 to 110`; empty where there is none."""
    return f"{given[0]:g} to {given[1]:g}" if given else ""


def _bands(row: Row, known: Known) -> list[str]:
    found = [each.casefold() for each in row.listed("age_bands", limit=WORD_LENGTH, most=LISTED)]
    strange = [each for each in found if each not in known.bands]
    if strange or not found:
        accepted = f"some of {', '.join(known.bands)}, with semicolons between"
        row.refuse("age_bands", quote(strange[0] if strange else ""), accepted)
    return found


def _band(row: Row, known: Known) -> str:
    found = row.text("age_band", limit=WORD_LENGTH).casefold()
    if found not in known.bands:
        row.refuse("age_band", quote(found), f"one of {', '.join(known.bands)}")
    return found


def _range(row: Row, sign: str, *, required: bool) -> list[float]:
    text = row.text(sign, limit=WORD_LENGTH, required=required)
    told = RANGE.fullmatch(text)
    if told is None:
        if text:
            row.refuse(sign, quote(text), f"the {NAMES[sign]} as two numbers, such as 90 to 110")
        return []
    low, high = (float(each.replace(",", ".")) for each in told.groups())
    return [int(each) if each == int(each) else each for each in (low, high)]
