"""Required lists: what they ask, and how a revision measures up to one."""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from urllib.parse import urlencode

from drills.engine.headed import write_headed
from drills.engine.required import (
    MET,
    MISSING,
    NOT_TIED,
    OPTIONAL,
    SHORT,
    STATES,
    Judged,
    Requirement,
    Wanted,
    Weighed,
    judge,
    read_wanted,
)
from drills.engine.required_file import write_required
from drills.rigs.models import Need, RequiredList, RequiredRow, Revision
from drills.rigs.reading import layout_of
from drills.rigs.ties import need_ties

OWN_READING = "the agency's own reading of the list, and no certificate"
UNCOUNTED = "look, it is carried in several units or in packs"
BEHIND_A_LOCK = "behind a lock, not exported"
FILE_COLUMNS = (
    *("state", "level", "item", "min quantity", "unit", "mandatory/optional"),
    *("carried", "short by", "where", "note", "source", "status"),
)


@dataclass(frozen=True, slots=True)
class Lies:
    """A stock line that counts for a need, or would if its suggested tie were confirmed."""

    need: str
    item: str
    par: int
    unit: str
    path: str
    door: str
    is_locked: bool
    is_confirmed: bool
    holds: int = 1

    @property
    def count(self) -> int:
        """How many of the need it is: par, by what one unit holds."""
        return self.par * self.holds

    @property
    def place(self) -> str:
        """The door to open, and the innermost place behind it."""
        return f"{self.door} {self.path.rpartition(' › ')[2].removeprefix(self.door).strip()}"


@dataclass(frozen=True, slots=True)
class Aboard:
    """The stock lines of one item that are tied alike."""

    lines: list[Lies]

    @property
    def first(self) -> Lies:
        return self.lines[0]

    @property
    def par(self) -> int:
        return sum(line.par for line in self.lines)

    @property
    def count(self) -> int:
        """How many of the need they are together."""
        return sum(line.count for line in self.lines)

    @property
    def is_locked(self) -> bool:
        return any(line.is_locked for line in self.lines)


@dataclass(frozen=True, slots=True)
class Carried:
    """What a revision carries by need, in its own units or, of a pack, in the need, and where."""

    par: Counter[str]
    suggested: Counter[str]
    lines: dict[str, list[Lies]]

    @property
    def units(self) -> dict[str, tuple[int, int]]:
        """In how many units each need is carried: of confirmed ties, and of suggested ones too.

        What is counted out of a pack is in the need itself, a unit beside that of the layout: a
        factor of the list was said of one of the two, and nobody knows of which.
        """
        return {
            need: (
                _units([line for line in lines if line.is_confirmed]),
                _units(lines),
            )
            for need, lines in self.lines.items()
        }


def _units(lines: Collection[Lies]) -> int:
    units = {line.unit.casefold() for line in lines}
    return len(units) + any(line.holds > 1 for line in lines)


@dataclass(frozen=True, slots=True)
class JudgedPart:
    """A need that a row asks for, what of it is carried, and where it lies."""

    need: str
    weighed: Weighed
    lies: list[Lies]
    unit: str = ""

    @property
    def is_locked(self) -> bool:
        """Whether any of it is behind a lock, so that its number is not printed."""
        return any(each.is_locked for each in self.lies)

    @property
    def other_units(self) -> list[str]:
        """Units of what is carried that are not the list's: somebody looks at the factor."""
        return sorted(set(filter(None, self.units)) - {self.unit})

    @property
    def is_packed(self) -> bool:
        """Whether any of what counts is counted out of a pack."""
        return any(line.holds > 1 for line in self.lies if line.is_confirmed)

    @property
    def units(self) -> list[str]:
        """Units of what counts."""
        return sorted({line.unit for line in self.lies if line.is_confirmed})

    @property
    def items(self) -> list[Aboard]:
        """What lies where, item by item."""
        found: dict[tuple[str, bool], list[Lies]] = {}
        for line in self.lies:
            found.setdefault((line.item, line.is_confirmed), []).append(line)
        return list(map(Aboard, found.values()))


@dataclass(frozen=True, slots=True)
class JudgedRow:
    """A row of a list with how it stands."""

    row: RequiredRow
    judged: Judged
    parts: list[JudgedPart]
    if_confirmed: list[JudgedPart]

    @property
    def to_confirm(self) -> list[JudgedPart]:
        """The parts whose suggested ties would meet the row."""
        return [part for part in self.if_confirmed if part.weighed.lacking]

    @property
    def aboard(self) -> list[JudgedPart]:
        """What is told of where things lie: of both alternatives, each need once."""
        return list(
            {part.weighed.part.need: part for part in (*self.to_confirm, *self.parts)}.values()
        )

    @property
    def is_locked(self) -> bool:
        return any(part.is_locked for part in (*self.parts, *self.if_confirmed))

    @property
    def lacking(self) -> list[JudgedPart]:
        return [part for part in self.parts if part.weighed.lacking]

    @property
    def is_unanswerable(self) -> bool:
        """Whether it was decided that no need answers it."""
        return self.judged.state == NOT_TIED and self.row.decided_at is not None


@dataclass(frozen=True, slots=True)
class Group:
    """Rows that stand alike, and how many."""

    state: str
    rows: list[JudgedRow]


@dataclass(frozen=True)
class Judgement:
    """A revision against some levels of a list."""

    of: RequiredList
    revision: Revision
    levels: tuple[str, ...]
    rows: list[JudgedRow]

    @cached_property
    def asked(self) -> list[Group]:
        """Rows that are not optional, what asks for work first."""
        return _grouped(each for each in self.rows if each.row.obligation != OPTIONAL)

    @cached_property
    def optional(self) -> list[Group]:
        return _grouped(each for each in self.rows if each.row.obligation == OPTIONAL)

    @property
    def counts(self) -> list[tuple[str, list[tuple[str, int]]]]:
        """How many rows of each state, of those asked for and of those optional."""
        told = (("asked for", self.asked), ("optional", self.optional))
        return [(words, _counts(groups)) for words, groups in told if groups]

    @property
    def if_confirmed(self) -> int:
        """How many rows more would be met if the suggested ties were confirmed."""
        return sum(each.judged.is_met_if_confirmed for each in self.rows)

    @property
    def query(self) -> str:
        """What in an address names this list and these levels."""
        return urlencode([("list", self.of.slug), *(("level", level) for level in self.levels)])

    @property
    def sources(self) -> list[tuple[str, str, int]]:
        """Where the rows are from and how sure their words are, with how many each."""
        found = Counter((each.row.source, each.row.status) for each in self.rows)
        return [(source, status, count) for (source, status), count in found.items()]


def _grouped(rows: Iterable[JudgedRow]) -> list[Group]:
    found: dict[str, list[JudgedRow]] = defaultdict(list)
    for each in rows:
        found[each.judged.state].append(each)
    return [Group(state, found[state]) for state in STATES if found[state]]


def _counts(groups: Iterable[Group]) -> list[tuple[str, int]]:
    """Every state, those of no row too, in the order in which it is asked."""
    found = {group.state: len(group.rows) for group in groups}
    return [(state, found.get(state, 0)) for state in (MET, SHORT, MISSING, NOT_TIED)]


def levels_of(of: RequiredList) -> list[str]:
    """The levels of a list in the order of its rows; a row without one belongs to each."""
    return list(dict.fromkeys(filter(None, of.rows.values_list("level", flat=True))))


def judgement_of(of: RequiredList, revision: Revision, levels: Collection[str]) -> Judgement:
    """How a revision stands against the rows of some levels, and those of no level."""
    carried = carried_by(revision)
    names = dict(Need.objects.values_list("key", "name_us"))
    rows = [row for row in of.rows.select_related("of") if not row.level or row.level in levels]
    judged = [_judged(row, carried, names) for row in rows]
    return Judgement(of, revision, tuple(levels), judged)


def _judged(row: RequiredRow, carried: Carried, names: dict[str, str]) -> JudgedRow:
    asked = requirement_of(row).asked
    found = judge(asked, wanted_of(row) or (), carried.par, carried.suggested, carried.units)

    def told(parts: Iterable[Weighed]) -> list[JudgedPart]:
        return [
            JudgedPart(
                names.get(each.part.need, each.part.need),
                each,
                carried.lines.get(each.part.need, []),
                row.unit,
            )
            for each in parts
        ]

    return JudgedRow(row, found, told(found.parts), told(found.if_confirmed))


def carried_by(revision: Revision) -> Carried:
    """Par by need over all stock lines: of confirmed ties, and of suggested ones apart."""
    layout, ties = layout_of(revision), need_ties(revision)
    carried = Carried(Counter(), Counter(), defaultdict(list))
    for line in layout.stock:
        tie = ties.get(line.key)
        if tie is None:
            continue
        counted = carried.par if tie.is_confirmed else carried.suggested
        counted[tie.need] += line.par * tie.holds
        carried.lines[tie.need].append(
            Lies(
                tie.need,
                line.item,
                line.par,
                line.unit,
                layout.path(line.compartment),
                layout.chain(line.compartment)[0].code,
                layout.is_locked(line.compartment),
                tie.is_confirmed,
                tie.holds,
            )
        )
    return carried


def requirement_of(row: RequiredRow) -> Requirement:
    """A stored row as the engine's value object."""
    return Requirement(
        row=row.order,
        source=row.source,
        item=row.item,
        level=row.level,
        quantity=row.quantity,
        unit=row.unit,
        obligation=row.obligation,
        status=row.status,
    )


def wanted_of(row: RequiredRow) -> Wanted | None:
    """The needs that answer a row; none of them if so decided, None while nothing is."""
    if row.decided_at is None:
        return None
    return read_wanted(row.needs) if row.needs else ()


def judgement_file_of(found: Judgement, *, today: date) -> bytes:
    """A judgement for a spreadsheet, under a line that says what was judged and what it is not.

    Numbers and places of what lies behind a lock are left out.
    """
    head = (
        *(f"{found.revision}", found.revision.get_state_display(), found.of.name),
        *("; ".join(found.levels) or "all levels", f"judged {today.isoformat()}", OWN_READING),
    )
    groups = (*found.asked, *found.optional)
    rows = [_cells(each) for group in groups for each in group.rows]
    return write_headed(head, [FILE_COLUMNS, *rows])


def _cells(each: JudgedRow) -> tuple[object, ...]:
    row, state = each.row, each.judged.state
    told = _told(each)
    if each.is_locked:
        told = [BEHIND_A_LOCK if words else "" for words in told]
    return (
        *(state, row.level, row.item, row.quantity or "", row.unit, row.obligation, *told),
        *(row.note, row.source, row.status),
    )


def _told(each: JudgedRow) -> list[str]:
    """What is carried, what is short, and where what counts lies."""
    carried = (f"{part.need}: {part.weighed.carried}" for part in each.parts)
    lacking = (
        f"{part.need}: {UNCOUNTED if part.weighed.is_uncounted else part.weighed.lacking}"
        for part in each.lacking
    )
    lies = (line for part in each.parts for line in part.lies if line.is_confirmed)
    where = (f"{line.item}, par {_par(line)}: {line.path}" for line in lies)
    return ["; ".join(carried), "; ".join(lacking), "; ".join(where)]


def _par(line: Lies) -> str:
    return f"{line.par}" if line.holds == 1 else f"{line.par} of {line.holds}, {line.count} in all"


def list_file(of: RequiredList) -> bytes:
    """A list with its ties, as it can be loaded again under this name or another."""
    return write_required((requirement_of(row), wanted_of(row)) for row in of.rows.all())
