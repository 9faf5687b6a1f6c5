"""What a revision that is not approved is held against beside the one it would take the place of:
the others that wait, and the one it was made from."""

from collections.abc import Iterator
from dataclasses import dataclass

from drills.formulary.differences import Differences, differences, packings
from drills.formulary.models import NOT_APPROVED, FormularyRevision, FormularyState, Presentation
from drills.formulary.reports import rules_of
from drills.people.models import AuditEntry

DRAFTED = "draft formulary"
WAITS, SENT_BACK, MADE_FROM = "waits as well", "was sent back", "this one was made from it"


@dataclass(frozen=True, slots=True)
class Beside:
    """Another revision, why it is looked at, and what is different here; `packings` in words."""

    revision: FormularyRevision
    why: str
    differences: Differences
    packings: list[str]


def besides(revision: FormularyRevision, before: FormularyRevision | None) -> list[Beside]:
    """The others, each held against a revision; none of `before`, which is shown by itself, and of
    a revision that is approved or older than the approved one none at all."""
    is_open = revision.state in NOT_APPROVED and not revision.is_demo
    if not is_open or (before and revision.is_older_than(before)):
        return []
    found = {other.pk: (other, why) for other, why in _others(revision)}
    if before:
        found.pop(before.pk, None)
    rules = rules_of(revision)
    return [
        Beside(
            other,
            why,
            differences(rules_of(other), rules),
            packings(presentations_of(other), presentations_of(revision)),
        )
        for other, why in found.values()
    ]


def presentations_of(of: FormularyRevision | None) -> list[Presentation]:
    """How medicines come in a revision; nothing where there is none."""
    return list(of.presentations.select_related("medicine", "need")) if of else []


def _others(revision: FormularyRevision) -> Iterator[tuple[FormularyRevision, str]]:
    """What it was made from, then the others that wait; one that is both is told as the latter."""
    rows = FormularyRevision.objects.exclude(pk=revision.pk).filter(is_demo=False)
    number = _source_of(revision)
    source = None if number is None else rows.filter(number=number).first()
    if source is not None:
        yield source, MADE_FROM
    approved = rows.filter(state=FormularyState.APPROVED).first()
    for each in rows.filter(state__in=NOT_APPROVED).order_by("number"):
        if each.was_handed_in and not (approved and each.is_older_than(approved)):
            yield each, WAITS if each.state == FormularyState.SUBMITTED else SENT_BACK


def _source_of(revision: FormularyRevision) -> int | None:
    """The number of the revision that a draft was made from here; the audit has it."""
    entry = AuditEntry.objects.filter(action=DRAFTED, subject=f"revision {revision.number}").last()
    return entry.after["from"] if entry and entry.after else None
