"""Giving a recipe to people, excusing them, and taking it back."""

from collections.abc import Collection
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from drills.engine.recipes import refuse_unbuilt
from drills.engine.standards import Standard, in_words
from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.models import Layout
from drills.runs.actions.serving import withdraw_run
from drills.runs.assigned import who_has
from drills.runs.models import Assigned, Assignment, Run
from drills.scenarios.models import Recipe
from drills.scenarios.sampling import unserved


class AlreadyAssignedError(ValueError):
    """Everybody has the same recipe to do by the same day."""

    def __init__(self, recipe: Recipe, due_on: date, people: Collection[Person]) -> None:
        super().__init__(f"{len(people)} people have {recipe}, due {due_on:%F}, to do already.")
        self.people = people


@transaction.atomic
def assign(
    recipe: Recipe,
    *,
    to: Collection[Person],
    due_on: date,
    standard: Standard,
    minutes: int,
    attempts: int | None = None,
    note: str = "",
    layout: Layout | None = None,
    by: Person,
    now: datetime,
) -> Assignment:
    """Give a recipe to people, however many, as one act; on one layout alone if one is named, and
    with so many `attempts` if a number is.

    Who has it by the same day is left out, `AlreadyAssignedError` where all have. `ValueError` for
    nobody, who left, a past day, what is retired or what the layout cannot serve;
    `CannotApplyError` for what is not built yet.
    """
    recipe = alone(recipe)
    layout = layout_for(recipe, layout)
    refuse(recipe, to, due_on, layout=layout, now=now)
    today = timezone.localdate(now)
    have_it = who_has(recipe, to, due_on=due_on, layout=layout, today=today)
    people = sorted(set(to).difference(have_it), key=lambda person: person.employee_number)
    if not people:
        raise AlreadyAssignedError(recipe, due_on, have_it)
    assignment = give(
        recipe,
        people,
        due_on=due_on,
        standard=standard,
        minutes=minutes,
        attempts=attempts,
        note=note,
        layout=layout,
        given_by=by,
        given_at=now,
    )
    to_whom = [person.employee_number for person in people]
    record(
        "assign", _subject(assignment), by=by, now=now, after=_asked(assignment) | {"to": to_whom}
    )
    return assignment


def _asked(assignment: Assignment) -> dict[str, Any]:
    """What an assignment asks, as the audit keeps it."""
    return {
        "due": assignment.due_on.isoformat(),
        "standard": list(in_words(assignment.standard)),
        "attempts": assignment.attempts,
    }


def give(
    recipe: Recipe, people: Collection[Person], *, standard: Standard, **given: Any
) -> Assignment:
    """The rows of an assignment, and nothing else: for acts that looked at all of it before."""
    assignment = Assignment.objects.create(
        recipe=recipe,
        recipe_version=recipe.version,
        pass_marks_percent=standard.marks,
        pass_in_time_percent=standard.in_time,
        no_unsafe_dose=standard.no_unsafe_dose,
        no_must_missed=standard.no_must_missed,
        **given,
    )
    Assigned.objects.bulk_create(Assigned(assignment=assignment, person=each) for each in people)
    return assignment


@transaction.atomic
def excuse(rows: Collection[Assigned], *, because: str, by: Person, now: datetime) -> int:
    """Excuse people from an assignment with a reason; how many were not excused before.

    Raises `ValueError` without a reason, and for a row of whoever excuses.
    """
    reason = because.strip()
    if not reason:
        raise ValueError("No reason came in. Whoever is excused reads why.")
    changes = {"excused_at": now, "excused_by": by, "excused_because": reason}
    return _change(rows, "excuse", changes, by=by, now=now)


@transaction.atomic
def take_back_excuse(rows: Collection[Assigned], *, by: Person, now: datetime) -> int:
    """Have people do an assignment after all; how many were excused before."""
    changes = {"excused_at": None, "excused_by": None, "excused_because": ""}
    return _change(rows, "take back excuse", changes, by=by, now=now)


@transaction.atomic
def withdraw(assignment: Assignment, *, by: Person, now: datetime) -> bool:
    """Take an assignment back from everybody who has not met it; what was done is kept.

    A run of it that is under way ends there.
    """
    waiting = Assignment.objects.filter(pk=assignment.pk, withdrawn_at=None)
    if not waiting.update(withdrawn_at=now):
        return False
    for run in Run.objects.under_way(now).filter(assigned__assignment=assignment).order_by("pk"):
        withdraw_run(run, now=now)
    record("withdraw assignment", _subject(assignment), by=by, now=now)
    return True


def alone(recipe: Recipe) -> Recipe:
    """The recipe for this act alone, its version kept: two presses of one button are one act, and
    nobody changes it meanwhile."""
    row = Recipe.objects.select_for_update(of=("self",)).get(pk=recipe.pk)
    row.keep_version()
    return row


def layout_for(recipe: Recipe, named: Layout | None) -> Layout | None:
    """The layout that a recipe is given for: the one it is drilled on alone, else the one named.

    Raises `ValueError` where those are two.
    """
    if not recipe.layout_key:
        return named
    own = Layout.objects.filter(slug=recipe.layout_key).first()
    if own is None or (named and named != own):
        came = f"{named} came in. " if named else ""
        raise ValueError(f"{came}{recipe} is drilled on {own or recipe.layout_key} alone.")
    return own


def refuse(
    recipe: Recipe,
    to: Collection[Person],
    due_on: date,
    *,
    layout: Layout | None = None,
    now: datetime,
) -> None:
    """Raise what `assign` raises, before anybody has it."""
    today = timezone.localdate(now)
    refuse_unbuilt(recipe.spec)
    if recipe.retired_on:
        raise ValueError(f"{recipe} is retired since {recipe.retired_on:%F}. Choose another drill.")
    if not to:
        raise ValueError("Nobody was chosen. An assignment takes one person or more.")
    gone = sorted(person.employee_number for person in to if not person.is_active)
    if gone:
        raise ValueError(f"{', '.join(gone)} left the service. Choose people who are in it.")
    if due_on < today:
        raise ValueError(f"{due_on:%F} came in, which is past. {today:%F} or later is accepted.")
    if layout and (why := unserved(recipe, layout.slug, now=now)):
        raise ValueError(f"{recipe}: {why}")


def _change(
    rows: Collection[Assigned],
    action: str,
    changes: dict[str, Any],
    *,
    by: Person,
    now: datetime,
) -> int:
    """Write the same on each row that has something else, as one act; never on one's own."""
    if any(row.person_id == by.pk for row in rows):
        raise ValueError(
            f"{by.employee_number} came in, which is you. Nobody excuses themselves; somebody "
            "else who gives drills does."
        )
    because = changes["excused_because"]
    kept = Assigned.objects.select_for_update(of=("self",)).filter(pk__in=[row.pk for row in rows])
    kept = kept.exclude(excused_because=because)
    before = dict(kept.order_by("pk").values_list("person__employee_number", "excused_because"))
    if before:
        first = next(iter(rows)).assignment
        kept.update(**changes)
        after = dict.fromkeys(before, because)
        record(action, _subject(first), by=by, now=now, before=before, after=after)
    return len(before)


def _subject(assignment: Assignment) -> str:
    return f"{assignment.recipe.slug} due {assignment.due_on:%F}, {assignment.pk}"
