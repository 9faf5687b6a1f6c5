"""After a new revision: the drill of what moved, offered to those who give drills."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.db.models import Q, QuerySet
from django.utils import timezone

from drills.boards.exactly import DUE_AFTER
from drills.engine.merging import to_relearn
from drills.engine.recipes import MOVED
from drills.people.audit import record
from drills.people.models import AuditEntry, Person, Role, RoleGrant
from drills.rigs.models import Revision, RevisionState
from drills.rigs.postings import posted_on, posted_to
from drills.rigs.reading import layout_of
from drills.runs.access import seen_people
from drills.runs.actions import assign
from drills.runs.assigned import on_layout
from drills.runs.models import Assigned, Assignment
from drills.scenarios.models import Recipe

# How long after its day, or a later refit, a revision is offered. Ours, no source.
OFFERED_FOR = timedelta(days=14)
DISMISSED = "dismiss offer"


@dataclass(frozen=True, slots=True)
class Offer:
    """A recipe of what moved, for crew and FTOs posted where a rig rides a revision already.

    `facts` are what each must learn anew. `waiting` are posted where no rig is refitted yet, so
    that what they ride has not moved; `have_it` were given the recipe since.
    """

    revision: Revision
    recipe: Recipe
    facts: int
    people: tuple[Person, ...]
    waiting: int
    have_it: int
    due_on: date


def offers_to(viewer: Person, *, now: datetime) -> list[Offer]:
    """What is offered to somebody who gives drills: nothing they dismissed, nor what is done."""
    if not viewer.holds(Role.FTO, Role.EDUCATOR):
        return []
    today = timezone.localdate(now)
    refits = AuditEntry.objects.filter(action="refit rig", at__gt=now - OFFERED_FOR)
    # A fleet is refitted over weeks: the last rig that came to it counts as its day does.
    recent = Revision.objects.filter(
        Q(effective_on__gt=today - OFFERED_FOR) | Q(rigs__unit__in=refits.values("subject")),
        state=RevisionState.PUBLISHED,
        effective_on__lte=today,
        number__gt=1,
    )
    revisions = list(recent.select_related("layout").distinct().order_by("layout__name"))
    dismissed = _dismissed(viewer) if revisions else set()
    kept = (each for each in revisions if _subject(each) not in dismissed)
    found = (offer_of(viewer, each, now=now) for each in kept)
    return [each for each in found if each and each.people]


def offer_of(viewer: Person, revision: Revision, *, now: datetime) -> Offer | None:
    """What there is to give of one revision; none when it is not in force or moved nothing."""
    before, recipe = revision.before, _recipe()
    if revision.state != RevisionState.PUBLISHED or before is None or recipe is None:
        return None
    facts = len(to_relearn(layout_of(before), layout_of(revision)))
    return _offer(viewer, revision, recipe, facts, timezone.localdate(now)) if facts else None


def accept(offer: Offer, *, due_on: date, by: Person, now: datetime) -> Assignment:
    """Give the recipe to everybody whom the offer names. Raises what `assign` raises."""
    return assign(
        offer.recipe,
        to=offer.people,
        due_on=due_on,
        standard=offer.recipe.standard,
        minutes=offer.recipe.minutes,
        note=str(offer.revision)[:200],
        layout=offer.revision.layout,
        by=by,
        now=now,
    )


def dismiss(revision: Revision, *, by: Person, now: datetime) -> None:
    """Show somebody the offer of a revision no more; the audit keeps that they decided so."""
    subject = _subject(revision)
    if not AuditEntry.objects.filter(action=DISMISSED, subject=subject, actor=by).exists():
        record(DISMISSED, subject, by=by, now=now)


def _offer(viewer: Person, revision: Revision, recipe: Recipe, facts: int, today: date) -> Offer:
    # A keeper may be posted as well, and rides nothing.
    riding = RoleGrant.objects.filter(role__in=(Role.CREW, Role.FTO)).values("person")
    seen = seen_people(viewer).filter(is_active=True, pk__in=riding)
    posted = seen.filter(pk__in=posted_to(revision.rigs.all(), today=today))
    elsewhere = seen.filter(pk__in=posted_on(revision.layout, today=today)).exclude(pk__in=posted)
    have_it = posted.filter(pk__in=_given(recipe, revision).values("person"))
    return Offer(
        revision=revision,
        recipe=recipe,
        facts=facts,
        people=tuple(posted.exclude(pk__in=have_it).order_by("name", "pk")),
        waiting=elsewhere.count(),
        have_it=have_it.count(),
        due_on=today + DUE_AFTER,
    )


def _recipe() -> Recipe | None:
    """The first recipe that asks what moved before anything else."""
    shared = Recipe.objects.in_use().filter(is_shared=True, kinds__startswith=MOVED)
    return shared.order_by("slug").first()


def _given(recipe: Recipe, revision: Revision) -> QuerySet[Assigned]:
    """Who was given the recipe since the revision is in force, for its layout or for any."""
    rows = Assigned.objects.filter(
        on_layout(revision.layout),
        assignment__recipe=recipe,
        assignment__withdrawn_at=None,
    )
    began = [revision.published_at] if revision.published_at else []
    if revision.effective_on:
        began.append(timezone.make_aware(datetime.combine(revision.effective_on, time.min)))
    return rows.filter(assignment__given_at__gte=max(began)) if began else rows


def _dismissed(viewer: Person) -> set[str]:
    rows = AuditEntry.objects.filter(action=DISMISSED, actor=viewer)
    return set(rows.values_list("subject", flat=True))


def _subject(revision: Revision) -> str:
    return f"what moved, {revision.layout.slug} {revision.number}"
