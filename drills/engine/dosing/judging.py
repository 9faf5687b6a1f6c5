"""The judgement of an answer: how far off it is, how dangerous, and which slip made it.

Right is what can be set or measured, the exact figure as it is told, and anywhere inside a range.
Past a maximum it is unsafe at any size, and so it is from 20 % off, from a rule's tighter limit,
and rounded the dangerous way.
The 20 % are the published definition of a dosing error, so a score or a pressure has no such limit.
"""

from dataclasses import replace
from fractions import Fraction

from drills.engine.concentrations import MG_PER_ML_OF_ONE_PERCENT
from drills.engine.dosing.entered import Answered, TwoUnitsError, read_answer, why_unread
from drills.engine.dosing.explaining import as_given, explained
from drills.engine.dosing.measured import STEPPED, THINGS, is_measured
from drills.engine.dosing.results import Problem, ProblemError, Result, Rounding, Solution
from drills.engine.dosing.saying import (
    capital,
    closeness,
    dangers,
    how_far,
    misread,
    sentence,
    slips_told,
)
from drills.engine.dosing.slips import AMOUNT_GIVEN, DOSE_AS_VOLUME, STRENGTH_MULTIPLIED, Slip
from drills.engine.dosing.verdicts import OUT_OF_TOLERANCE, RIGHT, UNREADABLE, UNSAFE, Judgement
from drills.engine.dosing.weighed import with_told_weights
from drills.engine.quantities import BARE, LONGEST_TEXT, Quantity, QuantityError, read_number
from drills.engine.writing import remarks


def judge(problem: Problem, asked: str, entered: str, *, names_slips: bool = True) -> Judgement:
    """Judge what was entered for one figure of a problem; `ProblemError` for a figure it has not.

    An amount of the medicine in the place of its volume is a right dose badly told at best.
    Without `names_slips` the verdict is the same, and a wrong answer takes no longer than a right
    one.
    """
    solution = problem.solve()
    result = solution.results.get(asked)
    if result is None:
        return _without(solution, asked, entered)
    try:
        answered = read_answer(entered, result.exact.unit)
    except QuantityError as error:
        return _unreadable(entered, result.exact.unit, error)
    answered = _as_kg(_by_volume(answered, result), result)
    if answered.amount.kind == result.exact.kind:
        given = answered.amount.to(result.exact.unit)
        return _judged(problem, asked, solution, answered, given, names_slips=names_slips)
    meant = problem.instead(asked, answered.amount)
    if meant is None:
        return _of_another_kind(answered, result.exact.unit)
    return _told_otherwise(problem, result, answered, meant, names_slips=names_slips)


def _without(solution: Solution, asked: str, entered: str) -> Judgement:
    """Of a figure that is not there no amount is right; `ProblemError` where it never is."""
    unit, refusal = solution.without.get(asked), solution.refusal
    if unit is None or refusal is None:
        there = ", ".join(solution.results)
        raise ProblemError(f"asked: {asked!r} is no figure of this problem; there are {there}.")
    try:
        answered = read_answer(entered, unit)
    except QuantityError as error:
        return _unreadable(entered, unit, error)
    if answered.amount.kind != Quantity(Fraction(1), unit).kind:
        return _of_another_kind(answered, unit)
    said = f"Unsafe, there is no such figure: {refusal.because} {' '.join(refusal.instead)}"
    return Judgement(UNSAFE, said, writing=remarks(entered), reasons=(refusal.because,))


def _unreadable(entered: str, unit: str, error: QuantityError) -> Judgement:
    """What cannot be read, and how it would be written in the unit that was asked for."""
    if isinstance(error, TwoUnitsError):
        return Judgement(UNREADABLE, str(error))
    why = why_unread(entered)
    if why.lacks == "unit":
        takes = f"Write {_with_unit(entered.strip()[:LONGEST_TEXT], unit)} if that is meant."
    else:
        several = str(Quantity(Fraction(2), unit)).removeprefix("2").strip()
        takes = "It takes a number." if unit == BARE else f"It takes a number and {several}."
    return Judgement(UNREADABLE, f"{why.because} {takes}")


def _with_unit(number: str, unit: str) -> str:
    """A number as it came in, with the unit as it is told of so many: 4 tablets, 1 tablet."""
    try:
        told = str(Quantity(read_number(number), unit)).partition(" ")[2]
    except QuantityError:
        told = unit
    return f"{number} {told or unit}"


def _of_another_kind(answered: Answered, unit: str) -> Judgement:
    if (answered.amount.unit, unit) == ("lb", "kg"):
        said = f"{answered.text} is a weight in pounds, and kg was asked for: turn it into kg."
        return Judgement(UNREADABLE, said, writing=remarks(answered.text))
    return Judgement(
        UNREADABLE,
        f"{answered.text} is in {answered.amount.unit}, and {unit} was asked for: "
        "they are different kinds of amount.",
        writing=remarks(answered.text),
    )


def _by_volume(answered: Answered, result: Result) -> Answered:
    """A strength told in percent, as one in mg/mL."""
    a_percent = Quantity(Fraction(MG_PER_ML_OF_ONE_PERCENT), "mg/mL")
    if answered.amount.unit != "%" or result.exact.kind != a_percent.kind:
        return answered
    return answered.by(a_percent)


def _as_kg(answered: Answered, result: Result) -> Answered:
    """A body weight told in grams, as a newborn's is, as one in kg."""
    if (answered.amount.unit, result.exact.unit) != ("g", "kg"):
        return answered
    return answered.by(Quantity(Fraction(1, 1000), "kg"))


def _judged(
    problem: Problem,
    asked: str,
    solution: Solution,
    answered: Answered,
    given: Quantity,
    *,
    names_slips: bool,
) -> Judgement:
    result = solution.results[asked]
    verdict, ratio, past = _verdict(problem, result, given.amount)
    if verdict == OUT_OF_TOLERANCE and _is_right_as_weighed(problem, asked, result, given.amount):
        verdict = RIGHT
    judged = Judgement(verdict, "", ratio, writing=remarks(answered.text), is_past_maximum=past)
    if names_slips and verdict != RIGHT and given.amount:
        found, pairs = explained(problem, result, as_given(answered, given.amount, result))
        judged = replace(judged, slips=found, possibly=pairs)
    why = (
        *dangers(judged, result, given.amount),
        closeness(judged, result, given.amount),
        misread(judged, answered.text),
    )
    judged = replace(judged, reasons=tuple(filter(None, why)))
    said = (sentence(judged, result, solution, given.amount), misread(judged, answered.text))
    return replace(judged, sentence=" ".join(filter(None, said)))


def _is_right_as_weighed(problem: Problem, asked: str, result: Result, amount: Fraction) -> bool:
    """Whether it is what a weight gives that was rightly rounded on the way; where it is measured
    all that lies between is as well, being nearer."""
    told = list(with_told_weights(problem))
    solved = [each.solve().results[asked] for each in told]
    if RIGHT in (_verdict(*each, amount)[0] for each in zip(told, solved, strict=True)):
        return True
    if not told or result.exact.unit in (*STEPPED, *THINGS):
        return False
    exact = [end.amount for each in (result, *solved) for end in each.ends]
    return min(exact) <= amount <= max(exact)


def _verdict(problem: Problem, result: Result, given: Fraction) -> tuple[str, Fraction, bool]:
    nearest = result.nearest_to(given)
    ratio = _ratio(given, nearest)
    past = result.is_past(given)
    if past or result.is_rounded_dangerously(given):
        return UNSAFE, ratio, past
    # Of 2.6 minutes 2 whole ones are told: that far down is as it should be.
    is_cut_off = result.rounding is Rounding.LASTS and given >= result.mark.amount
    limit = problem.unsafe_from
    if limit is not None and not is_cut_off and abs(ratio - 1) >= limit:
        return UNSAFE, ratio, past
    return _measured(result, given), ratio, past


def _ratio(given: Fraction, nearest: Fraction) -> Fraction:
    """How many times what is right; of an empty cylinder anything is twice it."""
    if nearest:
        return given / nearest
    return Fraction(2 if given else 1)


def _measured(result: Result, given: Fraction) -> str:
    if result.is_under(given):
        return OUT_OF_TOLERANCE
    return RIGHT if is_measured(result, given) else OUT_OF_TOLERANCE


def _told_otherwise(
    problem: Problem, result: Result, answered: Answered, meant: Quantity, *, names_slips: bool
) -> Judgement:
    """An amount in the place of a volume: its dose is judged, and never right."""
    given = meant.to(result.exact.unit).amount
    verdict, ratio, past = _verdict(problem, result, given)
    is_named = names_slips and given
    found = _slips_told_otherwise(problem, result, answered, given) if is_named else ()
    verdict = OUT_OF_TOLERANCE if verdict == RIGHT else verdict
    judged = Judgement(verdict, "", ratio, found, (), remarks(answered.text), past)
    judged = replace(judged, told_in=answered.amount.unit, asked_in=result.exact.unit)
    reasons = tuple(dangers(judged, result, given))
    words = slips_told(found) or (
        f"{answered.amount.unit} was told where {result.exact.unit} was asked for"
    )
    if not found and _is_right_number(problem, result, answered):
        words = f"the number is right and the unit is wrong: {answered.amount} is {how_far(ratio)}"
    said = " ".join((f"{capital(verdict)}, {words}.", *reasons, f"Right: {result.answer}."))
    return replace(judged, reasons=reasons, sentence=said)


def _slips_told_otherwise(
    problem: Problem, result: Result, answered: Answered, amount: Fraction
) -> tuple[Slip, ...]:
    """What made a dose that was told in the place of its volume; none where its number is right."""
    given = as_given(answered, amount, result)
    if given.fits(result.nearest_to(amount)):
        return (AMOUNT_GIVEN,)
    if _is_right_number(problem, result, answered):
        return ()
    found, _ = explained(problem, result, given)
    return tuple(each for each in found if each not in (DOSE_AS_VOLUME, STRENGTH_MULTIPLIED))


def _is_right_number(problem: Problem, result: Result, answered: Answered) -> bool:
    return _verdict(problem, result, answered.amount.amount)[0] == RIGHT
