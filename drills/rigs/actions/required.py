"""Required lists taken in and their rows tied."""

from collections.abc import Iterable, Mapping
from datetime import datetime

from django.db import transaction

from drills.engine.required import Requirement, write_wanted
from drills.people.audit import Line, record, record_all
from drills.people.models import Person
from drills.rigs.models import RequiredList, RequiredRow
from drills.rigs.requiring import Alike, ListPlan, RowAnswer, fault_of_name, plan_list, slug_of


class NotTakenError(ValueError):
    """Raised when a file would change something else than was shown, or cannot be taken."""

    def __init__(self, plan: ListPlan) -> None:
        super().__init__("The list is not what was shown.")
        self.plan = plan


@transaction.atomic
def take_list(name: str, data: bytes, *, seen: str, by: Person, now: datetime) -> ListPlan:
    """Store a file as the list of that name, if it would change what was seen.

    Rows keep what ties them while it answers them; what the file itself ties goes before.
    """
    slug = slug_of(name)
    rows = RequiredList.objects.select_for_update()  # so that two files at once are two plans
    of, _ = rows.get_or_create(slug=slug, defaults={"name": name, "loaded_at": now})
    plan = plan_list(name, data)
    if plan.file.problems or plan.fingerprint != seen or plan.is_none or fault_of_name(name):
        raise NotTakenError(plan)
    of.name, of.loaded_at = name, now
    of.save(update_fields=["name", "loaded_at"])
    of.rows.all().delete()
    RequiredRow.objects.bulk_create(_row(of, plan, each, by=by, now=now) for each in plan.file.rows)
    changes = plan.changes
    after = {
        "added": len(changes.added),
        "changed": len(changes.changed),
        "removed": len(changes.removed),
        "tied by the file": len(plan.keys_tied),
        "no longer tied": len(plan.untied),
    }
    record("load required list", slug, by=by, now=now, after=after)
    return plan


def _row(
    of: RequiredList, plan: ListPlan, said: Requirement, *, by: Person, now: datetime
) -> RequiredRow:
    row = RequiredRow(
        of=of,
        order=said.row,
        source=said.source,
        status=said.status,
        level=said.level,
        item=said.item,
        quantity=said.quantity,
        unit=said.unit,
        obligation=said.obligation,
    )
    was = plan.old.get(said.key)
    if said.key in plan.keys_tied:
        row.needs, row.decided_by, row.decided_at = write_wanted(plan.file.ties[said.key]), by, now
    elif was and plan.keeps(said):
        row.needs, row.note = was.needs, was.note
        row.decided_by, row.decided_at = was.decided_by, was.decided_at
    return row


@transaction.atomic
def tie_rows(
    decided: Mapping[int, RowAnswer], rows: Iterable[Alike], *, by: Person, now: datetime
) -> int:
    """Keep a keeper's word on rows of a list that are alike, by the first; how many are new."""
    lines = []
    for each in rows:
        answer = decided.get(each.first.pk)
        if answer is None:
            continue
        needs = write_wanted(answer.wanted)
        held = RequiredRow.objects.select_for_update().filter(of__is_sample=False)
        for row in held.filter(pk__in=[row.pk for row in each.rows]).select_related("of"):
            if row.decided_at and (row.needs, row.note) == (needs, answer.note):
                continue
            before = {"needs": row.needs} if row.decided_at else None
            row.needs, row.note, row.decided_by, row.decided_at = needs, answer.note, by, now
            row.save(update_fields=["needs", "note", "decided_by", "decided_at"])
            lines.append(Line(subject=str(row)[:160], before=before, after={"needs": needs}))
    record_all("tie required row", lines, by=by, now=now)
    return len(lines)
