"""Who and what a file of past records may name: people, revisions by day, and things on them."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from drills.engine.geometry import metres_from_cot
from drills.engine.layout import Layout, item_key
from drills.engine.prompts import bag_asked, bag_subject
from drills.people.models import Person
from drills.rigs.models import Revision, RevisionState
from drills.rigs.reading import layout_of
from drills.rigs.ties import confirmed_ties, terms_of, worded_needs

IN_FORCE_ONCE = (RevisionState.PUBLISHED, RevisionState.RETIRED)


@dataclass(frozen=True)
class OnRevision:
    """One revision as the rows of a file name what is on it."""

    revision: Revision

    @cached_property
    def layout(self) -> Layout:
        return layout_of(self.revision)

    @cached_property
    def by_need(self) -> Mapping[str, Sequence[str]]:
        """The keys of the things that are confirmed to be each need, by its key."""
        found: dict[str, list[str]] = defaultdict(list)
        for item, tie in confirmed_ties(terms_of(self.revision), worded_needs()).items():
            if item in self.layout.things:
                found[tie.need].append(item)
        return found

    @cached_property
    def codes(self) -> Mapping[str, str]:
        """The code of each place, by its code and its key in small letters; a code goes first."""
        keys = {each.key.casefold(): each.code for each in self.layout.compartments}
        return keys | {each.code.casefold(): each.code for each in self.layout.compartments}

    def things(self, word: str) -> Sequence[str]:
        """The things that a word may mean: the item of that name, the bag of that code, or all that
        are confirmed to be that need."""
        key = item_key(word)
        if key in self.layout.things:
            return (key,)
        code = self.codes.get(key, "")
        if code and self.layout.by_code[code].is_bag:
            return (bag_subject(code),)
        return self.by_need.get(key, ())

    def places_of(self, thing: str) -> Sequence[str]:
        """The codes of the places of a thing, the nearest to the cot first; of a bag where it is,
        which of one that stands at the top is itself."""
        layout = self.layout
        if bag := bag_asked(thing):
            return (layout.by_code[bag].inside or bag,)
        places = layout.things[thing].places
        return (
            places
            if len(places) == 1
            else sorted(places, key=lambda code: metres_from_cot(layout, code))
        )


@dataclass(frozen=True)
class Here:
    """Everybody by number, whoever left among them, and by slug the revisions of each layout that
    were ever in force, the first one first."""

    people: Mapping[str, Person]
    revisions: Mapping[str, Sequence[OnRevision]]

    @cached_property
    def spelled(self) -> Mapping[str, str]:
        """Each number by itself in small letters."""
        return {number.casefold(): number for number in self.people}

    def on(self, slug: str, day: date) -> OnRevision | None:
        """The revision of a layout that was in force on a day; of two from one day on the later."""
        then = [each for each in self.revisions[slug] if _since(each) <= day]
        return then[-1] if then else None

    def first_day(self, slug: str) -> date:
        """Since when a layout has been in force."""
        return _since(self.revisions[slug][0])


def here_now() -> Here:
    """What the database says at this moment, in two queries."""
    people = {person.employee_number: person for person in Person.objects.all()}
    revisions: dict[str, list[OnRevision]] = {}
    rows = Revision.objects.filter(state__in=IN_FORCE_ONCE).select_related("layout")
    for row in rows.order_by("effective_on", "number"):
        revisions.setdefault(row.layout.slug, []).append(OnRevision(row))
    return Here(people, revisions)


def _since(each: OnRevision) -> date:
    return each.revision.effective_on or date.max
