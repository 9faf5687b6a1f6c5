"""The judgement of an answer: how far off it is, how dangerous, and which slip made it.

Right is what the device can measure, and anywhere inside a range. Past a maximum it is unsafe at
any size, and so it is from 20 % off, from a rule's tighter limit, and rounded the dangerous way.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import product

from drills.engine.dosing.results import Problem, ProblemError, Result, Solution
from drills.engine.dosing.slips import AMOUNT_GIVEN, DECIMALS, Made, Slip
from drills.engine.quantities import (
    Quantity,
    QuantityError,
    last_figure,
    plain,
    read_quantity,
    told_step,
)
from drills.engine.writing import Remark, remarks

RIGHT, OUT_OF_TOLERANCE, UNSAFE = "right", "out of tolerance", "unsafe"
UNREADABLE = "unreadable"
# A slip explains an answer to the answer's own precision, and never wider than this.
SLIP_WITHIN = Fraction(1, 50)


@dataclass(frozen=True, slots=True)
class Answered:
    """An answer as it was written and as it was read. `precision` is one of its last figure."""

    text: str
    amount: Quantity
    precision: Fraction


@dataclass(frozen=True, slots=True)
class Judgement:
    """What an answer is.

    `ratio` is how many times the nearest right amount it is, None where it could not be read.
    `slips` are those that explain it, one where exactly one does; `possibly` are pairs, offered
    only where no single one fits. `writing` is what is unsafe in how it was written, `reasons` say
    why a size of answer is dangerous whatever made it, and `sentence` says all of it in plain
    words, with the corrected line.
    """

    verdict: str
    sentence: str
    ratio: Fraction | None = None
    slips: tuple[Slip, ...] = ()
    possibly: tuple[tuple[Slip, Slip], ...] = ()
    writing: tuple[Remark, ...] = ()
    is_past_maximum: bool = False
    reasons: tuple[str, ...] = ()

    @property
    def slip(self) -> Slip | None:
        """The slip, where exactly one explains the answer; this alone is counted."""
        return self.slips[0] if len(self.slips) == 1 else None

    @property
    def off_by(self) -> Fraction:
        """How far off as a share; nothing where it could not be read."""
        return Fraction(0) if self.ratio is None else self.ratio - 1


def read_answer(text: str) -> Answered:
    """Read what a person wrote, such as `.5 mL` or `0,5 mL`; how it was written is judged apart.

    Raises `QuantityError` naming what came in.
    """
    amount = read_quantity(text)
    return Answered(text, amount, last_figure(text))


def judge(problem: Problem, asked: str, entered: str) -> Judgement:
    """Judge what was entered for one figure of a problem; `ProblemError` for a figure it has not.

    An amount of the medicine in the place of its volume is a right dose badly told at best.
    """
    solution = problem.solve()
    result = solution.results.get(asked)
    if result is None:
        there = ", ".join(solution.results)
        raise ProblemError(f"asked: {asked!r} is no figure of this problem; there are {there}.")
    try:
        answered = read_answer(entered)
    except QuantityError as error:
        return Judgement(UNREADABLE, f"{error} Write a number and {result.exact.unit}.")
    if answered.amount.kind == result.exact.kind:
        return _judged(problem, asked, solution, answered, answered.amount.to(result.exact.unit))
    meant = problem.instead(asked, answered.amount)
    if meant is None:
        return Judgement(
            UNREADABLE,
            f"{entered} is in {answered.amount.unit}, and {result.exact.unit} was asked for: "
            "they are different kinds of amount.",
            writing=remarks(entered),
        )
    return _told_otherwise(problem, result, answered, meant)


def _judged(
    problem: Problem, asked: str, solution: Solution, answered: Answered, given: Quantity
) -> Judgement:
    result = solution.results[asked]
    verdict, ratio, past = _verdict(problem, result, given.amount)
    judged = Judgement(verdict, "", ratio, writing=remarks(answered.text), is_past_maximum=past)
    if verdict != RIGHT and given.amount:
        made = list(_distinct(result, _made(problem, asked, result)))
        size = answered.precision * given.amount / answered.amount.amount
        found = dict.fromkeys(each.slip for each in made if _fits(given, size, each.value))
        pairs = () if found else tuple(_pairs(made, given, size))
        judged = replace(judged, slips=tuple(found), possibly=pairs)
    judged = replace(judged, reasons=tuple(_dangers(judged, result, given.amount)))
    return replace(judged, sentence=_sentence(judged, result, solution))


def _verdict(problem: Problem, result: Result, given: Fraction) -> tuple[str, Fraction, bool]:
    nearest = result.nearest_to(given)
    ratio = given / nearest if nearest else Fraction(1 if given == nearest else 2)
    past = result.ceiling is not None and given > result.ceiling.amount
    if past or result.is_rounded_dangerously(given) or abs(ratio - 1) >= problem.unsafe_from:
        return UNSAFE, ratio, past
    is_measured = _is_measured(result, given, nearest)
    return (RIGHT if is_measured else OUT_OF_TOLERANCE), ratio, past


def _is_measured(result: Result, given: Fraction, nearest: Fraction) -> bool:
    """Whether an amount is as near to the right one as the marks of its device let it be."""
    set_to = result.rounded.amount if result.rounded else None
    if given in (set_to, nearest):
        return True
    off, step = given - nearest, result.step_at(nearest)
    if set_to is None:
        # What no mark comes near to is right as told alone.
        return abs(off) <= told_step(nearest) / 2
    if result.is_down:
        return set_to <= given <= nearest
    if result.is_never_up:
        return -step < off <= 0
    return abs(off) <= step / 2


def _told_otherwise(
    problem: Problem, result: Result, answered: Answered, meant: Quantity
) -> Judgement:
    """An amount in the place of a volume: its dose is judged, and never right."""
    given = meant.to(result.exact.unit).amount
    verdict, ratio, past = _verdict(problem, result, given)
    near = _fits(meant, answered.precision * given / answered.amount.amount, result.exact)
    is_right = result.nearest_to(given) == given or near
    found = (AMOUNT_GIVEN,) if is_right else ()
    verdict = OUT_OF_TOLERANCE if verdict == RIGHT else verdict
    words = f" {_capital(AMOUNT_GIVEN.words)}." if found else ""
    sentence = f"{_capital(verdict)}.{words} Right: {result.answer}."
    judged = Judgement(verdict, sentence, ratio, found, (), remarks(answered.text), past)
    return replace(judged, reasons=tuple(_dangers(judged, result, given)))


def _made(problem: Problem, asked: str, result: Result) -> Iterator[Made]:
    yield from problem.slips(asked)
    for slip, factor in DECIMALS:
        # The point may have been moved in the figure as it was rounded.
        for right in filter(None, (*result.ends, result.rounded)):
            yield Made(slip, right.times(factor))


def _distinct(result: Result, made: Iterable[Made]) -> Iterator[Made]:
    """Those that change something: what a slip leaves right, no slip explains."""
    for each in made:
        value = each.value.to(result.exact.unit)
        inside = result.nearest_to(value.amount)
        if abs(value.amount - inside) > SLIP_WITHIN * inside:
            yield Made(each.slip, value)


def _fits(given: Quantity, precision: Fraction, value: Quantity) -> bool:
    """Whether a value is what was given, to the precision it was given with."""
    off = abs(given.amount - value.to(given.unit).amount)
    return off <= min(precision / 2, SLIP_WITHIN * value.to(given.unit).amount)


def _pairs(made: Iterable[Made], given: Quantity, size: Fraction) -> Iterator[tuple[Slip, Slip]]:
    """A slip of the problem and a wrong decimal place together."""
    of_decimals = {slip for slip, _ in DECIMALS}
    own = [each for each in made if each.slip not in of_decimals]
    seen = set()
    for each, (slip, factor) in product(own, DECIMALS):
        pair = (each.slip, slip)
        if pair not in seen and _fits(given, size, each.value.times(factor)):
            seen.add(pair)
            yield pair


def _sentence(judged: Judgement, result: Result, solution: Solution) -> str:
    """The verdict, what was done, and the corrected line."""
    if judged.verdict == RIGHT:
        return "Right."
    said = [f"{_capital(judged.verdict)}.", *judged.reasons, *_made_by(judged)]
    said.append(f"Right: {'; '.join(solution.steps)}.")
    if solution.refusal and result.rounded is None:
        said.append(solution.refusal.because)
    return " ".join(said)


def _dangers(judged: Judgement, result: Result, given: Fraction) -> Iterator[str]:
    if judged.is_past_maximum:
        yield f"That is past the maximum, {result.ceiling}."
    if result.is_rounded_dangerously(given):
        yield f"It lasts no longer than {result.exact}: such a figure is rounded down."


def _made_by(judged: Judgement) -> Iterator[str]:
    if judged.slips:
        yield f"{_capital(' or '.join(each.words for each in judged.slips))}."
    elif judged.possibly:
        first, second = judged.possibly[0]
        yield f"Possibly two slips together: {first.words}, and {second.words}."


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def told_ratio(ratio: Fraction) -> str:
    """How many times the right amount, in words a person reads."""
    return f"{plain(ratio)} times"
