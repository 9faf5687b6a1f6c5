"""A workbook stored as the next draft of the formulary."""

from datetime import datetime

from django.db import transaction

from drills.engine.formulary_workbook import Book
from drills.formulary.access import IMPORTERS
from drills.formulary.models import DoseRule, FormularyRevision, Presentation
from drills.formulary.numbering import next_number
from drills.formulary.reports import revision_in_force
from drills.formulary.workbook.preview import same_as
from drills.formulary.workbook.rows import rows_of
from drills.formulary.workbook.told import in_order, own
from drills.people.access import require_role
from drills.people.audit import record
from drills.people.models import Person


@transaction.atomic
def import_formulary(book: Book, *, by: Person | None, now: datetime) -> FormularyRevision:
    """A new draft that says what a workbook says; where the revision in force or the newest says
    the same, that one, and nothing is stored.

    `by` is None for the command. Raises `RenamedError` for a medicine under another name.
    """
    if by is not None:
        require_role(by, *IMPORTERS)
    list(FormularyRevision.objects.select_for_update().order_by("pk"))  # one import after another
    before = revision_in_force(now)
    if same := same_as(book, before):
        return same
    rows = rows_of(in_order(own(book)), next_number())
    for medicine in rows.medicines:
        medicine.save()
    rows.revision.save()
    Presentation.objects.bulk_create(rows.presentations)
    DoseRule.objects.bulk_create(rows.rules)
    record(
        "import formulary",
        f"revision {rows.revision.number}",
        by=by,
        now=now,
        before={"in force": before.number if before else None},
        after={
            "name": book.name,
            "rules": len(rows.rules),
            "presentations": len(rows.presentations),
            "new medicines": [each.key for each in rows.medicines],
        },
    )
    return rows.revision
