"""How the service works doses out is set, on the word of medical direction."""

from datetime import datetime

from django.db import transaction

from drills.formulary.access import SETTERS
from drills.formulary.models import MOST_OFF, POUNDS, ROUNDING, TEXT_LENGTH, THE_ONE, DosingSettings
from drills.formulary.waiting import SEEN, SET
from drills.people.access import require_role
from drills.people.audit import record
from drills.people.models import Person, Role


class SettingRefusedError(ValueError):
    """Settings that cannot be kept as they stand; the text names what came in."""


@transaction.atomic
def set_dosing(
    *,
    pounds: str,
    rounding: str,
    decided: str,
    by: Person,
    now: datetime,
    refused_from: str = f"{MOST_OFF}",
) -> DosingSettings:
    """Set how pounds and the doses of children are taken from now on, and from how many percent
    off nothing is drawn up; what was made stays as it is.

    `decided` says who of medical direction decided it, or in which document. Raises
    `SettingRefusedError`.
    """
    require_role(by, *SETTERS)
    decided = decided.strip()
    _refuse("Pounds", pounds, [word for word, _ in POUNDS])
    _refuse("Rounding", rounding, [word for word, _ in ROUNDING])
    _refuse("Refused from", refused_from, [f"{each}" for each in range(1, MOST_OFF + 1)])
    if not decided or len(decided) > TEXT_LENGTH:
        raise SettingRefusedError(
            f"Decided by: {len(decided)} letters came in; it is who of medical direction decided "
            f"it, or the document, in at most {TEXT_LENGTH}."
        )
    found = DosingSettings.objects.select_for_update().filter(number=THE_ONE).first()
    before = _told(found) if found else None
    kept, _ = DosingSettings.objects.update_or_create(
        number=THE_ONE,
        defaults={
            "pounds": pounds,
            "rounding": rounding,
            "refused_from": int(refused_from),
            "decided": decided,
            "changed_at": now,
        },
    )
    record(SET, "formulary", by=by, now=now, before=before, after=_told(kept))
    return kept


def see_dosing(*, by: Person, now: datetime) -> None:
    """Note that a director has seen how doses are worked out and patients sorted by now."""
    require_role(by, Role.DIRECTOR)
    record(SEEN, "formulary", by=by, now=now)


def _refuse(what: str, word: str, accepted: list[str]) -> None:
    if word not in accepted:
        raise SettingRefusedError(f"{what}: {word!r} is none of {', '.join(accepted)}.")


def _told(kept: DosingSettings) -> dict[str, str]:
    return {
        "pounds": kept.pounds,
        "rounding": kept.rounding,
        "refused_from": f"{kept.refused_from}",
        "decided": kept.decided,
    }
