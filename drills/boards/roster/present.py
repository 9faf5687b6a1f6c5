"""Who is here now, as the roster tells it."""

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils import timezone

from drills.engine.roster import listed, write_roster
from drills.people.models import CertificationLevel, Cohort, Pairing, Person, Role
from drills.people.naming import BETWEEN
from drills.rigs.models import Station
from drills.rigs.postings import stations_of

NONE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How one person is: levels, stations and cohorts by key, FTOs by number; empty is none.

    `ftos` are those who are here and hold the role; a pairing with anybody else shows nothing.
    """

    name: str
    roles: tuple[str, ...] = (Role.CREW.value,)
    certification: str = ""
    station: str = ""
    cohorts: tuple[str, ...] = ()
    ftos: tuple[str, ...] = ()
    is_active: bool = True

    def holds(self, role: str) -> bool:
        """Whether they are here and have the role."""
        return self.is_active and role in self.roles

    def kept(self) -> dict[str, Any]:
        """What the audit keeps."""
        return {
            "name": self.name,
            "roles": list(self.roles),
            "certification": self.certification or None,
            "station": self.station or None,
            "cohorts": list(self.cohorts),
            "ftos": list(self.ftos),
            "is_active": self.is_active,
        }


@dataclass(frozen=True, slots=True)
class Present:
    """Everybody by number, those who left among them, and the names of what they are in."""

    people: dict[str, Standing]
    ids: dict[str, int]
    levels: dict[str, str]
    stations: dict[str, str]
    cohorts: dict[str, str]


@dataclass(frozen=True, slots=True)
class Names:
    """Says in words what a person is."""

    levels: Mapping[str, str]
    stations: Mapping[str, str]
    cohorts: Mapping[str, str]
    people: Mapping[str, Standing]

    def told(self, each: Standing) -> dict[str, str]:
        """Each column of the roster and its words."""
        ftos = [f"{number} {self.people[number].name}" for number in each.ftos]
        return {
            "here": "yes" if each.is_active else "no",
            "name": each.name,
            "roles": ", ".join(each.roles),
            "certification": self.levels.get(each.certification, NONE),
            "station": self.stations.get(each.station, NONE),
            "cohort": ", ".join(self.cohorts[slug] for slug in each.cohorts) or NONE,
            "FTO": ", ".join(ftos) or NONE,
        }


def keys_of(word: str, names: Mapping[str, str]) -> list[str]:
    """The keys that a word leads to, however it is capitalised: those of the name, else itself."""
    wanted = word.casefold()
    named = [key for key, name in names.items() if name.casefold() == wanted]
    return named or [key for key in names if key.casefold() == wanted]


def told_apart(names: Mapping[str, str]) -> dict[str, str]:
    """The names as they are told, each with its key where several have it."""
    bearers = Counter(name.casefold() for name in names.values())
    return {
        key: f"{name} ({key})" if bearers[name.casefold()] > 1 else name
        for key, name in names.items()
    }


def present(*, now: datetime) -> Present:
    """What the database says at this moment, in a handful of queries however many there are."""
    rows = Person.objects.select_related("certification").prefetch_related("grants", "cohorts")
    people = list(rows)
    posted = stations_of(people, today=timezone.localdate(now))
    ftos = _ftos(now)
    return Present(
        people={
            person.employee_number: Standing(
                name=person.name,
                roles=tuple(sorted(person.roles)),
                certification=person.certification.key if person.certification else "",
                station=posted[person.pk].slug if person.pk in posted else "",
                cohorts=tuple(sorted(cohort.slug for cohort in person.cohorts.all())),
                ftos=tuple(sorted(ftos[person.pk])),
                is_active=person.is_active,
            )
            for person in people
        },
        ids={person.employee_number: person.pk for person in people},
        levels=dict(CertificationLevel.objects.values_list("key", "name")),
        stations=dict(Station.objects.values_list("slug", "name")),
        cohorts=dict(Cohort.objects.values_list("slug", "name")),
    )


def as_file(here: Present) -> bytes:
    """Everybody who is here, in the form that can be sent in again."""
    stations, cohorts = _read_back(here.stations), _read_back(here.cohorts)
    return write_roster(
        (
            number,
            each.name,
            listed(each.roles),
            each.certification,
            stations.get(each.station, ""),
            listed(cohorts[slug] for slug in each.cohorts),
            listed(each.ftos),
            "",
        )
        for number, each in sorted(here.people.items())
        if each.is_active
    )


def _read_back(names: Mapping[str, str]) -> dict[str, str]:
    """Each name as a file has it; the key where the name would not lead back to it.

    Where neither does it is the name, which is then a problem of the file and never a guess.
    """
    found = {}
    for key, name in names.items():
        leads = not set(name) & set(BETWEEN) and keys_of(name, names) == [key]
        found[key] = name if leads or keys_of(key, names) != [key] else key
    return found


def _ftos(now: datetime) -> defaultdict[int, set[str]]:
    """The numbers of the FTOs of each crew member, by id."""
    running = Pairing.objects.running(now)
    valid = running.filter(fto__is_active=True, fto__grants__role=Role.FTO)
    found: defaultdict[int, set[str]] = defaultdict(set)
    for crew, number in valid.values_list("crew", "fto__employee_number"):
        found[crew].add(number)
    return found
