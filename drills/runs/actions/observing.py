"""What is asked for at the open doors: opening the officer's sheet, the watch, and closing it."""

import secrets
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from django.db import transaction

from drills.engine.facts import Fact
from drills.engine.observing import (
    AWAY,
    CLOSED,
    RUNNING,
    SEEN,
    SheetError,
    SheetLine,
    facts_asked,
    observe,
    read_watch,
    refuse_deed,
    sheet_lines,
)
from drills.engine.prompts import skill_of
from drills.engine.recipes import LOCATE, STAGE, CannotApplyError
from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.actions import held_pairs
from drills.rigs.models import Rig
from drills.rigs.own import own_of
from drills.runs.actions.foretelling import came_off, foretell
from drills.runs.actions.sheet_evidence import keep_seen, locked_sheet, think_beforehand
from drills.runs.actions.single_things import judge_things, may_be_out, things_of
from drills.runs.models import DOORS, Sheet, SheetState
from drills.runs.targets import parts_s
from drills.scenarios.actions import make_drill
from drills.scenarios.models import CallType, Recipe
from drills.scenarios.reading import layout_asked
from drills.scenarios.tasks import wanted_in

KIT = "kit-at-the-rig"
_SEED_BITS = 62


@dataclass(frozen=True, slots=True, kw_only=True)
class Watched:
    """What the officer marked while the watch ran. `seen` and `at` go by the number of a line;
    `claim` is the watch of their phone, stopped so many seconds `ago`, none where no script ran."""

    seen: Mapping[int, str]
    at: Mapping[int, float] = field(default_factory=dict)
    wrong_doors: int = 0
    comment: str = ""
    claim: float | None = None
    ago: float = 0.0


@transaction.atomic
def open_sheet(
    person: Person,
    *,
    officer: Person,
    rig: Rig,
    call_type: CallType | None,
    in_service: bool,
    told: str,
    now: datetime,
    seed: int | None = None,
    is_simulated: bool = False,
    things: Recipe | None = None,
) -> Sheet:
    """Draw a call and its kit for somebody at a rig; of any call type where none is named. With a
    recipe of `things` those are asked for one by one, and no kit.

    Who opens a sheet for whom is in the audit. Raises `SheetError` for oneself, for who left,
    without a word on who was told, and where no kit can be made on this rig.
    """
    _refuse(person, officer, told)
    recipe = things if things is not None else _kit_for(call_type)
    try:
        drill = make_drill(
            recipe,
            revision=rig.revision,
            seed=secrets.randbits(_SEED_BITS) if seed is None else seed,
            weights={},
            held=held_pairs(rig),
            differences=own_of(rig),
            now=now,
        )
    except CannotApplyError as error:
        what = "No kit" if things is None else "Nothing"
        raise SheetError(f"{what} can be asked for on {rig}: {error}") from error
    sheet = Sheet(
        person=person,
        officer=officer,
        rig=rig,
        drill=drill,
        kind=STAGE if things is None else LOCATE,
        in_service=in_service,
        told=told.strip(),
        opened_at=now,
        is_simulated=is_simulated,
    )
    _think(sheet, person, now)
    sheet.save()
    record("open hands-on", person.employee_number, by=officer, now=now, after={"rig": rig.unit})
    return sheet


def _kit_for(call_type: CallType | None) -> Recipe:
    recipe = Recipe.objects.in_use().filter(slug=KIT).first()
    if recipe is None:
        raise SheetError(
            f"There is no recipe {KIT} in use. An educator brings it back, or an administrator "
            "runs update_reference."
        )
    if call_type is not None:
        recipe.call_types = [call_type.slug]
    return recipe


def _refuse(person: Person, officer: Person, told: str) -> None:
    if person.pk == officer.pk:
        raise SheetError("You came in, and nobody watches themselves. Choose somebody else.")
    if not person.is_active:
        raise SheetError(f"{person} came in, who left the service. Choose somebody in it.")
    if not told.strip():
        raise SheetError("Nobody came in as told. Write who knows that the rig is drilled on.")


def lines_of(sheet: Sheet) -> tuple[SheetLine, ...]:
    """The kit as it stands on the sheet, or the single things in their order."""
    if sheet.is_of_single_things:
        return things_of(sheet)
    prompt = sheet.drill.prompts.get(position=0)
    return sheet_lines(layout_asked(sheet.drill), wanted_in(prompt.answer), _held(sheet))


def _think(sheet: Sheet, person: Person, now: datetime) -> None:
    if not (sheet.is_of_single_things or sheet.is_simulated):
        foretell(sheet, now=now)
    choices = len(layout_asked(sheet.drill).stock)
    think_beforehand(sheet, person, _facts_told_of(sheet), choices, now)


def _facts_told_of(sheet: Sheet) -> tuple[Fact, ...]:
    asked = facts_asked(layout_asked(sheet.drill), lines_of(sheet))
    if sheet.is_of_single_things:
        return asked
    return (*asked, skill_of(STAGE, sheet.drill.prompts.get(position=0).subject))


def _held(sheet: Sheet) -> list[tuple[str, str]]:
    return [(thing, place) for thing, place in sheet.drill.held]


@transaction.atomic
def start_watch(sheet: Sheet, *, now: datetime, ago: float = 0.0) -> Sheet:
    """Start the watch, so many seconds `ago` where it is sent later; pressed twice it is one."""
    sheet = locked_sheet(sheet)
    if sheet.state != RUNNING:
        refuse_deed(sheet.state, "start")
        sheet.state = SheetState.RUNNING
        sheet.started_at = max(now - timedelta(seconds=ago), sheet.opened_at)
        sheet.save(update_fields=["state", "started_at"])
    return sheet


@transaction.atomic
def stop_watch(sheet: Sheet, watched: Watched, *, now: datetime) -> Sheet:
    """Stop the watch with what was seen; the same once more changes nothing.

    Raises `SheetError` for a line that is not on the sheet, and where something else was recorded
    before.
    """
    sheet = locked_sheet(sheet)
    seen = _read_seen(watched.seen, len(lines_of(sheet)))
    if sheet.is_stopped:
        recorded = (sheet.seen, sheet.wrong_doors, sheet.comment)
        if recorded != (seen, watched.wrong_doors, watched.comment.strip()):
            raise SheetError("This sheet was stopped before, and what was marked then stands.")
        return sheet
    refuse_deed(sheet.state, "stop")
    started_at = sheet.started_at or sheet.opened_at
    watch = read_watch(
        watched.claim,
        ago=watched.ago,
        opened=(now - sheet.opened_at).total_seconds(),
        started=(now - started_at).total_seconds(),
    )
    sheet.state, sheet.stopped_at = SheetState.STOPPED, now - timedelta(seconds=watch.ago)
    sheet.started_at = sheet.stopped_at - timedelta(seconds=watch.seconds)
    sheet.seconds, sheet.watch = watch.seconds, watch.state
    sheet.seen, sheet.at = seen, {str(number): at for number, at in watched.at.items()}
    sheet.wrong_doors, sheet.comment = watched.wrong_doors, watched.comment.strip()
    sheet.save()
    return sheet


def _read_seen(seen: Mapping[int, str], lines: int) -> dict[str, str]:
    """What was seen, as it is kept."""
    for number, said in seen.items():
        if not 0 <= number < lines:
            raise SheetError(f"Line {number + 1} came in; this sheet has lines 1 to {lines}.")
        if said not in SEEN:
            raise SheetError(f"{said[:20]!r} came in for a line. {', '.join(SEEN)} are accepted.")
    return {str(number): seen[number] for number in sorted(seen)}


@transaction.atomic
def leave_sheet(sheet: Sheet, *, now: datetime) -> Sheet:
    """A real call: unless the watch was stopped before, nothing counts; what is out goes back
    first."""
    sheet = locked_sheet(sheet)
    if sheet.state != AWAY:
        refuse_deed(sheet.state, "away")
        sheet.state, sheet.stopped_at = SheetState.AWAY, sheet.stopped_at or now
        sheet.save(update_fields=["state", "stopped_at"])
    return sheet


@transaction.atomic
def close_sheet(sheet: Sheet, *, back: Collection[int], now: datetime) -> Sheet:
    """Close a sheet once all that came out is back in its place, and keep what it tells.

    Raises `SheetError` naming what is not back yet. Closed twice it is closed once.
    """
    sheet = locked_sheet(sheet)
    lines = lines_of(sheet)
    if sheet.state == CLOSED:
        return sheet
    refuse_deed(sheet.state, "close")
    out = [lines[number].name for number in out_of_place(sheet, lines) if number not in back]
    if out:
        raise SheetError(f"Not ticked as back in its place: {', '.join(out)}.")
    sheet.state, sheet.closed_at, sheet.back = SheetState.CLOSED, now, sorted(back)
    if sheet.is_stopped:
        judge(sheet, lines)
    sheet.save()
    return sheet


def out_of_place(sheet: Sheet, lines: Collection[SheetLine]) -> list[int]:
    """The numbers of the lines that may be out: all after a call, when nobody marked them."""
    if sheet.is_of_single_things:
        return may_be_out(sheet)
    if sheet.state == AWAY and not sheet.is_stopped:
        return list(range(len(lines)))
    return sorted(int(number) for number in sheet.seen)


def judge(sheet: Sheet, lines: Collection[SheetLine]) -> None:
    """Work out what was seen and keep what it tells; what was voided counts for nothing."""
    if sheet.is_of_single_things:
        judge_things(sheet)
        return
    layout = layout_asked(sheet.drill)
    prompt = sheet.drill.prompts.get(position=0)
    observed = observe(
        layout,
        tuple(lines),
        {int(number): said for number, said in sheet.seen.items()},
        wrong_doors=0 if DOORS in sheet.voided else sheet.wrong_doors,
        voided=sheet.voided_lines,
        skill=skill_of(STAGE, prompt.subject),
    )
    sheet.outcome = observed.outcome
    sheet.parts = parts_s(sheet.drill, prompt, layout)
    sheet.missed = [line.need for line in observed.missing]
    sheet.came_off = came_off(sheet, lines)
    if sheet.person is not None:
        choices = len(layout.stock)
        keep_seen(sheet, observed.alone, is_assisted=False, choices=choices)
        keep_seen(sheet, observed.helped, is_assisted=True, choices=choices)
