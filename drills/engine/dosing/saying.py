"""A judgement in one plain sentence, with the corrected line: short enough for a phone."""

import re
from collections.abc import Iterator, Sequence
from fractions import Fraction
from math import ceil

from drills.engine.dosing.measured import STEPPED, THINGS, allowance, right_span
from drills.engine.dosing.refusing import marks_apart
from drills.engine.dosing.results import UNSAFE_FROM, Result, Rounding, Solution
from drills.engine.dosing.righting import line_for
from drills.engine.dosing.slips import Slip
from drills.engine.dosing.verdicts import OUT_OF_TOLERANCE, RIGHT, UNSAFE, Judgement
from drills.engine.lines import ends_in, span
from drills.engine.quantities import Quantity, half_up, plain, told_step

# Written in a way that is read otherwise elsewhere: 1.500 for 1,500, and 1,500 for 1.5.
_POINT_OF_THOUSANDS = re.compile(r"[1-9][0-9]{0,2}\.[0-9]{3}(?![0-9])", re.ASCII)
_COMMA_OF_DECIMALS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}(?![0-9])", re.ASCII)
_COMMA_OF_THOUSANDS = re.compile(r"[1-9][0-9]{0,2},[0-9]+", re.ASCII)
TENTH = Fraction(1, 10)
NOTHING_LEFT = "There is nothing left to give."
# What is set on a device or drawn up; the first by the dial of a pump.
DIALLED_IN = "mL/h"
SET_IN = (DIALLED_IN, "J", "mL", "gtt/min")


def sentence(judged: Judgement, result: Result, solution: Solution, given: Fraction) -> str:
    """The verdict, what was done, and the line of the working that puts it right."""
    refusal = solution.refusal_of(result)
    if judged.verdict == RIGHT:
        return f"Right as a figure, and refused: {refusal.because}" if refusal else "Right."
    slip = judged.slips[0] if judged.slips else None
    said = (
        f"{capital(judged.verdict)}, {_why(judged, result, given)}. "
        f"Right: {_line(slip, result, solution)}."
    )
    if close := closeness(judged, result, given):
        said = f"{said} {close}"
    # Who took a mark beside it made no slip: there is none to take, and there are ways out.
    is_beside = abs(given - result.exact.amount) <= result.step
    return " ".join((said, *(refusal.instead if refusal and is_beside else ())))


def dangers(judged: Judgement, result: Result, given: Fraction) -> Iterator[str]:
    """Why an answer of such a size is dangerous, whatever made it, each in a sentence."""
    if judged.is_past_maximum:
        yield f"That is past the maximum, {result.ceiling}."
    if result.is_rounded_dangerously(given):
        lasts = f"It lasts no longer than {result.exact}: such a figure is rounded down."
        yield lasts if result.exact.amount else NOTHING_LEFT


def closeness(judged: Judgement, result: Result, given: Fraction) -> str:
    """How near is near enough, where less than a mark decides; else nothing."""
    nearest = result.nearest_to(given)
    if judged.verdict != OUT_OF_TOLERANCE or abs(given - nearest) >= result.step_at(nearest):
        return ""
    if result.exact.unit in THINGS:
        there = " or ".join(dict.fromkeys(map(str, result.ends)))
        return f"There is nothing between: right is {there}."
    if judged.slips or not _is_decided_by_marks(result, given):
        return ""
    if result.exact.unit in STEPPED:
        return _stepped(result, result.step_at(nearest))
    return _near_enough(result, nearest, given)


def _is_decided_by_marks(result: Result, given: Fraction) -> bool:
    """Whether it is no refusal and no limit that decides."""
    return result.rounded is not None and not result.is_under(given)


def _right_span(result: Result) -> str:
    least, most = (Quantity(each, result.exact.unit) for each in right_span(result))
    return f"from {least} to {most}"


def _near_enough(result: Result, nearest: Fraction, given: Fraction) -> str:
    """Of what is measured: as it is rounded."""
    if result.rounding.is_down:
        return f"Less than a mark decides: right is {_right_span(result)}, never above."
    if result.is_range and given > result.high_amount:
        at_most = Quantity(right_span(result)[1], result.exact.unit)
        return f"Above the range nothing is set: right is no more than {at_most}."
    unit, step = result.exact.unit, result.step_at(nearest)
    within = allowance(result, nearest)
    least, most = right_span(result)
    if nearest not in (least + within, most - within):
        return f"Less than a mark decides: right is {_right_span(result)}."
    half = "Half a mark" if unit in SET_IN else "Rounding"
    why = half if within == step / 2 else "A twentieth"
    return f"{why} decides: right is within {Quantity(within, unit)} of {Quantity(nearest, unit)}."


def _stepped(result: Result, apart: Fraction) -> str:
    """Of what is set in steps nothing between them is right but the exact figure."""
    steps = Quantity(apart, result.exact.unit)
    said = f"It is set in steps of {steps}"
    if steps.unit == "tablet":
        said = f"It is given in {marks_apart(steps)}"
    never = ", never above" if result.rounding is Rounding.NEVER_UP else ""
    return f"{said}: right is {result.answer}, or the exact figure as told{never}."


def misread(judged: Judgement, text: str) -> str:
    """That a mark of thousands may have been read as a point or a point as such a mark, where the
    other reading is less than a fifth off; else nothing."""
    ratio = judged.ratio or Fraction(0)
    if abs(ratio / 1000 - 1) < UNSAFE_FROM and _COMMA_OF_DECIMALS.match(text):
        return "Or the comma was meant for decimals: before three figures it is one of thousands."
    if abs(ratio * 1000 - 1) >= UNSAFE_FROM:
        return ""
    if _POINT_OF_THOUSANDS.match(text):
        return "Or the point was meant for thousands: a point is read as a decimal one."
    if _COMMA_OF_THOUSANDS.match(text):
        return "Or the comma was meant for thousands: it is one before three figures alone."
    return ""


def _why(judged: Judgement, result: Result, given: Fraction) -> str:
    said = list(_limits_missed(judged, result, given))
    if made_by := _made_by(judged):
        said.append(made_by)
    elif not said and judged.ratio is not None:
        said += [off(judged), *_side(judged, result), *_setting(result, given)]
    return ": ".join(said)


def _limits_missed(judged: Judgement, result: Result, given: Fraction) -> Iterator[str]:
    """The limit that an answer is on the wrong side of; of what runs out and of a minimum where no
    slip says more."""
    if judged.is_past_maximum:
        yield f"past the maximum of {result.ceiling}"
    if result.is_under(given) and not judged.slips:
        yield f"under the minimum of {result.floor}"
    if result.is_rounded_dangerously(given) and not judged.slips:
        is_left = result.exact.amount
        yield f"past {result.exact}, which is rounded down" if is_left else "nothing is left of it"


def _side(judged: Judgement, result: Result) -> Iterator[str]:
    """Who tells too few minutes endangers nobody, and cannot have worked them out."""
    if result.rounding is Rounding.LASTS and judged.verdict == UNSAFE and judged.off_by < 0:
        yield "so far off that the sum is wrong"


def _setting(result: Result, given: Fraction) -> Iterator[str]:
    """Who took the mark above made no slip: the service's setting alone forbids it. Above a range
    nothing is set whatever the setting."""
    if (
        result.rounding is Rounding.NEVER_UP
        and not result.is_range
        and 0 < given - result.high_amount <= result.step
    ):
        yield "the service never rounds a child's dose up"


def _made_by(judged: Judgement) -> str:
    if judged.possibly:
        return f"possibly two slips together: {listed(judged.possibly[0])}"
    return slips_told(judged.slips)


def slips_told(slips: Sequence[Slip]) -> str:
    """The slip that explains an answer, or each of several by its number; nothing of none."""
    if len(slips) < 2:
        return "".join(each.words for each in slips)
    return f"any of these slips explains it: {listed(slips)}"


def listed(slips: Sequence[Slip]) -> str:
    """Several slips, each by its number: the words of one have commas and colons of their own."""
    return "; ".join(f"({number}) {each.words}" for number, each in enumerate(slips, 1))


def off(judged: Judgement) -> str:
    """What is off of an answer that could be read: its unit, then its size; nothing of a right
    one."""
    if judged.verdict == RIGHT or judged.ratio is None:
        return ""
    in_place = f"in {judged.told_in}, and {judged.asked_in} was asked for" if judged.told_in else ""
    return "; ".join(filter(None, (in_place, how_far(judged.ratio))))


def how_far(ratio: Fraction) -> str:
    """How far off an answer is, in round words; nothing of the very amount."""
    if ratio == 1:
        return ""
    if ratio >= 2:
        return f"{plain(half_up(ratio, told_step(ratio)))} times as much as is right"
    share = abs(ratio - 1) * 100
    told = _percent(share)
    much = "much" if ratio > 1 else "little"
    return f"{plain(told)}% too {much}" if told else f"less than {plain(TENTH)}% too {much}"


def _percent(share: Fraction) -> Fraction:
    """A percentage below ten with a tenth, from there on whole; finer where that would tell a
    whole one that is not reached: an answer short of its limit is never told as being at it."""
    above = Fraction(ceil(share))
    steps = (Fraction(1), TENTH, TENTH / 10, TENTH / 100)[share < 10 :]
    told = (half_up(share, step) for step in steps)
    return next((each for each in told if each < above or share == above), share)


def _line(slip: Slip | None, result: Result, solution: Solution) -> str:
    """The line where the slip was made, else the one that gives the figure; then the figure."""
    line = _where(slip, result, solution)
    refusal = solution.refusal_of(result)
    answer = span(result.exact, result.high) if refusal else result.answer
    said = line if line.endswith(f" {answer}") else ", so ".join(filter(None, (line, answer)))
    return f"{said}, which {refusal.which}" if refusal else said


def _where(slip: Slip | None, result: Result, solution: Solution) -> str:
    # What is worked out of the figure itself puts nothing right.
    before = [each for each in solution.steps if not each.startswith(f"{result.exact} ")]
    line = line_for(slip, before) if slip else ""
    steps = [*solution.beside.values(), *reversed(solution.steps)]
    return line or next((each for each in steps if ends_in(each, result.exact)), "")


def capital(words: str) -> str:
    """The words with a capital letter first."""
    return words[:1].upper() + words[1:]
