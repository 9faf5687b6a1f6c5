"""Places of a draft that are the same as places that are gone."""

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction

from drills.engine.same_places import answered
from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.actions.drafting import change_draft
from drills.rigs.models import Layout, Revision, RevisionState
from drills.rigs.reading import codes_by_place, layout_of


@transaction.atomic
def keep_places(
    draft: Revision, answers: Mapping[str, str], *, by: Person | None, now: datetime
) -> Revision:
    """Let places of a draft be places that are gone, so that what people know of them stays.

    `answers` are the keys of those places by the code that the draft has for each. All of them are
    one step, which can be undone. `ValueError` says which is not accepted; then none is stored.
    """
    layout = Layout.objects.select_for_update().get(pk=draft.layout_id)
    draft = layout.revisions.select_related("layout").get(pk=draft.pk)
    if draft.state != RevisionState.DRAFT:
        raise ValueError(f"{draft} is {draft.get_state_display()} already and stays as it is.")
    before = draft.before
    if before is None:
        raise ValueError(f"{draft} is the first of its layout, so no place of it is gone.")
    if not answers:
        return draft
    said = layout_of(draft)
    changed = answered(layout_of(before), said, codes_by_place(layout), answers)
    what = f"the same places: {', '.join(f'{key} is {code}' for code, key in answers.items())}"
    change_draft(draft, said, changed, what=what, by=by, now=now)
    subject = f"{layout.slug} {draft.number}"
    record("keep places", subject, by=by, now=now, after=dict(answers))
    return draft
