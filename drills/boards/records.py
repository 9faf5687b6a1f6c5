"""What a person still misses, on every layout they were asked about."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from drills.boards.hire import current_misses, misses_wait, runs_that_wait, words_of
from drills.boards.skills import Skills, skills_in
from drills.competency.reports import Knowledge, knowledge_of, skills_of
from drills.engine.facts import SKILL, facts_of
from drills.people.models import Person
from drills.rigs.models import Revision, RevisionState, Rig
from drills.rigs.own import layout_on
from drills.rigs.reading import layout_of
from drills.rigs.reports import todays_rig

MISSES_SHOWN = 8


@dataclass(frozen=True, slots=True)
class LayoutMisses:
    """One layout: the facts whose newest answer was not right, of those asked so far.

    `is_held_back` when an assessed run of the person is open on it, and they look themselves.
    """

    rig: Rig | None
    revision: Revision
    words: tuple[str, ...]
    asked: int
    is_open: bool
    is_held_back: bool
    has_simulated: bool
    has_imported: bool

    @property
    def newest(self) -> tuple[str, ...]:
        return self.words[:MISSES_SHOWN]

    @property
    def older(self) -> tuple[str, ...]:
        return self.words[MISSES_SHOWN:]


def misses_of(person: Person, *, viewer: Person, now: datetime) -> list[LayoutMisses]:
    """By layout, today's rig first; what an open assessed run asked is told to others alone."""
    return list(_misses_of(person, viewer=viewer, now=now))


def skills_shown(person: Person, *, viewer: Person, now: datetime) -> Skills | None:
    """Doses and calls of a person; none to themselves while an assessed run of theirs is open."""
    if viewer == person and runs_that_wait(person).exists():
        return None
    return skills_in(skills_of([person], now=now)[person.pk])


def _misses_of(person: Person, *, viewer: Person, now: datetime) -> Iterator[LayoutMisses]:
    rig = todays_rig(person)
    for revision in _revisions(rig):
        is_todays = rig is not None and rig.revision_id == revision.pk
        known = knowledge_of(person, layout=revision.layout, now=now)
        if is_todays or any(fact.kind != SKILL for fact in known.observations):
            waits = misses_wait(person, revision.layout)
            yield _shown(known, rig if is_todays else None, revision, waits, viewer == person)


def _shown(
    known: Knowledge, rig: Rig | None, revision: Revision, waits: bool, is_own: bool
) -> LayoutMisses:
    layout = layout_on(rig) if rig else layout_of(revision)
    facts = facts_of(layout)
    is_held_back = waits and is_own
    return LayoutMisses(
        rig=rig,
        revision=revision,
        words=() if is_held_back else words_of(layout, current_misses(known, facts)),
        asked=sum(fact in known.observations for fact in facts),
        is_open=waits,
        is_held_back=is_held_back,
        has_simulated=known.has_simulated,
        has_imported=known.has_imported,
    )


def _revisions(rig: Rig | None) -> list[Revision]:
    """The revision of today's rig, then the one in force of each other layout, by name."""
    published = Revision.objects.filter(state=RevisionState.PUBLISHED).select_related("layout")
    others = published.exclude(layout=rig.layout_id) if rig else published
    return [*([rig.revision] if rig else []), *others.order_by("name")]
