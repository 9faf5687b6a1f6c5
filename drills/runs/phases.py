"""The phases of one person, as their phase page shows them."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils import timezone
from django.utils.dateformat import format as written

from drills.people.access import may_see
from drills.people.models import Person
from drills.runs.actions.phases import OFFICERS
from drills.runs.models import ItemShown, Phase, PhaseItem, PhaseSpell
from drills.runs.models.phases import NOTE_LENGTH
from drills.runs.signed import Row, rows_of

NOTES_SHOWN = 30
DAY = "j M Y"
SHOWN, OPEN = "shown", "not yet"


@dataclass(frozen=True, slots=True)
class ItemRow:
    """One thing a phase must show: whether this person did, and in words how that is known."""

    item: PhaseItem
    is_shown: bool
    told: str
    is_said: bool

    @property
    def sign(self) -> str:
        return "right" if self.is_shown else "late"


@dataclass(frozen=True, slots=True)
class PhaseRows:
    """A phase with its things, and when the person was in it."""

    phase: Phase
    rows: tuple[ItemRow, ...]
    spells: tuple[PhaseSpell, ...]

    @property
    def is_now(self) -> bool:
        return any(spell.ended_on is None for spell in self.spells)

    @property
    def shown(self) -> int:
        """How many of its things are shown."""
        return sum(row.is_shown for row in self.rows)


def training_context(person: Person, *, viewer: Person, now: datetime) -> dict[str, Any]:
    """All that the phase page of a person shows."""
    phases = list(_phases(person, now))
    return {
        "seen": person,
        "phases": phases,
        "current": next((each for each in phases if each.is_now), None),
        "notes": person.daily_notes.select_related("officer", "phase")[:NOTES_SHOWN],
        "is_officer": _is_officer(viewer, person),
        "today": timezone.localdate(now),
        "longest": NOTE_LENGTH,
    }


def _is_officer(viewer: Person, person: Person) -> bool:
    return viewer.pk != person.pk and viewer.holds(*OFFICERS) and may_see(viewer, person)


def _phases(person: Person, now: datetime) -> Iterator[PhaseRows]:
    signed = rows_of([person], now=now)[person.pk]
    shown = {each.item_id: each for each in person.items_shown.select_related("officer")}
    spells = list(person.phase_spells.all())
    for phase in Phase.objects.prefetch_related("items__layout"):
        yield PhaseRows(
            phase,
            tuple(_row(item, signed, shown.get(item.pk)) for item in phase.items.all()),
            tuple(spell for spell in spells if spell.phase_id == phase.pk),
        )


def _row(item: PhaseItem, signed: Collection[Row], shown: ItemShown | None) -> ItemRow:
    if item.category:
        return _by_sign_off(item, signed)
    if shown is None:
        return ItemRow(item, False, OPEN, True)
    officer = f" to {shown.officer}" if shown.officer else ""
    return ItemRow(item, True, f"{SHOWN}{officer} on {written(shown.shown_on, DAY)}", True)


def _by_sign_off(item: PhaseItem, signed: Collection[Row]) -> ItemRow:
    """What stands on the layout that is asked, else what lapsed or was withdrawn there last."""
    here = [row for row in signed if row.standing.category == item.category]
    if item.layout_id is not None:
        here = [row for row in here if row.standing.layout == item.layout_id]
    last = max(here, key=lambda row: (row.standing.stands, row.standing.lapses_on), default=None)
    where = f" on {item.layout}" if item.layout else ""
    if last is None:
        return ItemRow(item, False, f"not signed off{where}", False)
    if not last.standing.stands:
        return ItemRow(item, False, f"{last.standing.state} on {last.layout}", False)
    until = written(last.standing.lapses_on, DAY)
    return ItemRow(item, True, f"signed off on {last.layout} until {until}", False)
