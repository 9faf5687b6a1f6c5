"""How the service sorts patients is set, on the word of medical direction."""

from datetime import datetime

from django.db import transaction

from drills.engine.incidents.findings import LEAST_THRESHOLD, MOST_THRESHOLD
from drills.formulary.waiting import SET_SORTING
from drills.people.access import require_role
from drills.people.audit import record
from drills.people.models import Person
from drills.scenarios.access import SETTERS
from drills.scenarios.models.sorting import (
    DECIDED_LENGTH,
    PERFUSION,
    SCHEMES,
    THE_ONE,
    SortingSettings,
)


class SortingRefusedError(ValueError):
    """Settings that cannot be kept as they stand; the text names what came in."""


@transaction.atomic
def set_sorting(
    *, scheme: str, perfusion: str, threshold: str, decided: str, by: Person, now: datetime
) -> SortingSettings:
    """Set the scheme, its test of perfusion, and how many patients it takes, from now on.

    `threshold` is a whole number as it was written; `decided` says who of medical direction decided
    it, or in which document. Drills that are made stay as they are. Raises `SortingRefusedError`.
    """
    require_role(by, *SETTERS)
    decided = decided.strip()
    _refuse("Scheme", scheme, [word for word, _ in SCHEMES])
    _refuse("Perfusion", perfusion, [word for word, _ in PERFUSION])
    if not decided or len(decided) > DECIDED_LENGTH:
        raise SortingRefusedError(
            f"Decided by: {len(decided)} letters came in; it is who of medical direction decided "
            f"it, or the document, in at most {DECIDED_LENGTH}."
        )
    found = SortingSettings.objects.select_for_update().filter(number=THE_ONE).first()
    before = _told(found) if found else None
    kept, _ = SortingSettings.objects.update_or_create(
        number=THE_ONE,
        defaults={
            "scheme": scheme,
            "perfusion": perfusion,
            "threshold": _read_threshold(threshold),
            "decided": decided,
            "changed_at": now,
        },
    )
    record(SET_SORTING, "triage", by=by, now=now, before=before, after=_told(kept))
    return kept


def _refuse(what: str, word: str, accepted: list[str]) -> None:
    if word not in accepted:
        raise SortingRefusedError(f"{what}: {word!r} is none of {', '.join(accepted)}.")


def _read_threshold(text: str) -> int:
    told = text.strip()
    is_whole = told.isdecimal() and told.isascii() and len(told) < 4
    if not is_whole or not LEAST_THRESHOLD <= int(told) <= MOST_THRESHOLD:
        raise SortingRefusedError(
            f"From how many patients: {told[:20]!r} came in; a whole number from "
            f"{LEAST_THRESHOLD} to {MOST_THRESHOLD} is accepted."
        )
    return int(told)


def _told(kept: SortingSettings) -> dict[str, str | int]:
    return {
        "scheme": kept.scheme,
        "perfusion": kept.perfusion,
        "threshold": kept.threshold,
        "decided": kept.decided,
        "words": kept.words,  # for the director's first page, in a room that knows no schemes
    }
