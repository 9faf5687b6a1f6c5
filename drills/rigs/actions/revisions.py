"""Revisions brought in, put in force and thrown away."""

from collections.abc import Collection
from datetime import datetime

from django.db import transaction

from drills.engine import layout as engine
from drills.engine.merging import settle
from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.actions.drafting import change_draft
from drills.rigs.actions.storing import delete_draft, store_revision
from drills.rigs.models import Layout, Revision, RevisionState
from drills.rigs.reading import codes_by_place, layout_of


@transaction.atomic
def import_layout(
    layout: engine.Layout, *, by: Person | None, now: datetime, publish: bool = False
) -> Revision:
    """Store a workbook as the draft of its layout, and publish it if asked.

    The same slug is the next revision of that layout. A workbook that says what the published
    revision or the draft says makes no new one; an open draft is
    replaced, which is one step of it that can be undone.
    """
    rows = Layout.objects.select_for_update()  # so that two workbooks at once are two drafts
    row, _ = rows.get_or_create(slug=layout.slug, defaults={"name": layout.name})
    current, draft = row.published, row.draft
    codes = codes_by_place(row)
    settled = settle(layout, {code: key for key, code in codes.items()}, used=codes)
    if current and layout_of(current) == settled:
        return current
    if draft is None:
        draft = store_revision(row, settled, now=now)
        record("import layout", f"{row.slug} {draft.number}", by=by, now=now)
    elif layout_of(draft) != settled:
        change_draft(draft, settled, what="a workbook read in", by=by, now=now)
        record("import layout", f"{row.slug} {draft.number}", by=by, now=now)
    return publish_revision(draft, by=by, now=now) if publish else draft


@transaction.atomic
def publish_revision(
    revision: Revision,
    *,
    by: Person | None,
    now: datetime,
    refitted: Collection[str] | None = None,
) -> Revision:
    """Put a draft in force: the one before retires, and rigs of the layout ride the new one.

    `refitted` are the unit numbers of those that do at once, all of them when it is left out; the
    others ride on as they are until `refit_rig`. `ValueError` names what is no rig of the layout.
    """
    revision = locked_revision(revision)
    if revision.state != RevisionState.DRAFT:
        return revision
    layout = revision.layout
    layout.revisions.filter(state=RevisionState.PUBLISHED).update(state=RevisionState.RETIRED)
    revision.state, revision.published_at = RevisionState.PUBLISHED, now
    revision.save(update_fields=["state", "published_at"])
    layout.name = revision.name
    layout.save(update_fields=["name"])
    units = set(layout.rigs.values_list("unit", flat=True))
    chosen = units if refitted is None else set(refitted)
    if strange := sorted(chosen - units):
        known = ", ".join(sorted(units)) or "none"
        raise ValueError(
            f"{', '.join(strange)} came in for rigs of this layout; there are: {known}."
        )
    layout.rigs.filter(unit__in=chosen).update(revision=revision)
    record(
        "publish revision",
        f"{layout.slug} {revision.number}",
        by=by,
        now=now,
        after={"refitted": sorted(chosen)},
    )
    return revision


def locked_revision(revision: Revision) -> Revision:
    """The revision as it is now, and nobody else's to change until this is done."""
    rows = Revision.objects.select_for_update(of=("self",)).select_related("layout")
    return rows.get(pk=revision.pk)


@transaction.atomic
def discard_draft(revision: Revision, *, by: Person, now: datetime) -> None:
    """Throw a draft away; a layout that never was anything else goes with it.

    What was published meanwhile, in another tab, stays.
    """
    revision = locked_revision(revision)
    if revision.state != RevisionState.DRAFT:
        return
    layout = revision.layout
    record("discard draft", f"{layout.slug} {revision.number}", by=by, now=now)
    delete_draft(revision)
    if not layout.revisions.exists():
        layout.delete()
