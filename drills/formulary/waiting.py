"""Revisions that wait for somebody: submitted, sent back, overtaken, and drafts; and settings that
a director has not seen."""

from dataclasses import dataclass, replace

from drills.formulary.access import READERS
from drills.formulary.flagged import flagged_of
from drills.formulary.models import (
    NOT_APPROVED,
    DosingSettings,
    FormularyRevision,
    FormularyState,
)
from drills.formulary.reports import before_of
from drills.people.models import AuditEntry, Person, Role

SET, SEEN = "set dosing", "see dosing set"
# Set in a room above, which writes what is set in words into the audit.
SET_SORTING = "set sorting"


@dataclass(frozen=True, slots=True)
class Waits:
    """A revision that waits, and whether it waits for who looks.

    `overtaken_by` is the later one that was approved meanwhile: it can be approved no more. Of the
    submitted ones `place` is which it is, the oldest first, `after` the one before it and `loud`
    how many rules change by ten times and more, or stand against their own note.
    """

    revision: FormularyRevision
    is_theirs: bool
    overtaken_by: FormularyRevision | None = None
    place: int = 0
    of: int = 0
    after: FormularyRevision | None = None
    before: FormularyRevision | None = None
    loud: int = 0

    @property
    def is_submitted(self) -> bool:
        return not self.overtaken_by and self.revision.state == FormularyState.SUBMITTED

    @property
    def is_sent_back(self) -> bool:
        is_draft = self.revision.state == FormularyState.DRAFT
        return is_draft and not self.overtaken_by and bool(self.revision.sent_back_because)

    @property
    def is_for_a_first_page(self) -> bool:
        return bool(self.is_submitted or self.is_sent_back or self.overtaken_by)


@dataclass(frozen=True, slots=True)
class SetAnew:
    """A change of how doses are worked out or patients are sorted, as the audit keeps it."""

    entry: AuditEntry

    @property
    def is_of_sorting(self) -> bool:
        return self.entry.action == SET_SORTING

    @property
    def becomes(self) -> str:
        return self._words(self.entry.after)

    @property
    def was(self) -> str:
        return self._words(self.entry.before)

    @property
    def decided(self) -> str:
        return str((self.entry.after or {}).get("decided", ""))

    def _words(self, kept: dict[str, str] | None) -> str:
        if self.is_of_sorting:
            return (kept or {}).get("words", "as it comes")
        return _settings_in(kept or {}).words


def all_that_waits(person: Person) -> list[Waits]:
    """For who may see every revision: submitted ones, then those sent back and those that a later
    one overtook, then other drafts. A draft that is older than the approved one and was never
    handed in waits for nothing."""
    if not person.holds(*READERS):
        return []
    rows = FormularyRevision.objects.filter(state__in=NOT_APPROVED, is_demo=False)
    approved = FormularyRevision.objects.filter(state=FormularyState.APPROVED).first()
    found = []
    for each in rows.select_related("submitted_by", "sent_back_by"):
        later = approved if approved and each.is_older_than(approved) else None
        if later is None or each.was_handed_in:
            found.append(Waits(each, person.holds(_whose(each, later)), later))
    return _in_line(found)


def _in_line(found: list[Waits]) -> list[Waits]:
    """Those before the director, the oldest first, each after the one it follows; then others."""
    submitted = [each for each in found if each.is_submitted]
    others = [each for each in found if not each.is_submitted]
    line = sorted(submitted, key=lambda each: each.revision.number)
    in_line = [
        replace(
            each,
            place=place,
            of=len(line),
            after=line[place - 2].revision if place > 1 else None,
            before=before_of(each.revision),
            loud=sum(of.is_loud for of in flagged_of(each.revision)),
        )
        for place, each in enumerate(line, start=1)
    ]
    return [*in_line, *sorted(others, key=lambda each: not each.is_for_a_first_page)]


def waits_for(person: Person) -> list[Waits]:
    """For a first page: what is submitted, before a director; what was sent back or overtaken,
    before an educator. Nothing while an assessed prompt is open: a reason may name a dose."""
    if person.has_assessed_prompt:
        return []
    return [each for each in all_that_waits(person) if each.is_theirs and each.is_for_a_first_page]


def ended_by(revision: FormularyRevision) -> list[FormularyRevision]:
    """What was handed in and can be approved no more once this is."""
    rows = FormularyRevision.objects.filter(state__in=NOT_APPROVED, is_demo=False)
    approved = FormularyRevision.objects.filter(state=FormularyState.APPROVED).first()
    older = rows.filter(number__lt=revision.number, number__gt=approved.number if approved else 0)
    return [each for each in older.select_related("submitted_by") if each.was_handed_in]


def set_anew(person: Person) -> list[SetAnew]:
    """For a director: what others set of doses and sorting since they last saw it, newest first."""
    if person.has_assessed_prompt or not person.holds(Role.DIRECTOR):
        return []
    entries = AuditEntry.objects.filter(action__in=(SET, SET_SORTING)).exclude(actor=person)
    seen = AuditEntry.objects.filter(action=SEEN, actor=person).last()
    if seen:
        entries = entries.filter(pk__gt=seen.pk)
    return [SetAnew(each) for each in entries.select_related("actor").order_by("-pk")]


def set_by() -> str:
    """Who set how doses are worked out, by the audit; empty of nobody, and of who has left."""
    entry = AuditEntry.objects.filter(action=SET).select_related("actor").last()
    return entry.actor.name if entry and entry.actor else ""


def _whose(revision: FormularyRevision, later: FormularyRevision | None) -> Role:
    is_before_director = revision.state == FormularyState.SUBMITTED and later is None
    return Role.DIRECTOR if is_before_director else Role.EDUCATOR


def _settings_in(kept: dict[str, str]) -> DosingSettings:
    known = {name: kept[name] for name in ("pounds", "rounding", "refused_from") if name in kept}
    return DosingSettings(**known)
