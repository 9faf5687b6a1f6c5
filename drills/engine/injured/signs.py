"""The figures of an injured patient: as usual, beyond a limit of the published table, or beside it.

Every limit is found by trying the table (`tables.limit_of`); none is written here.
"""

from collections.abc import Collection, Mapping
from random import Random

from drills.engine.injured.tables import CRITERIA, USUAL_SIGNS, Criterion, limit_of

RATE, PULSE, SYSTOLIC, SPO2 = "rate", "heart_rate", "systolic", "spo2"
SEAT, ANYWHERE, FALL = "intrusion_occupant_in", "intrusion_any_in", "fall_ft"
SIGNS = (RATE, SPO2, PULSE, SYSTOLIC)
FIGURES = (*SIGNS, SEAT, ANYWHERE, FALL)
_KIND_OF = {SEAT: "crash", ANYWHERE: "crash", FALL: "fall"}
# What is usual or short of a limit; ours, no source.
_SPO2, _SEAT_IN, _ELSEWHERE_IN, _FALL_FT = (95, 99), (0, 8), (2, 14), (3, 8)
_STRAINED_RATE, _HELPED_RATE, _STRAINED_SPO2 = (24, 28), (11, 14), (91, 94)
_QUICKENED = (15, 34)  # so many beats more with too little pressure or oxygen
_PRESSURE_SPAN = 15  # how far over its limit a pressure is that the pulse is over
# From here on breathing is told as slow, or as fast: ours.
_SLOW_BELOW, _FAST_FROM, _GROWN_FROM_Y = 12, 24, 10


def told_happening(words: str, kind: str, figures: Mapping[str, int]) -> str:
    """How it happened, with the feet of a fall and the inches of what was pushed in."""
    told = words.format(ft=figures[FALL])
    if kind != "crash":
        return told
    seat, anywhere = figures[SEAT], figures[ANYWHERE]
    here = f"pushed in by {_inches(seat)}" if seat else "not pushed in"
    most = f"elsewhere by at most {_inches(anywhere)}"
    return f"{told} Where the patient sat the cabin is {here}, {most}."


def _inches(count: int) -> str:
    return f"{count} inch" if count == 1 else f"{count} inches"


def is_of_kind(figure: str, kind: str) -> bool:
    """Whether a figure is told of a kind of happening; a sign is told of everybody."""
    return _KIND_OF.get(figure, kind) == kind


def usual_figures(kind: str, age_y: int, random: Random) -> dict[str, int]:
    """All figures of somebody not badly hurt: breaths and beats a minute, mmHg, %, inches, feet."""
    row = next(each for each in USUAL_SIGNS if each.from_y <= age_y <= each.to_y)
    seat = _within(_SEAT_IN, random) if kind == "crash" else 0
    anywhere = max(seat, _within(_ELSEWHERE_IN, random)) if kind == "crash" else 0
    return {
        RATE: _within((row.rate_low, row.rate_high), random),
        PULSE: _within((row.pulse_low, row.pulse_high), random),
        SYSTOLIC: _within((row.systolic_low, row.systolic_high), random),
        SPO2: _within(_SPO2, random),
        SEAT: seat,
        ANYWHERE: anywhere,
        FALL: _within(_FALL_FT, random) if kind == "fall" else 0,
    }


def put_beside(figures: dict[str, int], criterion: Criterion, age_y: int, off: int) -> None:
    """Put the figure of a criterion so many short of its limit, 0 for right beside it."""
    met, missed = limit_for(criterion, age_y, figures)
    figures[criterion.edge] = missed + (missed - met) * off
    _keep_together(figures, criterion.edge)


def put_beyond(
    figures: dict[str, int], criterion: Criterion, age_y: int, random: Random, *, is_near: bool
) -> None:
    """Put the figure of a criterion beyond its limit, as little as can be where it is near."""
    if criterion.edge == PULSE:
        figures[SYSTOLIC] = _least_pressure(age_y) + _within((0, _PRESSURE_SPAN), random)
    met, missed = limit_for(criterion, age_y, figures)
    off = 0 if is_near else _within((criterion.far_from, criterion.far_to), random)
    figures[criterion.edge] = met + (met - missed) * off
    if criterion.edge in (SYSTOLIC, SPO2) and not is_near:
        figures[PULSE] += _within(_QUICKENED, random)
    if criterion.edge == SPO2 and not is_near:
        figures[RATE] = max(figures[RATE], _within(_STRAINED_RATE, random))
    _keep_together(figures, criterion.edge)


def strain(figures: dict[str, int], brought: Collection[str], random: Random) -> None:
    """Make breaths, pulse and saturation those of who fights for breath, or is helped with it."""
    is_helped = "support yes" in brought
    if is_helped or "distress yes" in brought:
        figures[RATE] = _within(_HELPED_RATE if is_helped else _STRAINED_RATE, random)
        figures[SPO2] = _within(_STRAINED_SPO2, random)
        figures[PULSE] += _within(_QUICKENED, random)


def breathing_words(rate: int, age_y: int) -> str:
    """How somebody without distress breathes, in words."""
    if rate < _SLOW_BELOW and age_y >= _GROWN_FROM_Y:
        return "Breathes slowly, without effort."
    if rate >= _FAST_FROM and age_y >= _GROWN_FROM_Y:
        return "Breathes fast, without effort."
    return "Breathes easily."


def told_figures(figures: Mapping[str, int]) -> tuple[str, ...]:
    """The vital signs as a page tells them."""
    return (
        f"Breathing {figures[RATE]} a minute",
        f"Saturation {figures[SPO2]} % on room air",
        f"Pulse {figures[PULSE]} a minute",
        f"Systolic {figures[SYSTOLIC]} mmHg",
    )


def limit_for(criterion: Criterion, age_y: int, figures: Mapping[str, int]) -> tuple[int, int]:
    """The figure that just meets a criterion of somebody, and the one beside it that does not."""
    return limit_of(criterion.key, age_y, figures[SYSTOLIC] if criterion.edge == PULSE else 0)


def _keep_together(figures: dict[str, int], moved: str) -> None:
    """The most of any place is no less than that of one."""
    if moved == SEAT:
        figures[ANYWHERE] = max(figures[ANYWHERE], figures[SEAT])
    elif moved == ANYWHERE:
        figures[SEAT] = min(figures[SEAT], figures[ANYWHERE])


def _least_pressure(age_y: int) -> int:
    """The least systolic pressure that meets no criterion of its own at an age."""
    rows = (each for each in CRITERIA if each.edge == SYSTOLIC)
    own = next(each for each in rows if each.from_y <= age_y <= each.to_y)
    return limit_of(own.key, age_y)[1]


def _within(bounds: tuple[int, int], random: Random) -> int:
    low, high = bounds
    return low + int(random.random() * (high - low + 1))
