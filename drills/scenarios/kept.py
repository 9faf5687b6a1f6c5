"""Call types as their workbook keeps them, and what is wrong with one as a whole."""

from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from json import dumps
from typing import Any

from drills.engine.callcheck import faults_of
from drills.engine.calls import CallWorld
from drills.engine.calls_workbook import (
    ABOUT,
    ABOUT_COLUMNS,
    PARTS,
    Kept,
    Known,
    Step,
    cells_of,
    compared,
)
from drills.people.models import CertificationLevel
from drills.rigs.models import Need
from drills.rigs.ties import index_of, worded_needs
from drills.scenarios.models import AgeBand, CallType, DrillPrompt, Problem, Recipe
from drills.scenarios.reading import call_type_of


def known() -> Known:
    """What is here that a call type may speak of."""
    bands = list(AgeBand.objects.all())
    return Known(
        need_of=index_of(worded_needs()).called,
        problems=frozenset(Problem.objects.values_list("slug", flat=True)),
        bands=tuple(each.key for each in bands),
        sizes=tuple(dict.fromkeys(each.size for each in reversed(bands))),
        levels=tuple(CertificationLevel.objects.order_by("rank").values_list("key", flat=True)),
    )


def need_names() -> dict[str, str]:
    """The name of each need by its key."""
    return dict(Need.objects.values_list("key", "name_us"))


def kept_of(call: CallType) -> Kept:
    """All that a call type says, but for who reviewed it."""
    about = {column: getattr(call, column) for column in ABOUT_COLUMNS}
    about["date"] = str(call.date)
    return about | {part: list(getattr(call, part)) for part in PARTS}


def told_of(call: CallType) -> Kept:
    """All that a call type says, with who reviewed it."""
    return kept_of(call) | {"reviewed_by": call.reviewed_by}


def faults_in(kept: Mapping[str, Any], world: CallWorld) -> tuple[str, ...]:
    """What keeps a call type from being drawn, as it would be kept."""
    return faults_of(call_type_of(CallType(**kept), {}), world)


def row_of(call: CallType, sheet: str, at: int | None) -> Kept | None:
    """The row that stands at a place, or what the call type says of itself; None for a new one."""
    if sheet == ABOUT:
        return kept_of(call)
    rows = getattr(call, sheet)
    return rows[at] if at is not None and at < len(rows) else None


def mark_of(call: CallType, sheet: str, at: int | None) -> str:
    """What names a row as it stands, so that nobody changes another one by mistake."""
    row = row_of(call, sheet, at)
    cells = cells_of(sheet, row) if row is not None else {}
    return sha256(dumps(cells, sort_keys=True).encode()).hexdigest()[:16]


@dataclass(frozen=True, slots=True)
class Change:
    """What would become of one call type: `steps` say what of it is other than before."""

    slug: str
    name: str
    is_new: bool
    steps: tuple[Step, ...]
    rows: int

    @property
    def is_same(self) -> bool:
        return not self.is_new and not self.steps


def changes_of(calls: Mapping[str, Kept]) -> list[Change]:
    """What call types would change of those that are here; the others stay as they are."""
    here = {each.slug: kept_of(each) for each in CallType.objects.filter(slug__in=calls)}
    return [_change(slug, kept, here.get(slug)) for slug, kept in calls.items()]


def _change(slug: str, kept: Kept, before: Kept | None) -> Change:
    steps = compared(before, kept) if before is not None else ()
    rows = sum(len(kept[part]) for part in PARTS)
    return Change(slug, kept["name"], before is None, steps, rows)


def digest_of(slugs: Mapping[str, Any]) -> str:
    """What names the call types of these slugs as they stand."""
    rows = CallType.objects.filter(slug__in=slugs).order_by("slug").values_list("slug", "version")
    return sha256(repr(list(rows)).encode()).hexdigest()[:16]


def asking_for(call: CallType) -> list[Recipe]:
    """The recipes that name it."""
    return [each for each in Recipe.objects.order_by("name") if call.slug in each.call_types]


def kept_by(call: CallType) -> str:
    """Why it cannot be deleted, as a sentence; empty where nothing speaks of it."""
    if recipes := asking_for(call):
        return f"The recipe {recipes[0].name} asks for it."
    made = DrillPrompt.objects.filter(subject=call.slug).count()
    if made:
        prompts = "1 prompt of a drill was" if made == 1 else f"{made} prompts of drills were"
        return f"{prompts} made from it, and the debrief tells of it."
    return ""
