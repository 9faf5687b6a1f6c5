"""What a workbook would change, before anything of it is stored."""

from dataclasses import dataclass
from datetime import datetime

from drills.engine.formulary_workbook import Book
from drills.formulary.besides import presentations_of
from drills.formulary.contradicting import Pair, contradicting
from drills.formulary.differences import Differences, FieldChange, differences, packings
from drills.formulary.flagged import Flagged, beside, flagged
from drills.formulary.models import DoseRule, FormularyRevision
from drills.formulary.numbering import next_number
from drills.formulary.readiness import fault_of
from drills.formulary.reports import revision_in_force, rules_of
from drills.formulary.waiting import ended_by
from drills.formulary.workbook.rows import rows_of
from drills.formulary.workbook.told import book_of, in_order, own

_ABOUT = ("name", "document", "version", "date", "notes")


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """A workbook beside what is in force.

    `same` is the revision that says all this already, if one does. `faults` are the rules that
    cannot be approved as they stand, and why; `flagged` those whose changes must be said to be
    meant; `waiting` are older revisions that wait, whose changes may be among its own.
    `is_renamed`: the name or the notice of the demonstration is left out.
    """

    number: int
    name: str
    same: FormularyRevision | None
    before: FormularyRevision | None
    about: tuple[FieldChange, ...]
    is_renamed: bool
    differences: Differences
    packings: list[str]
    flagged: list[Flagged]
    waiting: list[FormularyRevision]
    pairs: list[Pair]
    faults: list[tuple[DoseRule, str]]


def preview_of(book: Book, now: datetime) -> Preview:
    """Hold a workbook against the revision in force; raises `RenamedError`."""
    before = revision_in_force(now)
    mine = own(book)
    unstored = rows_of(in_order(mine), next_number())
    old = rules_of(before) if before else []
    waiting = ended_by(unstored.revision)
    return Preview(
        number=unstored.revision.number,
        name=mine.name,
        same=same_as(book, before),
        before=before,
        about=_about(mine, before),
        is_renamed=mine != book,
        differences=differences(old, unstored.rules),
        packings=packings(presentations_of(before), unstored.presentations),
        flagged=beside(flagged(old, unstored.rules), waiting),
        waiting=waiting,
        pairs=contradicting(unstored.rules),
        faults=[(rule, told) for rule in unstored.rules if (told := fault_of(rule))],
    )


def same_as(book: Book, in_force: FormularyRevision | None) -> FormularyRevision | None:
    """The revision that a workbook would only repeat: what is in force, or the newest."""
    newest = FormularyRevision.objects.last()
    candidates = [each for each in (in_force, newest) if each]
    wanted = own(in_order(book))
    return next((each for each in candidates if own(in_order(book_of(each))) == wanted), None)


def _about(book: Book, before: FormularyRevision | None) -> tuple[FieldChange, ...]:
    was = book_of(before) if before else None
    told = (
        (key, str(getattr(was, key, "") or ""), str(getattr(book, key) or "")) for key in _ABOUT
    )
    return tuple(
        # A sentence has no full stop before the comma that follows it.
        FieldChange(key, old.rstrip(".") or "nothing", new.rstrip(".") or "nothing")
        for key, old, new in told
        if old != new
    )
