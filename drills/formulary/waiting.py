"""Revisions that wait for somebody: submitted, sent back, and drafts."""

from dataclasses import dataclass

from drills.formulary.access import READERS
from drills.formulary.models import NOT_APPROVED, FormularyRevision, FormularyState
from drills.people.models import Person, Role


@dataclass(frozen=True, slots=True)
class Waits:
    """A revision that waits, and whether it waits for who looks."""

    revision: FormularyRevision
    is_theirs: bool

    @property
    def is_submitted(self) -> bool:
        return self.revision.state == FormularyState.SUBMITTED

    @property
    def is_sent_back(self) -> bool:
        return not self.is_submitted and bool(self.revision.sent_back_because)


def all_that_waits(person: Person) -> list[Waits]:
    """For who may see every revision: submitted ones, then those sent back, then other drafts.

    One that is older than the approved one waits for nothing: it can be submitted no more.
    """
    if not person.holds(*READERS):
        return []
    rows = FormularyRevision.objects.filter(state__in=NOT_APPROVED, is_demo=False)
    approved = FormularyRevision.objects.filter(state=FormularyState.APPROVED).first()
    if approved:
        rows = rows.filter(number__gt=approved.number)
    found = [
        Waits(each, person.holds(_whose(each)))
        for each in rows.select_related("submitted_by", "sent_back_by")
    ]
    return sorted(found, key=lambda each: (not each.is_submitted, not each.is_sent_back))


def waits_for(person: Person) -> list[Waits]:
    """For a first page: what is submitted, before a director; what was sent back, before an
    educator. Nothing while an assessed prompt is open: a reason may name a dose."""
    if person.has_assessed_prompt:
        return []
    found = all_that_waits(person)
    return [each for each in found if each.is_theirs and (each.is_submitted or each.is_sent_back)]


def _whose(revision: FormularyRevision) -> Role:
    return Role.DIRECTOR if revision.state == FormularyState.SUBMITTED else Role.EDUCATOR
