"""Sign-offs: which runs at the rig may be signed, what one covers, and how long it stands.

A sign-off covers categories of things on one layout. On each category the run that was seen last
decides; its state is worked out from the day it was seen and is stored nowhere. It says what was
seen at a rig and releases nobody.

What was learnt of where things lie was quick at 152 days and lost by 351, the regression crossing
the standard at day 287 (Hospital Pediatrics 2016;6(2):67); of those trained in advanced life
support 37 in 100 passed at 3 months (as told of Resuscitation 2012;83(9):1055). From these a drill
at 90 days and a new run at 180; the two numbers are ours, and a service sets its own.
"""

from collections.abc import Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from drills.engine.layout import Layout
from drills.engine.observing import BROUGHT, SheetLine
from drills.engine.scoring import MARKS, RIGHT
from drills.engine.standards import Result
from drills.engine.timing import GRACE

DRILL_AFTER_DAYS, LAPSES_AFTER_DAYS = 90, 180
# How long before it lapses a list speaks of it. Ours, no source: a few weeks of shifts.
SOON_DAYS = 30
SIGNED, DRILL_DUE, LAPSED, WITHDRAWN = "signed", "drill due", "lapsed", "withdrawn"
STATES: Mapping[str, str] = {
    SIGNED: "seen at the rig, and it stands",
    DRILL_DUE: "it stands, and a drill is due",
    LAPSED: "too long ago: somebody has to see it again",
    WITHDRAWN: "taken back with a reason: somebody has to see it again",
}
# In both the word of the officer holds no more.
ENDED = frozenset({LAPSED, WITHDRAWN})


class SigningError(ValueError):
    """A sign-off that cannot be given or taken back; the text says why, and what can be done."""


@dataclass(frozen=True, slots=True)
class Span:
    """After how many days a drill is due and after how many a sign-off lapses, counted from the
    day the run was seen. Raises `SigningError` unless the drill comes first."""

    drill_after: int = DRILL_AFTER_DAYS
    lapses_after: int = LAPSES_AFTER_DAYS

    def __post_init__(self) -> None:
        if not 0 < self.drill_after < self.lapses_after:
            raise SigningError(
                f"A drill after {self.drill_after} days and a new run after {self.lapses_after} "
                "came in. The drill comes after one day or more, and before the new run."
            )


@dataclass(frozen=True, slots=True)
class Signed:
    """One sign-off: the categories it covers on a layout, by its key, and when the run was seen;
    `day` is that day where the service is. `mark` tells sign-offs apart."""

    mark: Hashable
    layout: Hashable
    categories: frozenset[str]
    seen_at: datetime
    day: date
    is_withdrawn: bool = False


@dataclass(frozen=True, slots=True)
class Standing:
    """How one category stands on one layout: its state, the sign-off that decides, the day from
    which a drill is due and the day on which it lapses."""

    layout: Hashable
    category: str
    signed: Signed
    state: str
    drill_on: date
    lapses_on: date

    @property
    def stands(self) -> bool:
        """Whether the word of the officer holds."""
        return self.state not in ENDED


def standings(
    signed: Iterable[Signed],
    *,
    span: Span,
    today: date,
    drilled: Mapping[Hashable, date] | None = None,
) -> tuple[Standing, ...]:
    """How each category that was ever signed stands, by layout and then by name.

    Of two runs the one seen later decides: an earlier one does not come back when it is withdrawn.
    `drilled` is the day of the last drill on a kit, by layout: it answers for as many days as a
    run does, and puts off no lapse.
    """
    newest: dict[tuple[Hashable, str], Signed] = {}
    for each in sorted(signed, key=lambda one: (one.seen_at, str(one.mark))):
        newest |= {(each.layout, category): each for category in each.categories}
    found = (
        _standing(each, category, span, today, (drilled or {}).get(layout))
        for (layout, category), each in newest.items()
    )
    return tuple(sorted(found, key=lambda one: (str(one.layout), one.category)))


def _standing(
    signed: Signed, category: str, span: Span, today: date, drilled: date | None
) -> Standing:
    last = max(signed.day, drilled or signed.day)
    drill_on = last + timedelta(days=span.drill_after)
    lapses_on = signed.day + timedelta(days=span.lapses_after)
    state = DRILL_DUE if drill_on <= today else SIGNED
    if signed.is_withdrawn:
        state = WITHDRAWN
    elif lapses_on <= today:
        state = LAPSED
    return Standing(signed.layout, category, signed, state, drill_on, lapses_on)


def lapsing_soon(
    found: Iterable[Standing], *, today: date, within: int = SOON_DAYS
) -> tuple[Standing, ...]:
    """Those that lapse within so many days, or did as many ago; the first to lapse first."""
    near = timedelta(days=within)
    soon = (
        each
        for each in found
        if each.state != WITHDRAWN and today - near <= each.lapses_on <= today + near
    )
    return tuple(sorted(soon, key=lambda one: (one.lapses_on, str(one.layout), one.category)))


def touched(
    layout: Layout, lines: Sequence[SheetLine], seen: Mapping[int, str]
) -> dict[str, tuple[str, ...]]:
    """The categories of what was brought alone, each with the names of those things, by name.

    A thing without a category touches none.
    """
    found: dict[str, list[str]] = {}
    for number, line in enumerate(lines):
        category = layout.things[line.thing].category
        if category and seen.get(number) == BROUGHT:
            found.setdefault(category, []).append(line.name)
    return {category: tuple(found[category]) for category in sorted(found)}


def covered(
    there: Collection[str], ticked: Collection[str], *, is_in_phases: bool
) -> tuple[str, ...]:
    """The categories that a sign-off covers, by name.

    Of a person in the phases of a new hire those that the officer ticked, of everybody else all
    that the run touched. Raises `SigningError` where that is none, or something else was ticked.
    """
    if not there:
        raise SigningError("Nothing of any category was brought alone. Watch another run.")
    if not is_in_phases:
        return tuple(sorted(there))
    if other := sorted(set(ticked) - set(there)):
        raise SigningError(
            f"{', '.join(other)} came in. This run touched {', '.join(sorted(there))}."
        )
    if not ticked:
        raise SigningError(
            "No category came in. In the phases of a new hire each is signed by itself: tick one "
            "or more."
        )
    return tuple(sorted(set(ticked)))


def result_at_rig(outcome: str, *, missed: bool, seconds: float, limit: float | None) -> Result:
    """What an observed kit is for a standard to judge: one answer, with the marks of its outcome.

    Without a limit in seconds time is not judged; a wrong kit is never in time.
    """
    is_limited = limit is not None and outcome == RIGHT
    return Result(
        planned=1,
        answered=1,
        marks_sum=MARKS.get(outcome, 0),
        limited=int(is_limited),
        in_time=int(is_limited and limit is not None and seconds <= limit + GRACE),
        unsafe=0,
        kits_failed=int(missed),
        is_timed=True,
    )
