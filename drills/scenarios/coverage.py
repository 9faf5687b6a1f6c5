"""What each layout lacks for a call type, by ties that are confirmed."""

from collections.abc import Iterable
from dataclasses import dataclass

from drills.engine.calls import CallType, CallWorld
from drills.engine.coverage import Coverage, asked_at_most, coverage_of
from drills.engine.facts import ITEM
from drills.engine.readying.musts import musts_of
from drills.engine.wanted import musts, want
from drills.rigs.models import Layout, Revision
from drills.rigs.reading import layout_of
from drills.rigs.ties import need_ties
from drills.scenarios.kept import need_names
from drills.scenarios.models import CallType as CallTypeRow
from drills.scenarios.reading import call_type_of, call_world


@dataclass(frozen=True, slots=True)
class Rigged:
    """A published revision as it is held against call types."""

    revision: Revision
    confirmed: dict[str, str]
    suggested: dict[str, str]
    holds: dict[str, int]

    def coverage(self, call_type: CallType, world: CallWorld) -> Coverage:
        """What it lacks for one call type."""
        return coverage_of(
            call_type,
            world,
            layout_of(self.revision),
            self.confirmed,
            holds=self.holds,
            suggested=self.suggested,
        )


def published() -> list[Revision]:
    """What is in force of every layout."""
    found = (each.published for each in Layout.objects.order_by("slug"))
    return [each for each in found if each is not None]


def rigged(revisions: Iterable[Revision]) -> list[Rigged]:
    """Revisions with their ties, each looked up once."""
    return [_rigged(each) for each in revisions]


def must_haves_on(revision: Revision) -> frozenset[str]:
    """The keys of the items of a revision that serve a must-have which any call of a type in use
    may ask for, by confirmed ties."""
    here, layout, names = _rigged(revision), layout_of(revision), need_names()
    world, found = call_world(), set[str]()
    for row in CallTypeRow.objects.filter(retired_on=None):
        asked = asked_at_most(call_type_of(row, names), world)
        wanted = musts(want(layout, here.confirmed, asked, (), here.holds))
        ways = (way for must in musts_of(layout, wanted) for way in must.ways)
        found |= {fact.thing for way in ways for fact in way if fact.kind == ITEM}
    return frozenset(found)


def _rigged(revision: Revision) -> Rigged:
    ties = need_ties(revision)
    return Rigged(
        revision,
        {thing: tie.need for thing, tie in ties.items() if tie.is_confirmed},
        {thing: tie.need for thing, tie in ties.items() if not tie.is_confirmed},
        {thing: tie.holds for thing, tie in ties.items() if tie.is_confirmed},
    )
