"""What a file of people would change, told before anything is."""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from django.utils import timezone

from drills.boards.roster.present import NONE, Names, Present, Standing, present
from drills.boards.roster.words import ROLE_WORDS, Words
from drills.engine.roster import COLUMNS, FTO, LEAVES, NUMBER, ROLES, Entry, read_roster
from drills.engine.workbook.problems import Problem, Remark, quote
from drills.people.models import Person, Role


@dataclass(frozen=True, slots=True)
class Choices:
    """What whoever sends a file decides: whether people it does not name leave, and whether
    stations and cohorts that are not here yet are added."""

    leavers: bool = False
    adds_new: bool = False


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing of a person that becomes another, in words."""

    what: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Planned:
    """One person of the plan; `was` is None for somebody new."""

    number: str
    was: Standing | None
    becomes: Standing
    differences: tuple[Difference, ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """What would be stored, by number; nothing may be while there is a problem."""

    problems: tuple[Problem, ...]
    remarks: tuple[Remark, ...]
    added: tuple[Planned, ...]
    changed: tuple[Planned, ...]
    leavers: tuple[Planned, ...]
    unchanged: int
    stations: dict[str, str]
    cohorts: dict[str, str]

    @property
    def people(self) -> tuple[Planned, ...]:
        """Everybody who becomes another."""
        return (*self.added, *self.changed, *self.leavers)

    @property
    def sections(self) -> tuple[tuple[str, tuple[Planned, ...]], ...]:
        """Those who stay, under the title of what becomes of them."""
        return (("Added", self.added), ("Changed", self.changed))

    @property
    def fingerprint(self) -> str:
        """The same for two plans exactly when they would store the same."""
        told = (self.people, sorted(self.stations.items()), sorted(self.cohorts.items()))
        return hashlib.sha256(repr(told).encode()).hexdigest()


def plan_roster(data: bytes, *, choices: Choices, by: Person | None, now: datetime) -> Plan:
    """Check a file against who is here, every problem at once."""
    here = present(now=now)
    read = read_roster(data, roles=ROLE_WORDS, today=timezone.localdate(now))
    words = Words(here, choices.adds_new)
    wanted = _wanted(read.entries, words, choices)
    after = _with_ftos({**here.people, **wanted}, read.entries, words)
    _guard(here.people, after, read.entries, by, words)
    problems = sorted([*read.problems, *words.problems], key=_by_cell)
    remarks = sorted([*read.remarks, *words.remarks], key=lambda each: each.row)
    return _plan(here, after, words, tuple(problems), tuple(remarks))


def _by_cell(problem: Problem) -> tuple[int, int]:
    column = problem.column
    return problem.row, COLUMNS.index(column) if column in COLUMNS else -1


def _wanted(entries: Iterable[Entry], words: Words, choices: Choices) -> dict[str, Standing]:
    """How everybody whom the file speaks of is to be, FTOs left out."""
    people = words.here.people
    spelled = {number.casefold(): number for number in people}
    wanted: dict[str, Standing] = {}
    for entry in entries:
        words.check_number(entry, spelled)
        was = people.get(entry.number)
        if not entry.leaves:
            wanted[entry.number] = _standing(entry, was, words)
        elif was is None:
            words.remark_nobody(entry)
        else:
            wanted[entry.number] = _left(was)
    named = {entry.number for entry in entries}
    if choices.leavers:
        wanted |= {number: _left(was) for number, was in people.items() if number not in named}
    return wanted


def _left(was: Standing) -> Standing:
    """Who has left keeps name, roles, level and cohorts; those are the record."""
    return replace(was, is_active=False, station="", ftos=()) if was.is_active else was


def _standing(entry: Entry, was: Standing | None, words: Words) -> Standing:
    found = replace(was or Standing(name=""), name=entry.name, is_active=True)
    if entry.roles is not None:
        found = replace(found, roles=tuple(sorted(entry.roles)))
    if entry.certification is not None:
        found = replace(found, certification=words.level(entry, entry.certification))
    if entry.station is not None:
        found = replace(found, station=words.station(entry, entry.station))
    if entry.cohorts is not None:
        keys = {words.cohort(entry, given) for given in entry.cohorts}
        found = replace(found, cohorts=tuple(sorted(keys - {""})))
    return found


def _with_ftos(
    people: Mapping[str, Standing], entries: Iterable[Entry], words: Words
) -> dict[str, Standing]:
    """The same people, each with the FTOs of the file, else those of before who still are."""
    spelled = {number.casefold(): number for number in people}
    given = {
        each.number: tuple(spelled.get(word.casefold(), word) for word in each.ftos)
        for each in entries
        if each.ftos is not None and not each.leaves
    }
    for each in entries:
        for number in given.get(each.number, ()):
            _check_fto(each, number, people, words)
    return {
        number: replace(
            each,
            ftos=tuple(sorted(n for n in given.get(number, each.ftos) if _is_fto(people.get(n)))),
        )
        for number, each in people.items()
    }


def _is_fto(person: Standing | None) -> bool:
    return person is not None and person.holds(Role.FTO)


def _check_fto(entry: Entry, number: str, people: Mapping[str, Standing], words: Words) -> None:
    crew, was = people[entry.number], words.here.people.get(entry.number)
    accepted = "the number of a field training officer who is here, or comes with this file"
    if number == entry.number:
        words.refuse(entry.row, FTO, f"the person's own number {quote(number)}", accepted)
    elif number not in people:
        words.refuse(entry.row, FTO, f"the number {quote(number)} of nobody", accepted)
    elif not people[number].is_active:
        words.refuse(
            entry.row, FTO, f"{quote(number)} of somebody who has left or leaves", accepted
        )
    elif not _is_fto(people[number]):
        got = f"{quote(number)} of somebody who is no {Role.FTO.label}"
        words.refuse(entry.row, FTO, got, accepted)
    elif Role.CREW not in (crew.roles or [Role.CREW]) and number not in (was.ftos if was else ()):
        got = f"{quote(number)} for somebody who is no {Role.CREW.label}"
        words.refuse(entry.row, FTO, got, f"an FTO for a {Role.CREW.label} alone")


def _guard(
    before: Mapping[str, Standing],
    after: Mapping[str, Standing],
    entries: Iterable[Entry],
    by: Person | None,
    words: Words,
) -> None:
    """No file takes away the last administrator, or whoever sends it."""
    admins, left = (
        {number for number, each in people.items() if each.holds(Role.ADMIN)}
        for people in (before, after)
    )
    own = by.employee_number if by else ""
    if own in admins - left:
        row = next((each.row for each in entries if each.number == own), 0)
        column = ROLES if after[own].is_active else LEAVES if row else NUMBER
        got = "yourself, to leave or to be no administrator"
        words.refuse(row, column, got, "a file that keeps you; another administrator can do that")
    elif admins and not left:
        got = "a file after which there would be no administrator"
        words.refuse(0, "", got, "one that leaves at least one of them here")


def _plan(
    here: Present,
    after: Mapping[str, Standing],
    words: Words,
    problems: tuple[Problem, ...],
    remarks: tuple[Remark, ...],
) -> Plan:
    names = Names(here.levels, here.stations | words.stations, here.cohorts | words.cohorts, after)
    people = [
        Planned(number, was, becomes, _differences(names, was, becomes))
        for number, becomes in sorted(after.items())
        for was in [here.people.get(number)]
        if was != becomes
    ]
    leavers = [each for each in people if each.was and each.was.is_active > each.becomes.is_active]
    stay = sum(each.is_active for each in here.people.values())
    changed = [each for each in people if each.was and each not in leavers]
    return Plan(
        problems=problems,
        remarks=remarks,
        added=tuple(each for each in people if each.was is None),
        changed=tuple(changed),
        leavers=tuple(leavers),
        unchanged=stay
        - len(leavers)
        - sum(bool(each.was and each.was.is_active) for each in changed),
        stations=words.stations,
        cohorts=words.cohorts,
    )


def _differences(names: Names, was: Standing | None, becomes: Standing) -> tuple[Difference, ...]:
    """What of a person becomes another; of somebody new, all that they have."""
    after = names.told(becomes)
    before = names.told(was) if was else dict.fromkeys(after, NONE) | {"here": after["here"]}
    return tuple(
        Difference(what, before[what], after[what])
        for what in before
        if before[what] != after[what]
    )
