"""What a sheet of the open doors tells, kept as evidence."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from drills.competency.actions import HANDS_ON, Circumstances, record_evidence
from drills.competency.gathering import Manner
from drills.competency.reports import knowledge_of
from drills.engine.facts import Fact
from drills.engine.scoring import Finding
from drills.engine.timing import UNTIMED
from drills.people.models import Person
from drills.runs.models import Sheet

ASSIGNED = "assigned"


@dataclass(frozen=True, slots=True, kw_only=True)
class OneThing:
    """Of a single thing: its number, how deep it was asked for and how it was drawn, and its
    time against its limit."""

    number: int
    depth: str
    chosen: str
    seconds: float
    state: str
    verdict: str
    limit: float


def keep_seen(
    sheet: Sheet,
    findings: tuple[Finding, ...],
    *,
    is_assisted: bool,
    choices: int,
    one: OneThing | None = None,
) -> None:
    """Keep evidence; what was found after help is no first answer."""
    if sheet.person is None or sheet.stopped_at is None:
        raise ValueError("Evidence is of a person and a moment; this sheet has lost one of them.")
    record_evidence(
        findings,
        Circumstances(
            person=sheet.person,
            revision=sheet.drill.revision,
            rig=sheet.rig,
            at=sheet.stopped_at,
            kind=sheet.kind,
            **_asked(one),
            **_clock(sheet, one),
            choices_offered=choices,
            predictions=sheet.predictions,
            predicted_by=sheet.predicted_by,
            is_first=not is_assisted,
            allowance=float(sheet.person.time_allowance),
            modality=HANDS_ON,
            is_assisted=is_assisted,
            is_simulated=sheet.is_simulated,
            source=source_of(sheet, one.number if one else None),
        ),
    )


def think_beforehand(
    sheet: Sheet, person: Person, asked: Collection[Fact], choices: int, now: datetime
) -> None:
    """Write on a sheet, which nobody has seen yet, what is thought of all that it may tell of."""
    layout = sheet.drill.revision.layout
    manner = Manner(kind=sheet.kind, choices=choices, modality=HANDS_ON)
    known = knowledge_of(person, layout=layout, now=now, about=asked, manner=manner)
    sheet.predictions, sheet.predicted_by = known.predictions(asked), known.thought_by


def _asked(one: OneThing | None) -> dict[str, Any]:
    if one is None:
        return {"depth_asked": "", "chosen_by": ASSIGNED}
    return {"depth_asked": one.depth, "chosen_by": one.chosen}


def _clock(sheet: Sheet, one: OneThing | None) -> dict[str, Any]:
    """The time that counts; a whole kit has none to be late by."""
    found = {"time_verdict": UNTIMED, "limit_seconds": None}
    if not sheet.time_counts:
        return found | {"seconds": None, "time_state": UNTIMED}
    if one is None:
        return found | {"seconds": sheet.seconds, "time_state": sheet.watch}
    return {
        "seconds": one.seconds,
        "time_state": one.state,
        "time_verdict": one.verdict,
        "limit_seconds": one.limit,
    }


def source_of(sheet: Sheet, number: int | None = None) -> str:
    """What the evidence of a sheet, or of one single thing on it, is known by; after a contest that
    of what is left."""
    voided = f", {len(sheet.voided)} voided" if sheet.voided else ""
    one = "" if number is None else f", thing {number + 1}"
    return f"sheet {sheet.pk}{voided}{one}"


def sources_of(sheet: Sheet) -> list[str]:
    """All that the evidence of a sheet is known by."""
    if not sheet.is_of_single_things:
        return [source_of(sheet)]
    return [source_of(sheet, number) for number in range(sheet.asked_now)]


def locked_sheet(sheet: Sheet) -> Sheet:
    """The sheet as it is now, and nobody else's to change until this is over."""
    rows = Sheet.objects.select_for_update(of=("self",)).select_related(
        "drill__revision__layout", "person", "rig"
    )
    return rows.get(pk=sheet.pk)
