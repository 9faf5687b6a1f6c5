"""Single things at the open doors: asked for one by one, each with a watch of its own."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import QuerySet

from drills.engine.calls import MUST
from drills.engine.observing import (
    AWAY,
    HELPED,
    RUNNING,
    Seen,
    SheetError,
    SheetLine,
    outcome_alone,
    read_seen,
    read_watch,
    refuse_deed,
    seen_alone,
)
from drills.engine.timing import AT_RIG, UNVERIFIED, VERIFIED, judge_time
from drills.runs.actions.sheet_evidence import OneThing, keep_seen, locked_sheet
from drills.runs.models import Sheet, SheetState
from drills.scenarios.models import DrillPrompt
from drills.scenarios.reading import layout_asked


def prompts_of(sheet: Sheet) -> QuerySet[DrillPrompt]:
    """The prompts of the single things, in the order they are asked."""
    return sheet.drill.prompts.filter(is_spare=False).order_by("position")


def things_of(sheet: Sheet) -> tuple[SheetLine, ...]:
    """The single things in the order they are asked."""
    layout = layout_asked(sheet.drill)
    return tuple(
        SheetLine(
            need="",
            grade=MUST,
            quantity=1,
            thing=prompt.subject,
            name=prompt.name,
            places=tuple(prompt.answer),
            is_locked=layout.is_locked(prompt.answer[0]),
        )
        for prompt in prompts_of(sheet)
    )


def seen_of(sheet: Sheet) -> dict[int, Seen]:
    """What was seen of each thing that was answered, by its number."""
    return {
        int(number): Seen(said, sheet.timed[number]["wrong"]) for number, said in sheet.seen.items()
    }


def limit_of(sheet: Sheet) -> float:
    """Seconds for one thing: what its drill says, with the person's allowance."""
    limit = sheet.drill.limit_at_rig_s
    allowance = float(sheet.person.time_allowance) if sheet.person else 1.0
    return (AT_RIG if limit is None else limit) * allowance


@transaction.atomic
def start_thing(sheet: Sheet, number: int, *, now: datetime, ago: float = 0.0) -> Sheet:
    """Start the watch of one thing, as they arrive at the rig; pressed twice it is one.

    Raises `SheetError` for any thing but the one that is asked for now.
    """
    sheet = locked_sheet(sheet)
    if number < sheet.asked_now:
        return sheet
    _refuse_other(sheet, number)
    if sheet.state != RUNNING:
        refuse_deed(sheet.state, "start")
        sheet.state = SheetState.RUNNING
        sheet.started_at = max(now - timedelta(seconds=ago), sheet.opened_at)
        sheet.save(update_fields=["state", "started_at"])
    return sheet


@transaction.atomic
def answer_thing(
    sheet: Sheet,
    number: int,
    said: str,
    *,
    wrong_places: int,
    now: datetime,
    claim: float | None = None,
    ago: float = 0.0,
    comment: str = "",
) -> Sheet:
    """Keep what was seen of one thing and stop its watch; the same once more changes nothing.

    Raises `SheetError` for what cannot be seen of a thing, for any but the one asked for now, and
    where something else was recorded before.
    """
    sheet, seen = locked_sheet(sheet), read_seen(said, wrong_places)
    if number < sheet.asked_now:
        if seen_of(sheet)[number] != seen:
            raise SheetError(f"Thing {number + 1} was answered before, and the first stands.")
        return sheet
    _refuse_other(sheet, number)
    refuse_deed(sheet.state, "stop")
    # A start that never arrived was after what was answered last.
    last = sheet.stopped_at or sheet.opened_at
    started_at = sheet.started_at if sheet.state == RUNNING and sheet.started_at else last
    watch = read_watch(
        claim,
        ago=ago,
        opened=(now - sheet.opened_at).total_seconds(),
        started=(now - started_at).total_seconds(),
    )
    sheet.stopped_at = now - timedelta(seconds=watch.ago)
    sheet.started_at = sheet.stopped_at - timedelta(seconds=watch.seconds)
    sheet.seen[str(number)] = seen.said
    timed = {"seconds": watch.seconds, "watch": watch.state, "wrong": seen.wrong_places}
    sheet.timed[str(number)] = timed
    sheet.comment = comment.strip()
    _add_up(sheet)
    is_last = sheet.asked_now == prompts_of(sheet).count()
    sheet.state = SheetState.STOPPED if is_last else SheetState.OPENED
    sheet.save()
    return sheet


def _add_up(sheet: Sheet) -> None:
    timed = sheet.timed.values()
    sheet.seconds = sum(each["seconds"] for each in timed)
    sheet.wrong_doors = sum(each["wrong"] for each in timed)
    is_officers = all(each["watch"] == VERIFIED for each in timed)
    sheet.watch = VERIFIED if is_officers else UNVERIFIED


def _refuse_other(sheet: Sheet, number: int) -> None:
    many = prompts_of(sheet).count()
    if number >= many:
        raise SheetError(f"Thing {number + 1} came in; this sheet has things 1 to {many}.")
    if number != sheet.asked_now:
        raise SheetError(
            f"Thing {number + 1} came in; thing {sheet.asked_now + 1} is asked for now."
        )


def may_be_out(sheet: Sheet) -> list[int]:
    """The numbers of the things behind opened doors: what was answered, and what was looked for
    when a call came."""
    started, stopped = sheet.started_at, sheet.stopped_at
    is_later = started is not None and (
        not sheet.seen or (stopped is not None and started > stopped)
    )
    was_looking = sheet.state == AWAY and is_later
    return list(range(sheet.asked_now + was_looking))


def judge_things(sheet: Sheet) -> None:
    """Work out what was seen of each thing and keep what it tells; what was voided counts for
    nothing."""
    seen = {
        number: each for number, each in seen_of(sheet).items() if number not in sheet.voided_lines
    }
    sheet.outcome, sheet.parts, sheet.missed = outcome_alone(seen.values()), {}, []
    if sheet.person is None:
        return
    layout, lines, prompts = layout_asked(sheet.drill), things_of(sheet), list(prompts_of(sheet))
    for number, each in seen.items():
        keep_seen(
            sheet,
            seen_alone(layout, lines[number], each),
            is_assisted=each.said == HELPED,
            choices=len(layout.stock),
            one=_timed(sheet, number, prompts[number]),
        )


def _timed(sheet: Sheet, number: int, prompt: DrillPrompt) -> OneThing:
    timed, limit = sheet.timed[str(number)], limit_of(sheet)
    return OneThing(
        number=number,
        depth=prompt.depth,
        chosen=prompt.chosen,
        seconds=timed["seconds"],
        state=timed["watch"],
        verdict=verdict_of(sheet, number),
        limit=limit,
    )


def verdict_of(sheet: Sheet, number: int) -> str:
    """Whether one thing was in time; late is more than half a second over the limit."""
    seconds = sheet.timed[str(number)]["seconds"]
    return judge_time(seconds, server=seconds, limit=limit_of(sheet), cut_off=None)


def things_written(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """What was written of each thing, by its number as text, in words."""
    lines = things_of(sheet)
    for number, each in seen_of(sheet).items():
        yield str(number), f"{lines[number].name}: {each.words}"
