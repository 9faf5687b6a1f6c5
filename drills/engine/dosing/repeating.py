"""What of a medicine may follow a dose: when it is due, how often, and how much in all."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from fractions import Fraction

from drills.engine.dosing.results import ProblemError, Refusal
from drills.engine.dosing.rule import Dose
from drills.engine.lines import line, span
from drills.engine.medicines import DOSE, FLUID, MedicineRule
from drills.engine.quantities import Quantity, QuantityError


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """What was given before: how many doses by the same rule, and `given_before`, how much of the
    medicine in all, by whatever rule; and when this one is given."""

    doses_before: int = 0
    given_at: datetime | None = None
    given_before: Quantity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Again:
    """What may follow. None is what nobody says: a time, a count, a greatest total.

    `so_far` is the most that was given with this dose and `so_far_low` the least, `more` how many
    doses of this size may follow it. `is_past` says that this dose is itself past the count or the
    total, `is_past_total` which.
    """

    next_due: datetime | None = None
    more: int | None = None
    so_far: Quantity | None = None
    so_far_low: Quantity | None = None
    at_most: Quantity | None = None
    is_past: bool = False
    is_past_total: bool = False
    steps: tuple[str, ...] = ()

    @property
    def told_so_far(self) -> str:
        """What was given with this dose, from the least to the most that it may be."""
        return span(self.so_far_low or self.so_far, self.so_far) if self.so_far else ""

    @property
    def refusal(self) -> Refusal | None:
        """Why this dose is not given any more."""
        if not self.is_past:
            return None
        total = f"{self.told_so_far} with this dose, and " if self.so_far else ""
        most = f"{self.at_most} in all" if self.is_past_total else "no more doses"
        return Refusal(
            f"{total}the rule allows {most}.",
            ("Give no more by this rule: ask for direction.",),
            "the rule does not allow any more",
        )


def within_total(
    rule: MedicineRule, kg: Quantity | None, course: Course
) -> tuple[MedicineRule, str]:
    """A rule of a range with its high end cut to what is left of the most in all, and why.

    Where the count alone is told it is cut by the most that those doses may have been, and never
    below the low end.
    """
    at_most = _at_most(rule, kg)
    if at_most is None or rule.topic not in (DOSE, FLUID):
        return rule, ""
    meant = rule.rule.for_weight(kg)
    least, most = _before(meant, course)
    left, best = (_less(at_most, each) for each in (most, least))
    if left >= meant.high.amount or best < meant.low.amount or meant.low == meant.high:
        return rule, ""
    to = Quantity(max(left, meant.low.amount), meant.low.unit)
    said = f"In all at most {at_most}{_why_cut(least, most, to)}"
    return replace(rule, rule=replace(rule.rule, maximum=to)), said


def _why_cut(least: Quantity, most: Quantity, to: Quantity) -> str:
    """What was given before and so what is left, in words."""
    if least != most:
        return (
            f", and by the count alone {span(least, most)} was given before: no more than {to} "
            "until it is known how much"
        )
    if most.amount:
        return f", and {most} was given before: {to} is left"
    return f": no more than {to} is left"


def what_follows(
    rule: MedicineRule, dose: tuple[Quantity, ...], kg: Quantity | None, course: Course
) -> Again:
    """What may follow a dose, which is one amount or both ends of a range."""
    if not dose or not dose[-1].amount:
        return Again()
    this, at_most = Dose(dose[0], dose[-1]), _at_most(rule, kg)
    least, most = _before(rule.rule.for_weight(kg), course)
    low, high = _more(this.low, least), _more(this.high, most)
    left = list(_left(rule, this, at_most, high, course))
    is_past_total = at_most is not None and _less(at_most, low) < 0
    more = max(min(left), 0) if left else None
    due = _due(rule, course) if more != 0 else None
    return Again(
        next_due=due,
        more=more,
        so_far=high,
        so_far_low=low,
        at_most=at_most,
        is_past=is_past_total or _is_past_count(rule, course),
        is_past_total=is_past_total,
        steps=(
            *_steps_of_total(this, (least, most), at_most, course),
            *_steps_of_time(rule, due, course),
        ),
    )


def _is_past_count(rule: MedicineRule, course: Course) -> bool:
    return rule.repeat_times is not None and course.doses_before > rule.repeat_times


def _left(
    rule: MedicineRule, this: Dose, at_most: Quantity | None, so_far: Quantity, course: Course
) -> Iterator[int]:
    """How many more by the count, and by the total; below nothing where this dose is past it."""
    if rule.repeat_times is not None:
        yield rule.repeat_times - course.doses_before
    if at_most is not None:
        yield int(_less(at_most, so_far) // this.high.amount)


def _before(meant: Dose, course: Course) -> tuple[Quantity, Quantity]:
    """The least and the most that was given before: what is told, else so many doses of the rule.

    Raises `ProblemError` for what is told in another kind of unit.
    """
    told = course.given_before
    if told is None:
        return meant.low.times(course.doses_before), meant.high.times(course.doses_before)
    try:
        told = told.to(meant.low.unit)
    except QuantityError as error:
        raise ProblemError(
            f"given so far: {told} came in; it is told in {meant.low.unit}."
        ) from error
    return told, told


def _at_most(rule: MedicineRule, kg: Quantity | None) -> Quantity | None:
    total = rule.max_total
    if total is None or "kg" not in total.per:
        return total
    return total.of(kg) if kg else None


def _more(amount: Quantity, other: Quantity) -> Quantity:
    return Quantity(amount.amount + other.to(amount.unit).amount, amount.unit)


def _less(at_most: Quantity, given: Quantity) -> Fraction:
    """What is left, in the unit of what was given; below nothing of what is past it."""
    return at_most.to(given.unit).amount - given.amount


def _due(rule: MedicineRule, course: Course) -> datetime | None:
    if course.given_at is None or not rule.repeat_min:
        return None
    return course.given_at + timedelta(minutes=rule.repeat_min)


def _steps_of_total(
    this: Dose, before: tuple[Quantity, Quantity], at_most: Quantity | None, course: Course
) -> Iterator[str]:
    least, most = before
    so_far, high = _more(this.low, least), _more(this.high, most)
    count, dose = course.doses_before, span(this.low, this.high)
    is_alike = (least, most) == (this.low.times(count), this.high.times(count))
    if count and course.given_before is None and is_alike:
        said = f"{count} before and this one: {count + 1} x {dose}"
        yield line(said, so_far, this.low, this.high, high=high)
    elif most.amount:
        said = f"{span(least, most)} before and this one: {span(least, most)} + {dose}"
        yield line(said, so_far, least, most, this.low, this.high, high=high)
    if at_most is not None:
        yield f"In all {span(so_far, high)} of at most {at_most.to(this.low.unit)}"


def _steps_of_time(rule: MedicineRule, due: datetime | None, course: Course) -> Iterator[str]:
    if due and course.given_at:
        yield f"{course.given_at:%H:%M} + {rule.repeat_min} min = {due:%H:%M}"
