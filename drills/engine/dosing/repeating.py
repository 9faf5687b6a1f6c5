"""What of a medicine may follow a dose: when it is due, how often, and how much in all."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from drills.engine.dosing.results import Refusal
from drills.engine.lines import line
from drills.engine.medicines import MedicineRule
from drills.engine.quantities import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """What was given before by the same rule: how many doses; and when this one is given."""

    doses_before: int = 0
    given_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Again:
    """What may follow. None is what nobody says: a time, a count, a greatest total.

    `so_far` is what was given with this dose, `more` how many doses of this size may follow it.
    `is_past` says that this dose is itself past the count or the total.
    """

    next_due: datetime | None = None
    more: int | None = None
    so_far: Quantity | None = None
    at_most: Quantity | None = None
    is_past: bool = False
    steps: tuple[str, ...] = ()

    @property
    def refusal(self) -> Refusal | None:
        """Why this dose is not given any more."""
        if not self.is_past:
            return None
        total = f"{self.so_far} with this dose, and " if self.so_far else ""
        most = f"{self.at_most} in all" if self.at_most else "no more doses"
        return Refusal(
            f"{total}the rule allows {most}.", ("Give no more by this rule: ask for direction.",)
        )


def what_follows(
    rule: MedicineRule, dose: Quantity | None, kg: Quantity | None, course: Course
) -> Again:
    """What may follow a dose; of a range the high end is counted."""
    if dose is None or not dose.amount:
        return Again()
    at_most = _at_most(rule, kg)
    so_far = dose.times(course.doses_before + 1)
    more = min(_left(rule, dose, at_most, course), default=None)
    due = _due(rule, course) if more is None or more > 0 else None
    return Again(
        next_due=due,
        more=None if more is None else max(more, 0),
        so_far=so_far,
        at_most=at_most,
        is_past=more is not None and more < 0,
        steps=(*_steps_of_total(so_far, dose, at_most, course), *_steps_of_time(rule, due, course)),
    )


def _at_most(rule: MedicineRule, kg: Quantity | None) -> Quantity | None:
    total = rule.max_total
    if total is None or "kg" not in total.per:
        return total
    return total.of(kg) if kg else None


def _left(
    rule: MedicineRule, dose: Quantity, at_most: Quantity | None, course: Course
) -> Iterator[int]:
    """How many more by the count, and by the total; below nothing where this dose is past it."""
    if rule.repeat_times is not None:
        yield rule.repeat_times - course.doses_before
    if at_most is not None:
        yield int(at_most.ratio_to(dose) // 1) - course.doses_before - 1


def _due(rule: MedicineRule, course: Course) -> datetime | None:
    if course.given_at is None or not rule.repeat_min:
        return None
    return course.given_at + timedelta(minutes=rule.repeat_min)


def _steps_of_total(
    so_far: Quantity, dose: Quantity, at_most: Quantity | None, course: Course
) -> Iterator[str]:
    if course.doses_before:
        count = course.doses_before + 1
        yield line(f"{course.doses_before} before and this one: {count} x {dose}", so_far, dose)
    if at_most is not None:
        yield f"In all {so_far} of at most {at_most.to(dose.unit)}"


def _steps_of_time(rule: MedicineRule, due: datetime | None, course: Course) -> Iterator[str]:
    if due and course.given_at:
        yield f"{course.given_at:%H:%M} + {rule.repeat_min} min = {due:%H:%M}"
