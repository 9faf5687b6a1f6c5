"""A draft changed by hand, each change a step that can be undone."""

from collections.abc import Callable
from datetime import datetime, timedelta

from django.db import transaction

from drills.engine import layout as engine
from drills.engine.merging import settle
from drills.engine.rows import told
from drills.engine.workbook import read_workbook, to_zip
from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.actions.storing import rewrite_draft, store_revision
from drills.rigs.models import DraftStep, Layout, Revision
from drills.rigs.reading import codes_by_place, layout_of

STEPS_KEPT = 50
# Presses of one button, one after the other, are one step; ours, no source.
ONE_MOVE = timedelta(minutes=2)
LONGEST_WORDS = 200
Change = Callable[[engine.Layout], engine.Layout]


class NothingToUndoError(ValueError):
    """The step that was to be undone is not the last one of the draft."""


class DraftGoneError(ValueError):
    """The draft that was seen is published or thrown away by now."""


@transaction.atomic
def open_draft(layout: Layout, *, by: Person | None, now: datetime) -> Revision:
    """The draft of a layout; where there is none, a copy of the newest published revision.

    Its places are the same places. `ValueError` when there is nothing to copy.
    """
    layout = Layout.objects.select_for_update().get(pk=layout.pk)
    if draft := layout.draft:
        return draft
    if (current := layout.coming or layout.published) is None:
        raise ValueError(f"{layout.name} has no revision in force to copy. Import a workbook.")
    draft = store_revision(layout, layout_of(current), now=now)
    record("open draft", f"{layout.slug} {draft.number}", by=by, now=now)
    return draft


@transaction.atomic
def edit_draft(
    layout: Layout,
    change: Change,
    *,
    what: str = "",
    seen: Revision | None = None,
    joins: bool = False,
    by: Person | None,
    now: datetime,
) -> Revision:
    """Change the draft of a layout, opened when there is none; what changes nothing is no step.

    `change` makes the new layout of the one that the draft says at that moment, and whatever it
    raises leaves all as it was. `what` is told to whoever looks at the steps; without it, what
    tells the two apart. `seen` is the draft that was looked at: `DraftGoneError` when it is none
    any more. What `joins` goes on with the last step, if that is the same person's and as lately.
    """
    draft = open_draft(layout, by=by, now=now)
    if seen not in (None, draft):
        raise DraftGoneError(f"{seen} is no draft any more.")
    before, codes = layout_of(draft), codes_by_place(layout)
    used = {*codes, *(each.key for each in before.compartments)}
    changed = settle(change(before), {code: key for key, code in codes.items()}, used=used)
    if changed == before:
        return draft
    what = what or told(before, changed)
    if joins and _goes_on(draft, what, by, now):
        rewrite_draft(draft, before, changed, now=now)
    else:
        change_draft(draft, before, changed, what=what, by=by, now=now)
        record("edit draft", f"{layout.slug} {draft.number}: {what}"[:160], by=by, now=now)
    return draft


def _goes_on(draft: Revision, what: str, by: Person | None, now: datetime) -> bool:
    last = draft.steps.select_related("changed_by").first()
    if last is None or now - last.changed_at > ONE_MOVE:
        return False
    return (last.what, last.changed_by) == (what[:LONGEST_WORDS], by)


def change_draft(
    draft: Revision,
    before: engine.Layout,
    layout: engine.Layout,
    *,
    what: str,
    by: Person | None,
    now: datetime,
) -> None:
    """Let a draft say `layout` instead of `before`, as one step.

    The line in the audit is the caller's.
    """
    last = draft.steps.values_list("number", flat=True).first() or 0
    DraftStep.objects.create(
        revision=draft,
        number=last + 1,
        what=what[:LONGEST_WORDS],
        changed_by=by,
        changed_at=now,
        before=to_zip(before),
    )
    draft.steps.filter(number__lte=last + 1 - STEPS_KEPT).delete()
    rewrite_draft(draft, before, layout, now=now)


@transaction.atomic
def undo_step(layout: Layout, number: int, *, by: Person, now: datetime) -> DraftStep:
    """Take back the last step of the draft, which is the one that was seen, and give it.

    `NothingToUndoError` when another came after it, or it is taken back already.
    """
    layout = Layout.objects.select_for_update().get(pk=layout.pk)
    draft = layout.draft
    step = draft.steps.select_related("changed_by").first() if draft else None
    if draft is None or step is None or step.number != number:
        raise NothingToUndoError("That is not the last change of the draft any more.")
    before = read_workbook(bytes(step.before)).layout
    if before is None:
        raise NothingToUndoError("What the draft said before cannot be read any more.")
    rewrite_draft(draft, layout_of(draft), before, now=now)
    step.delete()
    record("undo edit", f"{layout.slug} {draft.number}: {step.what}"[:160], by=by, now=now)
    return step
