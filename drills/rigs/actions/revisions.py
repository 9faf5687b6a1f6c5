"""Revisions brought in, put in force and thrown away."""

from collections.abc import Collection, Mapping
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from drills.engine import layout as engine
from drills.engine.merging import settle
from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.actions.drafting import change_draft
from drills.rigs.actions.own import look_anew
from drills.rigs.actions.storing import delete_draft, store_revision
from drills.rigs.models import Layout, Revision, RevisionState
from drills.rigs.reading import codes_by_place, layout_of

# A year typed wrong would keep a revision waiting for ever.
LONGEST_AHEAD = timedelta(days=366)


@transaction.atomic
def import_layout(
    layout: engine.Layout, *, by: Person | None, now: datetime, publish: bool = False
) -> Revision:
    """Store a workbook as the draft of its layout, and publish it if asked.

    The same slug is the next revision of that layout. A workbook that says what the newest
    published revision or the draft says makes no new one; an open draft is replaced, which is one
    step of it that can be undone.
    """
    rows = Layout.objects.select_for_update()  # so that two workbooks at once are two drafts
    row, _ = rows.get_or_create(slug=layout.slug, defaults={"name": layout.name})
    current, draft = row.coming or row.published, row.draft
    codes = codes_by_place(row)
    known = {code: key for key, code in codes.items()} | _answered(draft, codes, layout)
    settled = settle(layout, known, used=codes)
    if current and layout_of(current) == settled:
        return current
    if draft is None:
        draft = store_revision(row, settled, now=now)
        record("import layout", f"{row.slug} {draft.number}", by=by, now=now)
    elif (before := layout_of(draft)) != settled:
        change_draft(draft, before, settled, what="a workbook read in", by=by, now=now)
        record("import layout", f"{row.slug} {draft.number}", by=by, now=now)
    return publish_revision(draft, by=by, now=now) if publish else draft


def _answered(
    draft: Revision | None, codes: Mapping[str, str], layout: engine.Layout
) -> dict[str, str]:
    """Keys of places by the code that the open draft gave them, so that no keeper is asked twice.

    Only of places in `codes`, those that were in force, whose own code the workbook has no more.
    """
    if draft is None:
        return {}
    given = {each.code: each.key for each in layout_of(draft).compartments}
    return {
        code: key
        for code, key in given.items()
        if key in codes and codes[key] not in layout.by_code and code not in codes.values()
    }


@transaction.atomic
def publish_revision(
    revision: Revision,
    *,
    by: Person | None,
    now: datetime,
    refitted: Collection[str] | None = None,
    effective_on: date | None = None,
    shown: str | None = None,
) -> Revision:
    """Freeze a draft, and put it in force from a day on: today when none is named.

    On that day the one before it retires, and rigs of the layout ride the new one: `refitted` are
    the unit numbers of those that do, all of them when it is left out; the others ride on as they
    are until `refit_rig`. Until then nothing changes for crews. One that is still to come takes
    another day and other rigs in the same way. `ValueError` names what is no rig of the layout, or
    a day that is not accepted, or says that the `mark` is another by now than the one `shown`.
    """
    # One act on a layout at a time: who publishes another revision of it waits here.
    layout = Layout.objects.select_for_update().get(pk=revision.layout_id)
    revision = locked_revision(revision)
    if revision.state not in (RevisionState.DRAFT, RevisionState.COMING):
        return revision
    _refuse_unseen(revision, shown)
    today, was = timezone.localdate(now), revision.effective_on
    day = effective_on or today
    _refuse_day(layout, revision, day, today=today)
    revision.refits = _refitted(layout, refitted)
    revision.published_at, revision.effective_on = revision.published_at or now, day
    if day > today:
        revision.state = RevisionState.COMING
        revision.save(update_fields=["state", "published_at", "effective_on", "refits"])
    else:
        _put_in_force(revision, by=by, now=now)
    record(
        "publish revision",
        f"{layout.slug} {revision.number}",
        by=by,
        now=now,
        before={"in_force_from": was.isoformat()} if was else None,
        after={"in_force_from": day.isoformat(), "refitted": revision.refits},
    )
    return revision


@transaction.atomic
def bring_in_force(*, now: datetime) -> tuple[Revision, ...]:
    """Put in force every revision whose day has come; done by two at once, it is done once."""
    waiting = Revision.objects.filter(is_due(now))
    # Layouts first, as whoever publishes does; what is due is read once they are ours.
    layouts = Layout.objects.select_for_update().filter(pk__in=waiting.values("layout"))
    held = list(layouts.order_by("pk"))
    due = tuple(waiting.filter(layout__in=held).select_related("layout"))
    for revision in due:
        _put_in_force(revision, by=None, now=now)
        record(
            "bring in force",
            f"{revision.layout.slug} {revision.number}",
            by=None,
            now=now,
            after={"refitted": revision.refits},
        )
    return due


def is_due(now: datetime) -> Q:
    """Which revisions are to come no longer."""
    return Q(state=RevisionState.COMING, effective_on__lte=timezone.localdate(now))


@transaction.atomic
def call_off_revision(revision: Revision, *, by: Person, now: datetime) -> Revision:
    """Make a revision that is still to come a draft again; nobody was drilled on it.

    Another one stays as it is. `ValueError` while there is a draft that was made on top of it.
    """
    layout = Layout.objects.select_for_update().get(pk=revision.layout_id)
    revision = locked_revision(revision)
    if revision.state != RevisionState.COMING or revision.effective_on is None:
        return revision
    if draft := layout.draft:
        raise ValueError(
            f"Draft rev. {draft.number} was made on top of rev. {revision.number}. Discard it, or "
            f"let rev. {revision.number} come in force first."
        )
    was = revision.effective_on
    revision.state, revision.refits = RevisionState.DRAFT, []
    revision.published_at = revision.effective_on = None
    revision.save(update_fields=["state", "published_at", "effective_on", "refits"])
    record(
        "call off revision",
        f"{layout.slug} {revision.number}",
        by=by,
        now=now,
        before={"in_force_from": was.isoformat()},
    )
    return revision


@transaction.atomic
def retire_layout(layout: Layout, *, by: Person, now: datetime) -> None:
    """Retire what is in force of a layout that the service gave up; it stays in the history.

    `ValueError` names the rigs that still ride the layout, or what is still to come of it.
    """
    layout = Layout.objects.select_for_update().get(pk=layout.pk)
    revision = layout.published
    if revision is None:
        return
    if units := ", ".join(layout.rigs.values_list("unit", flat=True)):
        raise ValueError(
            f"{layout.name} is ridden by {units}. A layout that no rig rides can be retired: give "
            "each another one, beside what it differs in."
        )
    if coming := layout.coming:
        raise ValueError(f"Rev. {coming.number} of {layout.name} is to come. Call it off first.")
    revision.state = RevisionState.RETIRED
    revision.save(update_fields=["state"])
    record("retire layout", layout.slug, by=by, now=now, before={"revision": revision.number})


@transaction.atomic
def bring_back_layout(layout: Layout, *, by: Person, now: datetime) -> Revision:
    """Put in force again what was last in force of a layout that is retired.

    `ValueError` when it never had a revision in force.
    """
    layout = Layout.objects.select_for_update().get(pk=layout.pk)
    if current := layout.published:
        return current
    last = layout.revisions.filter(state=RevisionState.RETIRED).order_by("-number").first()
    if last is None:
        raise ValueError(f"{layout.name} never had a revision in force; publish one.")
    last.state = RevisionState.PUBLISHED
    last.save(update_fields=["state"])
    record("bring back layout", layout.slug, by=by, now=now, after={"revision": last.number})
    return last


def _refuse_unseen(revision: Revision, shown: str | None) -> None:
    if shown not in (None, revision.mark):
        raise ValueError(
            f"{revision} was changed meanwhile. Look at the list of changes, which says what it is "
            "now, and publish it then."
        )


def _refuse_day(layout: Layout, revision: Revision, day: date, *, today: date) -> None:
    current, coming = layout.published, layout.coming
    if coming and coming.pk != revision.pk:
        raise ValueError(
            f"Rev. {coming.number} is to come on {coming.effective_on:%F} and goes first. Let it "
            "come in force today, or discard this draft and call that one off."
        )
    if current and current.effective_on and day < current.effective_on:
        raise ValueError(
            f"{day:%F} came in. Rev. {current.number} is in force since {current.effective_on:%F}; "
            "that day or a later one is accepted."
        )
    if day > today + LONGEST_AHEAD:
        raise ValueError(f"{day:%F} came in. A day until {today + LONGEST_AHEAD:%F} is accepted.")


def _refitted(layout: Layout, refitted: Collection[str] | None) -> list[str]:
    """The unit numbers that change to a revision, in order."""
    units = set(layout.rigs.values_list("unit", flat=True))
    chosen = units if refitted is None else set(refitted)
    if strange := sorted(chosen - units):
        known = ", ".join(sorted(units)) or "none"
        raise ValueError(
            f"{', '.join(strange)} came in for rigs of this layout; there are: {known}."
        )
    return sorted(chosen)


def _put_in_force(revision: Revision, *, by: Person | None, now: datetime) -> None:
    layout = revision.layout
    layout.revisions.filter(state=RevisionState.PUBLISHED).update(state=RevisionState.RETIRED)
    revision.state = RevisionState.PUBLISHED
    revision.save(update_fields=["state", "published_at", "effective_on", "refits"])
    revision.steps.all().delete()  # each a whole workbook, and nothing can be undone any more
    layout.name = revision.name
    layout.save(update_fields=["name"])
    layout.rigs.filter(unit__in=revision.refits).update(revision=revision)
    look_anew(layout.rigs.filter(unit__in=revision.refits), by=by, now=now)


def locked_revision(revision: Revision) -> Revision:
    """The revision as it is now, and nobody else's to change until this is done."""
    rows = Revision.objects.select_for_update(of=("self",)).select_related("layout")
    return rows.get(pk=revision.pk)


@transaction.atomic
def discard_draft(revision: Revision, *, by: Person, now: datetime) -> None:
    """Throw a draft away; a layout that never was anything else goes with it.

    What was published or discarded meanwhile, in another tab, stays so.
    """
    # The layout first, as whoever changes the draft does.
    layout = Layout.objects.select_for_update().filter(pk=revision.layout_id).first()
    draft = Revision.objects.filter(pk=revision.pk, state=RevisionState.DRAFT).first()
    if layout is None or draft is None:
        return
    record("discard draft", f"{layout.slug} {draft.number}", by=by, now=now)
    delete_draft(draft)
    if not layout.revisions.exists():
        layout.delete()
