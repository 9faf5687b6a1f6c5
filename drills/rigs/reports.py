"""Questions about rigs, who rides them, and what is reported on them."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import OuterRef, QuerySet, Subquery
from django.utils.formats import date_format
from django.utils.timezone import localtime

from drills.engine.elsewhere import APPLIES, Elsewhere, standing
from drills.engine.layout import Layout
from drills.people.models import Person
from drills.rigs.models import (
    Absence,
    Answer,
    Reporting,
    Revision,
    RevisionState,
    Rig,
    RigDifference,
    RigPick,
)
from drills.rigs.models import Layout as RigLayout
from drills.rigs.own import OwnLine, as_engine, layout_on, own_lines
from drills.rigs.reading import layout_of

_LOOK_BACK = 50
# Whoever does not press Seen is told for so long. Ours, no source.
HEARD_FOR = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class Ridden:
    """A revision as a person has it before them: on their rig of today with its differences."""

    layout: Layout
    rig: Rig | None = None
    differs: tuple[OwnLine, ...] = ()

    def behind(self, door: str) -> "Ridden":
        """The same, of what differs only that which a door has to do with."""
        chains = {
            line.difference.pk: {self.layout.chain(code)[0].code for code in line.codes}
            for line in self.differs
        }
        here = tuple(line for line in self.differs if door in chains[line.difference.pk])
        return Ridden(self.layout, self.rig, here)


@dataclass(frozen=True, slots=True)
class Heard:
    """What became of something that a person reported, in words."""

    reporting: Reporting
    what: str
    done: str


def todays_rig(person: Person) -> Rig | None:
    """The rig the person picked last, if any."""
    pick = _picks(person).first()
    return pick.rig if pick else None


def todays_rigs(people: Collection[Person]) -> dict[int, Rig]:
    """The rig that each of some people picked last, by person, in one query."""
    picks = RigPick.objects.filter(person__in=people).select_related("rig__revision__layout")
    found: dict[int, Rig] = {}
    for pick in picks:
        found.setdefault(pick.person_id, pick.rig)
    return found


def riders_of(rig: Rig) -> list[Person]:
    """Active people whose newest pick is this rig, by name."""
    newest = RigPick.objects.filter(person=OuterRef("pk")).values("rig")[:1]
    riding = Person.objects.annotate(rides=Subquery(newest)).filter(rides=rig.pk, is_active=True)
    return list(riding.order_by("name", "pk"))


def rode_before(person: Person) -> RigPick | None:
    """The newest pick that was of another rig than today's, or of an older revision of it."""
    picks = list(_picks(person)[:_LOOK_BACK])
    if not picks:
        return None
    now = (picks[0].rig_id, picks[0].rig.revision_id)
    return next((each for each in picks if (each.rig_id, each.revision_id) != now), None)


def known_before(person: Person, revision: Revision) -> Revision | None:
    """The revision that a revision is new against, for a person: the newest earlier one of the
    layout that they picked to ride, else the one that it followed, if any."""
    picks = RigPick.objects.filter(
        person=person, revision__layout=revision.layout_id, revision__number__lt=revision.number
    )
    newest = picks.select_related("revision__layout").order_by("-picked_at", "-pk").first()
    return newest.revision if newest else revision.before


def reported_path(report: Absence, own: Collection[Elsewhere] = ()) -> str:
    """Where the layout says it is, in the revision that was reported on, or a rig whose `own` list
    says otherwise.

    Of a thing with several places it is not known where the crew looked, so all are named.
    """
    layout = layout_of(report.revision, own)
    if report.place:
        paths = {each.key: layout.path(each.code) for each in layout.compartments}
        return paths.get(report.place.key, report.place.key)
    thing = layout.things.get(report.item.key) if report.item else None
    places = thing.places if thing else ()
    return f"Any of its {len(places)} places: {'; '.join(map(layout.path, places))}"


def as_ridden(person: Person, revision: Revision) -> Ridden:
    """A revision as the person meets it: if the rig they ride today rides it, as that rig is."""
    rig = todays_rig(person)
    if rig is None or rig.revision_id != revision.pk:
        return Ridden(layout_of(revision))
    return Ridden(layout_on(rig), rig, tuple(own_lines(rig)))


def heard_by(person: Person, *, now: datetime) -> list[Heard]:
    """What keepers did about what the person reported, until seen or for two weeks.

    It may say where a thing is: nobody is told while an assessed prompt of theirs is open.
    """
    if person.has_assessed_prompt:
        return []
    rows = Reporting.objects.filter(
        person=person, seen_at=None, absence__answered_at__gte=now - HEARD_FOR
    ).select_related("absence__rig", "absence__revision__layout", "absence__item", "absence__place")
    rows = rows.select_related("absence__answered_by").prefetch_related(
        "absence__differences__here", "absence__differences__rig__revision__layout"
    )
    return [Heard(each, what_of(each.absence), done_about(each.absence)) for each in rows]


def what_of(report: Absence) -> str:
    """What was reported, as a person says it."""
    return report.item.name if report.item else f"what is in {reported_path(report)}"


def done_about(report: Absence) -> str:
    """What the keeper did about a report that is answered, and what of it holds by now."""
    told = next(iter(report.differences.all()), None)
    if told is None or report.answer not in {Answer.DIFFERS, Answer.LAYOUT_WRONG}:
        return report.get_answer_display().capitalize() or "Answered"
    until = f"until {date_format(localtime(told.ended_at), 'j M Y')}" if told.ended_at else ""
    if report.answer == Answer.DIFFERS:
        return f"Differed on this rig {until}" if until else f"Differs on this rig: {_where(told)}"
    here = f"this rig differed {until}" if until else f"on this rig {_where(told)}"
    return f"{_of_the_layout(report.revision.layout, told)}; {here}"


def _of_the_layout(layout: RigLayout, told: RigDifference) -> str:
    """Whether the layout says by now what was told, or is to."""
    change = as_engine(told)
    now, to_come = layout.published, filter(None, (layout.coming, layout.draft))
    if now and standing(layout_of(now), change) != APPLIES:
        return "The layout was wrong and is changed"
    if any(standing(layout_of(each), change) != APPLIES for each in to_come):
        return "The layout is wrong and is being changed"
    return "The layout was to be changed, and is not"


def _where(difference: RigDifference) -> str:
    """Where a thing is on a rig, by the revision it rides now."""
    if difference.here is None:
        return "it is not aboard"
    layout = layout_of(difference.rig.revision)
    paths = {each.key: layout.path(each.code) for each in layout.compartments}
    return f"it is in {paths.get(difference.here.key, difference.here.key)}"


def layouts_in_force() -> QuerySet[RigLayout]:
    """The layouts that have a published revision, by name."""
    return RigLayout.objects.filter(revisions__state=RevisionState.PUBLISHED).distinct()


def _picks(person: Person) -> QuerySet[RigPick]:
    return RigPick.objects.filter(person=person).select_related(
        "rig__revision__layout", "rig__layout", "rig__station", "revision__layout"
    )
