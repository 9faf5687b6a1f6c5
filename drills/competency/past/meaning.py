"""What each row of past records means here, and every reason why one cannot be taken."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo

from drills.competency.past.here import Here, OnRevision
from drills.engine.past_records import (
    AT,
    ITEM,
    LAYOUT,
    NUMBER,
    OBSERVED_BY,
    OUTCOMES,
    PLACE,
    Entry,
    findings_of,
    source_of,
)
from drills.engine.prompts import bag_asked
from drills.engine.scoring import PARTLY, RIGHT, Finding
from drills.engine.workbook.problems import Report, quote
from drills.people.models import Person
from drills.rigs.models import Revision

NAMED = 12


@dataclass(frozen=True, slots=True)
class Record:
    """A row as it is understood: whose it is, on which revision, what was asked for and where that
    lay, and what it tells; `source` is what its evidence is known by."""

    entry: Entry
    person: Person
    observer: Person | None
    revision: Revision
    name: str
    path: str
    findings: tuple[Finding, ...]
    source: str

    @property
    def at(self) -> datetime:
        """When it was."""
        return self.entry.moment


@dataclass(frozen=True, slots=True)
class Meaning:
    """Reads rows against who and what is here; what is wrong goes into the report. `by` sends the
    file, and a day begins in `zone`."""

    here: Here
    report: Report
    by: Person | None
    zone: tzinfo

    def of(self, entry: Entry) -> Record | None:
        """What a row means; None where it has a problem."""
        before = self.report.count
        person = self._person(entry, NUMBER, entry.number)
        observer = self._observer(entry, person)
        there = self._revision(entry)
        found = self._thing(entry, there) if there else None
        if person is None or there is None or found is None:
            return None
        if self.report.count > before or not entry.is_read:
            return None
        return _record(entry, person, observer, there, *found)

    def _refuse(self, entry: Entry, column: str, got: str, accepted: str) -> None:
        self.report.refuse("", entry.row, column, got, accepted)

    def _person(self, entry: Entry, column: str, number: str) -> Person | None:
        """Whoever has a number; of nobody it cannot be said whether they were erased."""
        person = self.here.people.get(number)
        if person is None and number:
            other = self.here.spelled.get(number.casefold())
            got = f"the number of nobody here, or of somebody who was erased, {quote(number)}"
            self._refuse(entry, column, got, other or "the number of somebody on the roster")
        if column == NUMBER and person is not None and person == self.by:
            got = f"your own number {quote(number)}"
            self._refuse(entry, column, got, "records of others; somebody else sends in yours")
        return person

    def _observer(self, entry: Entry, person: Person | None) -> Person | None:
        if not entry.observed_by:
            return None
        observer = self._person(entry, OBSERVED_BY, entry.observed_by)
        if observer is not None and observer == person:
            got = "the person's own number"
            self._refuse(entry, OBSERVED_BY, got, "the number of whoever watched, or nothing")
        return observer

    def _revision(self, entry: Entry) -> OnRevision | None:
        """The revision of the layout that was in force then."""
        if entry.layout and entry.layout not in self.here.revisions:
            known = _some(sorted(self.here.revisions)) or "nothing: no layout is in force yet"
            self._refuse(entry, LAYOUT, quote(entry.layout), known)
            return None
        if not entry.layout or entry.at is None:
            return None
        day = entry.at.astimezone(self.zone).date()
        found = self.here.on(entry.layout, day)
        if found is None:
            first = self.here.first_day(entry.layout)
            got = f"a day before {entry.layout} had its first revision, {day:%F}"
            self._refuse(entry, AT, got, f"{first:%F} or a later day for this layout")
        return found

    def _thing(self, entry: Entry, there: OnRevision) -> tuple[str, str] | None:
        """The thing that is meant and the code of its place."""
        things = there.things(entry.item) if entry.item else ()
        if not things:
            if entry.item:
                got = f"a thing that was not on {there.revision}, the one then: {quote(entry.item)}"
                self._refuse(entry, ITEM, got, "the name or the need of a thing that was on it")
            return None
        lies = {thing: there.places_of(thing) for thing in things}
        if entry.place:
            return self._at_place(entry, there, lies)
        if len(things) > 1:
            names = _some([there.layout.things[thing].name for thing in things])
            got = f"a need that several things are, {quote(entry.item)}"
            self._refuse(entry, ITEM, got, f"the name of one of them: {names}")
            return None
        return self._only_place(entry, there, things[0], lies[things[0]])

    def _at_place(
        self, entry: Entry, there: OnRevision, lies: dict[str, Sequence[str]]
    ) -> tuple[str, str] | None:
        code = there.codes.get(entry.place.casefold(), "")
        fits = [thing for thing, places in lies.items() if code in places]
        if len(fits) == 1:
            return fits[0], code
        places = _some(dict.fromkeys(code for each in lies.values() for code in each))
        got = f"a place where {quote(entry.item)} was not on {there.revision}, {quote(entry.place)}"
        if fits:
            got = f"a place where several things of that need were, {quote(entry.place)}"
        self._refuse(entry, PLACE, got, f"one of {places}" if not fits else "the name of the item")
        return None

    def _only_place(
        self, entry: Entry, there: OnRevision, thing: str, places: Sequence[str]
    ) -> tuple[str, str] | None:
        """Of what lies in several places a wrong answer counts for the one nearest to the cot, as
        everywhere; a right one has to say which it was."""
        if len(places) > 1 and OUTCOMES.get(entry.outcome) in (RIGHT, PARTLY):
            got = f"no place, though {quote(entry.item)} was in several"
            self._refuse(entry, PLACE, got, f"one of {_some(places)}")
            return None
        return thing, places[0]


def _record(
    entry: Entry,
    person: Person,
    observer: Person | None,
    there: OnRevision,
    thing: str,
    place: str,
) -> Record:
    layout, bag = there.layout, bag_asked(thing)
    findings = findings_of(layout, thing, place, entry.outcome)
    return Record(
        entry=entry,
        person=person,
        observer=observer,
        revision=there.revision,
        name=layout.by_code[bag].name if bag else layout.things[thing].name,
        path=layout.path(place),
        findings=findings,
        source=source_of(
            entry,
            number=person.employee_number,
            observed_by=observer.employee_number if observer else "",
            fact=findings[-1].fact,
        ),
    )


def _some(words: Sequence[str] | dict[str, None]) -> str:
    known = list(words)
    more = f" and {len(known) - NAMED} more" if len(known) > NAMED else ""
    return f"{', '.join(known[:NAMED])}{more}"
