"""A sheet of the open doors as its page shows it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from drills.engine.layout import Layout
from drills.engine.observing import SEEN_ALONE, Seen, SheetLine
from drills.engine.scoring import RIGHT
from drills.engine.targets import clocked
from drills.engine.timing import LATE
from drills.people.models import Person
from drills.runs.actions import limit_of, lines_of, out_of_place, parts_of, seen_of, verdict_of
from drills.runs.models import Sheet, SheetState
from drills.runs.targets import quickest_s
from drills.scenarios.models import CallType
from drills.scenarios.reading import layout_asked
from drills.scenarios.tasks import stands_in

LAST_SHOWN = 3
_STEPS = {
    SheetState.OPENED: "opened",
    SheetState.RUNNING: "running",
    SheetState.STOPPED: "back",
    SheetState.AWAY: "back",
    SheetState.CLOSED: "closed",
}


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a sheet: behind which door and where its thing lies in words, where else it
    does, what was seen and when, and whether it may be out of its place."""

    number: int
    line: SheetLine
    door: str
    where: str
    others: tuple[str, ...]
    seen: str
    at: str
    is_out: bool
    is_back: bool
    is_void: bool = False
    one: Seen | None = None
    is_late: bool = False

    @property
    def inside(self) -> str:
        """Where it lies behind its door; empty right behind it."""
        return self.where.removeprefix(self.door).removeprefix(" › ")

    @property
    def more(self) -> int:
        """In how many other places it lies."""
        return len(self.others)

    @property
    def is_clean(self) -> bool:
        """Whether a single thing was found at once and alone, and that counts."""
        return self.one is not None and self.one.outcome == RIGHT and not self.is_void

    @property
    def seen_words(self) -> str:
        if self.one is not None:
            return self.one.words
        return self.line.told(self.seen)


def sheet_context(sheet: Sheet, *, viewer: Person) -> dict[str, Any]:
    """All that the page of a sheet shows."""
    lines, layout = lines_of(sheet), layout_asked(sheet.drill)
    rows = list(_rows(sheet, lines, layout))
    if sheet.is_of_single_things:
        return _things_context(sheet, rows, viewer)
    prompt = sheet.drill.prompts.get(position=0)
    target = quickest_s(sheet.drill, prompt, layout)
    return {
        **_shared_context(sheet, rows, viewer),
        "call": prompt.shown,
        "asked_for": CallType.objects.filter(slug=prompt.subject).first() or "",
        "stands": stands_in(prompt.answer).words,
        **_parted(rows),
        "target": clocked(round(target)) if target else "",
    }


def _parted(rows: Sequence["Row"]) -> dict[str, list["Row"]]:
    """The lines of a kit: what must be brought and what is useful, and those that came or were to
    apart from the rest."""
    useful = [row for row in rows if not row.line.is_must]
    return {
        "musts": [row for row in rows if row.line.is_must],
        "useful": useful,
        "unbrought": [row for row in useful if not row.seen],
        "counted": [row for row in rows if row.line.is_must or row.seen],
    }


def _shared_context(sheet: Sheet, rows: Sequence["Row"], viewer: Person) -> dict[str, Any]:
    """What every sheet shows, whatever it asks for."""
    return {
        "kept": sheet,
        "step": _STEPS[SheetState(sheet.state)],
        "is_officer": sheet.officer_id == viewer.pk,
        "rows": rows,
        "doors": _by_door(rows),
        "took": clocked(round(sheet.seconds)) if sheet.seconds is not None else "",
        "last": _last(sheet),
        **_contested(sheet, viewer),
    }


def _things_context(sheet: Sheet, rows: Sequence["Row"], viewer: Person) -> dict[str, Any]:
    """What a sheet of single things shows."""
    return {
        **_shared_context(sheet, rows, viewer),
        "asked_for": sheet.drill.recipe,
        "recipe": sheet.drill.recipe,
        "current": sheet.asked_now,
        "answered": rows[: sheet.asked_now],
        "clean": sum(row.is_clean for row in rows),
        "late": sum(row.is_late for row in rows),
        "limit": f"{limit_of(sheet):g}",
        "choices": SEEN_ALONE.items(),
    }


def _contested(sheet: Sheet, viewer: Person) -> dict[str, Any]:
    """What is contested of a closed sheet, and to its person what still can be."""
    if sheet.is_open:
        return {}
    parts, made = parts_of(sheet), list(sheet.contests.select_related("decided_by"))
    taken = {each.part for each in made}
    is_own = sheet.person_id == viewer.pk
    return {
        "contested": [(each, parts[each.part]) for each in made],
        "contestable": [each for each in parts.items() if is_own and each[0] not in taken],
    }


def closed_sheets(person: Person | None) -> QuerySet[Sheet]:
    """What was seen of a person at a rig, the newest first."""
    closed = Sheet.objects.filter(person=person, state=SheetState.CLOSED)
    return closed.select_related("rig", "officer")


def _last(sheet: Sheet) -> QuerySet[Sheet]:
    """The last ones of the same person that counted, before this one."""
    before = closed_sheets(sheet.person).filter(opened_at__lt=sheet.opened_at)
    return before.exclude(outcome="")[:LAST_SHOWN]


@dataclass(frozen=True, slots=True)
class Door:
    """What lies behind one door, as it is ticked when it is back: all of it by one tick."""

    name: str
    rows: tuple[Row, ...]

    @property
    def numbers(self) -> str:
        """The numbers of its lines, as the tick sends them."""
        return " ".join(str(row.number) for row in self.rows)

    @property
    def is_out(self) -> bool:
        return any(row.is_out for row in self.rows)


def _by_door(rows: Sequence[Row]) -> list[Door]:
    behind: dict[str, list[Row]] = {}
    for row in rows:
        behind.setdefault(row.door, []).append(row)
    return [Door(name, tuple(found)) for name, found in behind.items()]


def _rows(sheet: Sheet, lines: tuple[SheetLine, ...], layout: Layout) -> Iterator[Row]:
    out = out_of_place(sheet, lines)
    singles = seen_of(sheet) if sheet.is_of_single_things else {}
    for number, line in enumerate(lines):
        one = singles.get(number)
        at = sheet.timed[str(number)]["seconds"] if one else sheet.at.get(str(number))
        yield Row(
            number=number,
            line=line,
            door=layout.path(layout.chain(line.places[0])[0].code),
            where=layout.path(line.places[0]),
            others=tuple(layout.path(code) for code in line.places[1:]),
            seen=sheet.seen.get(str(number), ""),
            at=clocked(round(at)) if at is not None else "",
            is_out=number in out,
            is_back=number in sheet.back,
            is_void=number in sheet.voided_lines,
            one=one,
            is_late=bool(one and sheet.time_counts) and verdict_of(sheet, number) == LATE,
        )
