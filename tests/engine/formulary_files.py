"""Formulary workbooks built in code for the tests: a small good one, and the demonstration's."""

import json
from pathlib import Path
from typing import Any

from drills.engine.formulary_workbook import Known, read_book
from drills.engine.formulary_workbook.columns import COLUMNS
from tests.engine.workbook_files import Sheets, csv_zip

FIXTURES = Path(__file__).parents[2] / "fixtures"
KNOWN = Known(
    levels=("emt", "advanced-emt", "paramedic"),
    needs=frozenset({"testamine-vial", "testol-bag"}),
    problems=frozenset({"seizure", "hypoglycaemia"}),
    medicines={"testamine": "Testamine"},
)
SOURCED = {
    "source": "County protocols",
    "version": "2026",
    "page": "12",
    "date": "2026-11-25",
    "status": "confirmed",
}
BY_WEIGHT = {
    "code": "T1",
    "medicine": "testamine",
    "presentations": "testamine-vial",
    "level": "paramedic",
    "indication": "seizure",
    "problems": "seizure; hypoglycaemia 2 3",
    "population": "child",
    "age_from_y": "0.5",
    "age_below_y": "14",
    "weight_from_kg": "3",
    "weight_below_kg": "40",
    "route": "IV/IM",
    "basis": "range per kg",
    "dose": "0.1 mg/kg",
    "dose_high": "0.2 mg/kg",
    "minimum": "0.5 mg",
    "maximum": "10 mg",
    "max_total": "0.5 mg/kg",
    "repeat_min": "5",
    "repeat_times": "1",
    "repeat_note": "once",
    "over_min": "2",
    "over_note": "slow push",
    "dilution": "1 mL in 9 mL",
    "take": "1 mL",
    "diluent": "normal saline",
    "diluent_volume": "9 mL",
    "final_strength": "0.5 mg/mL",
    "mixed": "yes",
    "error_limit": "10",
    "reviewed_by": "A. Reader",
    "notes": "a note",
    **SOURCED,
}
FLUID = {
    "code": "T2",
    "medicine": "testol",
    "presentations": "testol-1000",
    "level": "advanced-emt",
    "indication": "dry",
    "route": "IV",
    "basis": "mL per kg",
    "dose": "20 mL/kg",
    "maximum": "1,000 mL",
    **SOURCED,
}


def rule_row(given: dict[str, str]) -> list[str]:
    """The cells of a rule in the order of the columns."""
    return [given.get(column, "") for column in COLUMNS["rules"]]


def good() -> Sheets:
    """A small workbook with nothing wrong in it, every column filled at least once."""
    return {
        "formulary": [
            ["key", "value"],
            ["format", "readiness-formulary/1"],
            ["name", "County formulary"],
            ["document", "County protocols"],
            ["version", "2026"],
            ["date", "2026-07-01"],
            ["notes", "first line\nsecond line"],
        ],
        "medicines": [list(COLUMNS["medicines"]), ["testamine", "Testamine"], ["testol", "Testol"]],
        "presentations": [
            list(COLUMNS["presentations"]),
            ["testamine-vial", "testamine", "10 mg / 2 mL", "", "vial", "testamine-vial"],
            ["testol-1000", "testol", "", "1,000 mL", "bag", "testol-bag"],
        ],
        "rules": [list(COLUMNS["rules"]), rule_row(BY_WEIGHT), rule_row(FLUID)],
    }


def with_cell(sheet: str, column: str, value: object, *, row: int = 2) -> Sheets:
    """The good workbook with one cell changed; rows count as a spreadsheet counts them.

    On the sheet of keys the column is the key.
    """
    sheets = good()
    rows = sheets[sheet]
    if sheet == "formulary":
        next(each for each in rows if each[0] == column)[1] = value
    else:
        rows[row - 1][rows[0].index(column)] = value
    return sheets


def with_rule(**changed: str) -> Sheets:
    """The good workbook with one rule more, the first under another code and otherwise changed."""
    sheets = good()
    sheets["rules"].append(rule_row(BY_WEIGHT | {"code": "T9"} | changed))
    return sheets


def read(sheets: Sheets, known: Known = KNOWN):
    """The sheets as an archive, read."""
    return read_book(csv_zip(sheets), known, name="formulary.zip")


def demonstration() -> tuple[Sheets, Known]:
    """The demonstration formulary as a workbook, and what its database knows."""
    rows = json.loads((FIXTURES / "formulary.json").read_text(encoding="utf-8"))
    needs = json.loads((FIXTURES / "needs.json").read_text(encoding="utf-8"))
    of = {
        kind: [each["fields"] for each in rows if each["model"] == f"formulary.{kind}"]
        for kind in ("medicine", "presentation", "doserule")
    }
    sheets: Sheets = {
        "formulary": [["key", "value"], ["format", "readiness-formulary/1"], ["name", "Demo"]],
        "medicines": [[each["key"], each["name"]] for each in of["medicine"]],
        "presentations": [_cells(each, COLUMNS["presentations"]) for each in of["presentation"]],
        "rules": [_cells(each, COLUMNS["rules"]) for each in of["doserule"]],
    }
    for sheet in ("medicines", "presentations", "rules"):
        sheets[sheet].insert(0, list(COLUMNS[sheet]))
    known = Known(
        levels=KNOWN.levels,
        needs=frozenset(each["fields"]["key"] for each in needs if "key" in each["fields"]),
        problems=frozenset(p["problem"] for each in of["doserule"] for p in each["problems"]),
    )
    return sheets, known


def _cells(fields: dict[str, Any], columns: tuple[str, ...]) -> list[str]:
    said = {**fields, "mixed": "yes" if fields.get("is_mixed") else "no"}
    said["problems"] = "; ".join(
        " ".join([each["problem"], *map(str, each["severities"])])
        for each in fields.get("problems", ())
    )
    said["presentations"] = "; ".join(fields.get("presentations", ()))
    return [_cell(said[column]) for column in columns]


def _cell(value: object) -> str:
    if isinstance(value, list):
        return str(value[0])
    return "" if value is None else str(value)
