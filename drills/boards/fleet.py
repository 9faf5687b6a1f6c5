"""What a cohort, and everybody on the fleet, would find of each call type; nobody is named."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import sha256

from django import forms
from django.core.cache import cache
from django.http import QueryDict
from django.utils import timezone

from drills.boards.choosing import named, revisions_in_force
from drills.boards.readiness import Shown
from drills.competency.reports import fetching_of, marks_of
from drills.engine.cohort import FEWEST_PEOPLE
from drills.engine.elsewhere import Elsewhere
from drills.engine.readying import Known, OfMany, Recalibration, chances_of, of_many
from drills.people.models import Cohort, Person, Role
from drills.rigs.models import Revision, Rig
from drills.rigs.own import own_of_each
from drills.rigs.reports import todays_rigs
from drills.runs.foretold import PastCalls, past_calls
from drills.scenarios.dropping import CALLS_DRAWN, DroppingOn, dropping_on
from drills.scenarios.models import CallType

# How many call types are named of a rig or a layout.
MOST_NAMED = 3
KEPT_S = 86_400
# The chance of each call type of one person, by its slug; None where there is too little evidence.
Chances = Mapping[str, float | None]
# Of one person, with whether simulated answers are among it, and imported ones.
Said = tuple[Chances, bool, bool]


@dataclass(frozen=True, slots=True)
class Riding:
    """Some people and the layout that they are asked about: a revision as some rigs have it."""

    revision: Revision
    own: tuple[Elsewhere, ...]
    people: tuple[Person, ...]


@dataclass(frozen=True, slots=True)
class CallOfMany:
    """One call type of everybody who was chosen."""

    call: CallType
    told: OfMany

    @property
    def shown(self) -> Shown | None:
        return shown_of(self.told)


@dataclass(frozen=True, slots=True)
class Part:
    """A layout, or a rig that enough people ride: how many, what is said of all their call types
    together, and those that are least ready with their medians in 100."""

    name: str
    is_rig: bool
    people: int
    told: OfMany
    least: tuple[tuple[CallType, int], ...]

    @property
    def shown(self) -> Shown | None:
        return shown_of(self.told)


@dataclass(frozen=True, slots=True)
class FleetBoard:
    """All that the page shows for one choice; the least ready call types first, then by name."""

    cohort: Cohort | None
    revision: Revision | None
    people: int
    rigless: int
    calls: tuple[CallOfMany, ...] = ()
    parts: tuple[Part, ...] = ()
    past: PastCalls = field(default_factory=PastCalls)
    has_simulated: bool = False
    has_imported: bool = False

    @property
    def has_rigs(self) -> bool:
        """Whether a rig stands among the layouts."""
        return any(part.is_rig for part in self.parts)

    @property
    def drawn(self) -> int:
        """How many calls of each type are drawn."""
        return CALLS_DRAWN


class FleetForm(forms.Form):
    """Whose readiness, and on which layout; both may be left out, and what is not known is
    refused by name."""

    cohort = forms.CharField(required=False)
    layout = forms.CharField(required=False)

    def __init__(self, data: QueryDict) -> None:
        self.cohorts = list(Cohort.objects.all())
        self.revisions = [each for each, _ in revisions_in_force()]
        super().__init__(data)

    def clean_cohort(self) -> Cohort | None:
        slug = self.cleaned_data["cohort"]
        return named({each.slug: each for each in self.cohorts}, slug, "cohort") if slug else None

    def clean_layout(self) -> Revision | None:
        """The revision in force; none is the rig that each rides."""
        slug = self.cleaned_data["layout"]
        there = {each.layout.slug: each for each in self.revisions}
        return named(there, slug, "layout") if slug else None


def shown_of(told: OfMany) -> Shown | None:
    """The median between both quarters, as it is drawn."""
    if told.median is None or told.lowest is None or told.highest is None:
        return None
    return Shown.between(told.median, told.lowest, told.highest)


def fleet_board(cohort: Cohort | None, revision: Revision | None, *, now: datetime) -> FleetBoard:
    """What active crew, of a cohort or all, would find of each call type: on a revision, or on the
    rig that each of them rides."""
    people, past = _crew(cohort), past_calls()
    rides = todays_rigs(people)
    groups = [Riding(revision, (), people)] if revision else _as_ridden(people, rides)
    types: dict[str, CallType] = {}
    told: dict[int, Said] = {}
    for group in groups:
        drops = dropping_on(group.revision, group.own)
        types |= {each.call.slug: each.call for each in drops.types}
        told |= _said(group, drops, past, now)
    said = {person: chances for person, (chances, *_) in told.items()}
    return FleetBoard(
        cohort=cohort,
        revision=revision,
        people=len(said),
        rigless=len(people) - len(said),
        calls=_calls(types, said.values()),
        parts=() if revision else tuple(_parts(types, said, rides)),
        past=past,
        has_simulated=any(simulated for _, simulated, _ in told.values()),
        has_imported=any(imported for *_, imported in told.values()),
    )


def _said(group: Riding, drops: DroppingOn, past: PastCalls, now: datetime) -> dict[int, Said]:
    """What is said of each person of a group. It takes seconds of a whole service, so it is kept
    for the day, for as long as nothing of it changes."""
    day = timezone.localdate(now)
    keys = {
        # With the shape of what is kept: a release that keeps more finds nothing of an older one.
        person: sha256(repr((Said, mark, drops.mark, past.recalibration, day)).encode()).hexdigest()
        for person, mark in marks_of(group.people).items()
    }
    kept = cache.get_many(keys.values())
    anew = [each for each in group.people if keys[each.pk] not in kept]
    thought = fetching_of(anew, revision=group.revision, facts=drops.kits.facts, now=now)
    told = {
        keys[person]: (
            _chances(each.now, drops, past.recalibration),
            each.has_simulated,
            each.has_imported,
        )
        for person, each in thought.items()
    }
    cache.set_many(told, KEPT_S)
    every = kept | told
    return {person: every[key] for person, key in keys.items()}


def _crew(cohort: Cohort | None) -> tuple[Person, ...]:
    crew = Person.objects.filter(is_active=True, grants__role=Role.CREW)
    of_cohort = crew if cohort is None else crew.filter(cohorts=cohort)
    return tuple(of_cohort.distinct().order_by("pk"))


def _chances(known: Known, drops: DroppingOn, righted: Recalibration) -> Chances:
    """The chance of each call type, by its slug."""
    told = chances_of(known, drops.kits, righted)
    both = zip(drops.types, told.chance.tolist(), told.is_enough.tolist(), strict=True)
    return {each.call.slug: chance if is_enough else None for each, chance, is_enough in both}


def _as_ridden(people: Iterable[Person], rides: Mapping[int, Rig]) -> list[Riding]:
    """Those who ride a rig, together with whoever rides one that is just the same."""
    rigs = {rig.pk: rig for rig in rides.values()}
    own = own_of_each(rigs.values())
    found: dict[tuple[int, tuple[Elsewhere, ...]], list[Person]] = defaultdict(list)
    revisions = {rig.revision_id: rig.revision for rig in rigs.values()}
    for each in people:
        if rig := rides.get(each.pk):
            found[rig.revision_id, own[rig.pk]].append(each)
    return [Riding(revisions[key], same, tuple(who)) for (key, same), who in found.items()]


def _calls(types: Mapping[str, CallType], said: Collection[Chances]) -> tuple[CallOfMany, ...]:
    """Each call type of the people on whose rig it may drop."""
    rows = [
        CallOfMany(call, of_many([each[slug] for each in said if slug in each]))
        for slug, call in types.items()
    ]
    return tuple(
        sorted(rows, key=lambda row: (row.told.median is None, row.told.median or 0, row.call.name))
    )


def _parts(
    types: Mapping[str, CallType], said: Mapping[int, Chances], rides: Mapping[int, Rig]
) -> Iterable[Part]:
    """Each layout that is ridden, with those of its rigs that enough people ride, but not all."""
    layouts: dict[str, dict[str, list[Chances]]] = defaultdict(lambda: defaultdict(list))
    for person, each in said.items():
        rig = rides[person]
        layouts[str(rig.revision)][str(rig)].append(each)
    for layout, rigs in sorted(layouts.items()):
        everybody = [each for those in rigs.values() for each in those]
        yield _part(layout, everybody, types, is_rig=False)
        for unit, those in sorted(rigs.items()):
            if len(everybody) > len(those) >= FEWEST_PEOPLE:
                yield _part(unit, those, types, is_rig=True)


def _part(
    name: str, said: Sequence[Chances], types: Mapping[str, CallType], *, is_rig: bool
) -> Part:
    calls = [row for row in _calls(types, said) if row.told.median is not None]
    least = tuple((row.call, round(100 * (row.told.median or 0))) for row in calls[:MOST_NAMED])
    every = [chance for each in said for chance in each.values()]
    together = of_many(every) if len(said) >= FEWEST_PEOPLE else of_many(())
    return Part(name, is_rig, len(said), together, least)
