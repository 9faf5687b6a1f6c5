"""What tells two revisions of a layout apart, and whom it touches."""

from dataclasses import dataclass
from datetime import date

from drills.engine.merging import Change, changes, to_relearn
from drills.engine.same_places import Question, questions
from drills.rigs.models import Revision, RevisionState
from drills.rigs.postings import posted_on
from drills.rigs.reading import codes_by_place, layout_of


@dataclass(frozen=True, slots=True)
class Difference:
    """The changes from one revision to another; `before` is none for the first of its layout.

    `facts` are how many each of `people` must learn anew: those posted where rigs ride the layout.
    `asked` are the places of a draft that count as new while others are gone.
    """

    before: Revision | None
    now: Revision
    changes: tuple[Change, ...]
    facts: int
    people: int
    rigs: int
    asked: tuple[Question, ...] = ()


def difference(before: Revision | None, now: Revision, *, today: date) -> Difference:
    """Tell two revisions of one layout apart."""
    old, new = layout_of(before) if before else None, layout_of(now)
    return Difference(
        before=before,
        now=now,
        changes=changes(old, new),
        facts=len(to_relearn(old, new)) if old else 0,
        people=posted_on(now.layout, today=today).count(),
        rigs=now.layout.rigs.count(),
        asked=asked_of(now),
    )


def asked_of(draft: Revision) -> tuple[Question, ...]:
    """What a keeper is asked of the places of a draft; nothing of what is no draft."""
    before = draft.before
    if before is None or draft.state != RevisionState.DRAFT:
        return ()
    return questions(layout_of(before), layout_of(draft), codes_by_place(draft.layout))
