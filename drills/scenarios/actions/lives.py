"""Call types that come in by hand, and that go: retired where anything was made from them."""

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from drills.engine.calls_workbook import ABOUT, PARTS, cells_of, judged, judged_slug
from drills.engine.calls_workbook.columns import CALL
from drills.engine.workbook.problems import Problem, quote
from drills.people.access import require_role
from drills.people.audit import record
from drills.people.models import Person
from drills.scenarios.access import EDITORS
from drills.scenarios.actions.calls import CallRefusedError, RowRefusedError
from drills.scenarios.kept import asking_for, kept_by, kept_of, known
from drills.scenarios.models import CallType


@transaction.atomic
def add_call(cells: Mapping[str, str], *, like: CallType, by: Person, now: datetime) -> CallType:
    """A new call type with the phrases, patients and needs of another, to be changed from there.

    `cells` are its key and whatever it says of itself otherwise. Raises `RowRefusedError` with
    what is wrong by column.
    """
    require_role(by, *EDITORS)
    slug, problems = judged_slug(cells)
    kept, faults = judged(ABOUT, cells_of(ABOUT, kept_of(like)) | dict(cells), known())
    problems += faults
    problems += _taken(slug, kept["name"])
    if problems:
        raise RowRefusedError(problems)
    rows = {part: list(getattr(like, part)) for part in PARTS}
    call = CallType.objects.create(slug=slug, **kept, **rows)
    record("add call type", slug, by=by, now=now, after={"as": like.slug} | cells_of(ABOUT, kept))
    return call


def _taken(slug: str, name: str) -> tuple[Problem, ...]:
    found = []
    if CallType.objects.filter(slug=slug).exists():
        found.append(Problem(ABOUT, 0, CALL, f"{quote(slug)}, which is there", "a key of its own"))
    if name and CallType.objects.filter(name__iexact=name).exists():
        found.append(Problem(ABOUT, 0, "name", f"{quote(name)}, which is there", "its own name"))
    return tuple(found)


@transaction.atomic
def retire_call(call: CallType, *, by: Person, now: datetime) -> CallType:
    """No drill is made from it from now on.

    Raises `CallRefusedError` for the last one, and where a recipe asks for it alone.
    """
    require_role(by, *EDITORS)
    call = CallType.objects.select_for_update().get(pk=call.pk)
    if call.retired_on is not None:
        return call
    others = CallType.objects.filter(retired_on=None).exclude(pk=call.pk)
    live = set(others.values_list("slug", flat=True))
    if not live:
        raise CallRefusedError("It is the last one: drills of calls would be made from nothing.")
    for recipe in asking_for(call):
        if not live & set(recipe.call_types):
            raise CallRefusedError(
                f"The recipe {recipe.name} asks for this call type alone. Give it another first."
            )
    call.retired_on = timezone.localdate(now)
    call.save(update_fields=["retired_on"])
    record("retire call type", call.slug, by=by, now=now, after=str(call.retired_on))
    return call


@transaction.atomic
def restore_call(call: CallType, *, by: Person, now: datetime) -> CallType:
    """Drills are made from it again."""
    require_role(by, *EDITORS)
    call = CallType.objects.select_for_update().get(pk=call.pk)
    if call.retired_on is not None:
        before, call.retired_on = call.retired_on, None
        call.save(update_fields=["retired_on"])
        record("bring back call type", call.slug, by=by, now=now, before=str(before))
    return call


@transaction.atomic
def delete_call(call: CallType, *, by: Person, now: datetime) -> None:
    """Take one that is retired out for good.

    Raises `CallRefusedError` for one that is not, and where anything speaks of it.
    """
    require_role(by, *EDITORS)
    call = CallType.objects.select_for_update().get(pk=call.pk)
    if call.retired_on is None:
        raise CallRefusedError("Retire it first. What is deleted does not come back.")
    if why := kept_by(call):
        raise CallRefusedError(why)
    record("delete call type", call.slug, by=by, now=now, before=kept_of(call))
    call.delete()
