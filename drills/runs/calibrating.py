"""Times of kits at the open doors, as the motion table is fitted to them and its page shows it."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from drills.engine.calibrating import (
    PEOPLE_NEEDED,
    RUNS_NEEDED,
    CalibrationError,
    Fit,
    Fitted,
    Timed,
    fit,
    missing,
)
from drills.engine.observing import HELPED
from drills.engine.optimum.motions import MOTIONS, OURS, Multipliers
from drills.engine.scoring import RIGHT
from drills.engine.targets import clocked
from drills.engine.timing import VERIFIED
from drills.rigs.actions import motion_table
from drills.runs.models import Sheet, SheetState
from drills.runs.targets import quickest_s
from drills.scenarios.models import CallType, Drill, DrillPrompt
from drills.scenarios.reading import layout_asked

# A table of what crews did two years ago is none of today's. The newest so many are read.
MOST_RUNS = 200
KITS_SHOWN = 4
_METRES = ("outside", "inside")
SIMULATED = "simulated"
ERASED = "of somebody who was erased"
AWAY = "called away"
CONTESTED = "voided in part after a contest"
ASSISTED = "brought with help"
NOT_WHOLE = "not the whole kit, or a wrong thing"
WRONG_DOOR = "a wrong door opened"
BY_SERVER = "timed by the server, not by the officer's watch"
ALLOWANCE = "of somebody with extra time"
NO_WAY = "no quickest way is known"
IMPOSSIBLE = "a time that cannot be one of its kit"


@dataclass(frozen=True, slots=True)
class Gathered:
    """The runs that count, the kits they were of by the newest, and how many were left out by
    why."""

    runs: tuple[Timed, ...]
    drills: tuple[Drill, ...]
    left_out: Mapping[str, int]

    @property
    def total_out(self) -> int:
        """How many were left out."""
        return sum(self.left_out.values())


@dataclass(frozen=True, slots=True)
class MotionRow:
    """One motion: seconds, or metres in a second, now and as fitted with its interval."""

    what: str
    unit: str
    now: str
    fitted: str
    low: str
    high: str


@dataclass(frozen=True, slots=True)
class KitRow:
    """The quickest way of one kit, now and as fitted."""

    what: str
    layout: str
    now: str
    fitted: str


def gather() -> Gathered:
    """The closed sheets whose times can be fitted to, the newest first."""
    runs: list[Timed] = []
    drills: list[Drill] = []
    left_out: Counter[str] = Counter()
    for sheet in _closed()[:MOST_RUNS]:
        timed = _why_not(sheet) or _timed(sheet)
        if isinstance(timed, Timed):
            runs.append(timed)
            drills.append(sheet.drill)
        else:
            left_out[timed] += 1
    return Gathered(tuple(runs), tuple(drills), dict(left_out.most_common()))


def _closed() -> Any:
    closed = Sheet.objects.filter(state=SheetState.CLOSED)
    return closed.select_related("drill__revision__layout", "person")


def _why_not(sheet: Sheet) -> str:
    """Why a sheet is left out whatever its time; empty where it is not."""
    reasons = {
        SIMULATED: sheet.is_simulated,
        ERASED: sheet.person is None,
        CONTESTED: bool(sheet.voided),
        AWAY: not sheet.outcome,
        ASSISTED: HELPED in sheet.seen.values(),
        WRONG_DOOR: sheet.wrong_doors > 0,
        NOT_WHOLE: sheet.outcome != RIGHT,
        BY_SERVER: sheet.watch != VERIFIED,
        ALLOWANCE: sheet.person is not None and sheet.person.time_allowance > 1,
    }
    return next((reason for reason, is_so in reasons.items() if is_so), "")


def _timed(sheet: Sheet) -> Timed | str:
    if not sheet.parts:
        return NO_WAY
    timed = Timed(**sheet.parts, took=sheet.seconds or 0.0, person=sheet.person_id)
    return timed if timed.is_possible else IMPOSSIBLE


def calibration_context() -> dict[str, Any]:
    """All that the page of the motion table shows."""
    gathered, table = gather(), motion_table()
    now = table.multipliers if table else OURS
    short_runs, short_people = missing(gathered.runs)
    found, fault = _fit(gathered.runs) if not (short_runs or short_people) else (None, "")
    return {
        "gathered": gathered,
        "many": len(gathered.runs),
        "people": len({each.person for each in gathered.runs}),
        "needed": (RUNS_NEEDED, PEOPLE_NEEDED),
        "short_runs": short_runs,
        "short_people": short_people,
        "table": table,
        "fit": found,
        "unfit": fault,
        "is_in_force": found is not None and found.multipliers == now,
        "rows": list(_motion_rows(now, found)),
        "kits": list(_kit_rows(gathered.drills, now, found.multipliers)) if found else [],
    }


def _fit(runs: Sequence[Timed]) -> tuple[Fit | None, str]:
    try:
        return fit(runs), ""
    except CalibrationError as error:
        return None, str(error)


def _motion_rows(now: Multipliers, found: Fit | None) -> Iterator[MotionRow]:
    parts: dict[str, Fitted] = {each.part: each for each in found.parts} if found else {}
    for motion in MOTIONS:
        speed = motion.key in _METRES
        fitted = parts.get(motion.part)
        percents = [getattr(now, motion.part)]
        percents += [fitted.percent, fitted.low, fitted.high] if fitted else [100] * 3
        told = [_told(float(motion.seconds), each, speed=speed) for each in percents]
        # The longer time is the slower walk.
        low, high = (told[3], told[2]) if speed else (told[2], told[3])
        yield MotionRow(motion.what, " m/s" if speed else " s", told[0], told[1], low, high)


def _told(seconds: float, percent: int, *, speed: bool) -> str:
    return f"{seconds * 100 / percent if speed else seconds * percent / 100:.1f}"


def _kit_rows(drills: Sequence[Drill], now: Multipliers, then: Multipliers) -> Iterator[KitRow]:
    """A few kits of different calls and layouts, the newest of each."""
    names = dict(CallType.objects.values_list("slug", "name"))
    kits = DrillPrompt.objects.filter(drill__in=drills, position=0)
    of_drill = {kit.drill_id: kit for kit in kits}
    newest: dict[tuple[str, int], Drill] = {}
    for drill in drills:
        newest.setdefault((of_drill[drill.pk].subject, drill.revision.layout_id), drill)
    for (call, _), drill in list(newest.items())[:KITS_SHOWN]:
        kit, layout = of_drill[drill.pk], layout_asked(drill)
        ways = [quickest_s(drill, kit, layout, motions=each) for each in (now, then)]
        times = [clocked(way) for way in ways if way]
        if len(times) == len(ways):
            yield KitRow(names.get(call, call), drill.revision.name, *times)
