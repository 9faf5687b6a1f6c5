"""The 2021 criteria for the field triage of injured patients: where to take one patient.

They are not for many patients at once: the publisher says to use a mass-casualty scheme there.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from drills.engine.triage import category
from drills.engine.triage.charts import Branch, Outcome, chart
from drills.engine.triage.findings import (
    MOST_BREATHS,
    Reader,
    number,
    read_findings,
    several_of,
    yes_or_no,
)

FIELD, FIELD_FAMILY = "field", "field triage 2021"
CRITERIA = chart("field")


def _members(finding: str) -> tuple[str, ...]:
    """The words that a list of findings may hold: those that a criterion asks for."""
    parts = (part for row in CRITERIA.branches for part in row.when.split(", "))
    start = f"{finding} has "
    return tuple(
        dict.fromkeys(each.removeprefix(start) for each in parts if each.startswith(start))
    )


# The mosts are beyond anything that lives (ours, no source).
READERS: Mapping[str, Reader] = {
    "age_y": number(130, "years", whole=True),
    "injuries": several_of(_members("injuries")),
    "follows_commands": yes_or_no,
    "rate": number(MOST_BREATHS, "a minute"),
    "distress": yes_or_no,
    "support": yes_or_no,
    "spo2": number(100, "%"),
    "systolic": number(400, "mmHg"),
    "heart_rate": number(400, "a minute"),
    "crash": several_of(_members("crash")),
    "intrusion_occupant_in": number(200, "in"),
    "intrusion_any_in": number(200, "in"),
    "mechanism": several_of(_members("mechanism")),
    "fall_ft": number(20_000, "ft"),
    "judgement": several_of(_members("judgement")),
}


def field_triage(findings: Mapping[str, Any]) -> Outcome:
    """`red` (high risk), `yellow` (moderate) or `neither`, with the first criterion that is met.

    `age_y` is in whole years, `rate` and `heart_rate` each minute, `spo2` in percent on room air,
    `systolic` in mmHg, intrusion in inches, a fall in feet. `injuries`, `crash`, `mechanism` and
    `judgement` are lists: an empty one says that none is so, an untold one is unknown. A criterion
    of high risk that is met settles it whatever is unknown; else all must be known. Raises
    `FindingError`, which names the field, for what cannot be read.
    """
    found = CRITERIA.follow(read_findings(findings, READERS))
    if found.category is None:
        return found
    end = category(FIELD_FAMILY, found.category)
    return replace(found, path=(*found.path, f"{end.word} ({end.colour})."))


def criteria_met(findings: Mapping[str, Any]) -> tuple[Branch, ...]:
    """Every criterion that findings meet, of high risk and of moderate, in the published order.

    Findings are those of `field_triage`; what is unknown meets none.
    """
    return CRITERIA.met(read_findings(findings, READERS))
