"""What a file of people would change, told before anything is."""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from django.utils import timezone

from drills.boards.roster.present import NONE, Names, Present, Standing, present, told_apart
from drills.boards.roster.words import ROLE_WORDS, Words
from drills.engine.roster import COLUMNS, FTO, LEAVES, ROLES, Entry, read_roster
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
    differences: tuple[Difference, ...]

    @property
    def leaves(self) -> bool:
        return self.was is not None and self.was.is_active and not self.becomes.is_active


@dataclass(frozen=True, slots=True)
class Plan:
    """What would be stored, by number; nothing may be while there is a problem."""

    problems: tuple[Problem, ...]
    remarks: tuple[Remark, ...]
    people: tuple[Planned, ...]
    unchanged: int
    stations: dict[str, str]
    cohorts: dict[str, str]

    @property
    def added(self) -> tuple[Planned, ...]:
        return tuple(each for each in self.people if each.was is None)

    @property
    def changed(self) -> tuple[Planned, ...]:
        """Who stays and becomes another, those who come back among them."""
        return tuple(each for each in self.people if each.was and not each.leaves)

    @property
    def leavers(self) -> tuple[Planned, ...]:
        return tuple(each for each in self.people if each.leaves)

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
        each.number: [spelled.get(word.casefold(), word) for word in each.ftos]
        for each in entries
        if each.ftos is not None and not each.leaves
    }
    for each in entries:
        for number in given.get(each.number, ()):
            _check_fto(each, number, people, words)
    ftos = _holders(people, Role.FTO)
    return {
        number: replace(each, ftos=tuple(sorted(ftos.intersection(given.get(number, each.ftos)))))
        for number, each in people.items()
    }


def _check_fto(entry: Entry, number: str, people: Mapping[str, Standing], words: Words) -> None:
    """Whoever is named as an FTO is one, and is here, when the file is stored."""
    fto = people.get(number)
    accepted = "the number of a field training officer who is here, or comes with this file"
    if number == entry.number:
        got = f"the person's own number {quote(number)}"
    elif fto is None:
        got = f"the number {quote(number)} of nobody"
    elif not fto.is_active:
        got = f"{quote(number)} of somebody who has left or leaves"
    elif not fto.holds(Role.FTO):
        got = f"{quote(number)} of somebody who is no {Role.FTO.label}"
    elif _may_have_fto(entry.number, number, people, words):
        return
    else:
        got, accepted = (
            f"{quote(number)}, and no crew role",
            f"an FTO for a {Role.CREW.label} alone",
        )
    words.refuse(entry.row, FTO, got, accepted)


def _may_have_fto(number: str, fto: str, people: Mapping[str, Standing], words: Words) -> bool:
    """A crew member may; so may one who has this FTO already, and roles not read are told of."""
    was, roles = words.here.people.get(number), people[number].roles
    return not roles or Role.CREW in roles or (was is not None and fto in was.ftos)


def _guard(
    before: Mapping[str, Standing],
    after: Mapping[str, Standing],
    entries: Iterable[Entry],
    by: Person | None,
    words: Words,
) -> None:
    """No file takes away the last administrator, or whoever sends it."""
    admins, left = _holders(before, Role.ADMIN), _holders(after, Role.ADMIN)
    own = by.employee_number if by else ""
    if own in admins - left:
        row = next((each.row for each in entries if each.number == own), 0)
        column = ROLES if after[own].is_active else LEAVES
        got = "yourself, to leave or to be no administrator"
        words.refuse(row, column, got, "a file that keeps you; another administrator can do that")
    elif admins and not left:
        got = "a file after which there would be no administrator"
        words.refuse(0, "", got, "one that leaves at least one of them here")


def _holders(people: Mapping[str, Standing], role: str) -> set[str]:
    return {number for number, each in people.items() if each.holds(role)}


def _plan(
    here: Present,
    after: Mapping[str, Standing],
    words: Words,
    problems: tuple[Problem, ...],
    remarks: tuple[Remark, ...],
) -> Plan:
    stations, cohorts = here.stations | words.stations, here.cohorts | words.cohorts
    names = Names(told_apart(here.levels), told_apart(stations), told_apart(cohorts), after)
    people = tuple(
        Planned(number, was, becomes, _differences(names, was, becomes))
        for number, becomes in sorted(after.items())
        if (was := here.people.get(number)) != becomes
    )
    touched = {each.number for each in people}
    staying = {number for number, each in here.people.items() if each.is_active}
    return Plan(
        problems=problems,
        remarks=remarks,
        people=people,
        unchanged=len(staying - touched),
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
