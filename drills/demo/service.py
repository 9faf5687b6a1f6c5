"""Saltbrush Basin Ambulance District: an invented service, for demonstration only."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.db import transaction

from drills.demo.assignments import give_drills
from drills.demo.at_the_rig import see_at_the_rig, see_the_hire, train
from drills.demo.factories import (
    CertificationLevelFactory,
    CohortFactory,
    PairingFactory,
    PersonFactory,
    RigFactory,
    StationFactory,
    reseed,
)
from drills.demo.protocols import submit_formulary
from drills.demo.simulation import Character, take_drill
from drills.demo.upkeep import report_and_answer
from drills.engine.workbook import read_workbook
from drills.people.models import Person, Role
from drills.rigs.actions import import_layout, pick_rig
from drills.rigs.models import Posting, Revision, Rig, Station
from drills.runs.actions.observing import KIT
from drills.scenarios.models import Recipe

NAME = "Saltbrush Basin Ambulance District"
STATIONS = ("Kettle Station", "Low Bench", "Dry Ledger")
BOX_UNITS = ("201", "202", "203", "204", "205", "206", "207", "208", "209")
VAN_UNITS = ("301", "302", "303", "304", "305")
LEVELS = ("emt", "advanced-emt", "paramedic")
CREW = 36
EDUCATOR, KEEPER = 4, 5  # behind the crew
HIRE_UNIT = "204"
# How many others have a history; each of their drills takes seeding about a third of a second.
OTHERS = 13

FIRST_PUBLISHED = timedelta(days=180)
BAG_MOVED = timedelta(days=4)


@dataclass(frozen=True, slots=True)
class SignIn:
    """One of the people a visitor may be."""

    employee_number: str
    part: str


SIGN_INS = (
    SignIn("SB0001", "new hire"),
    SignIn("SB0037", "field training officer"),
    SignIn("SB0041", "educator"),
    SignIn("SB0042", "layout keeper"),
    SignIn("SB0043", "medical director"),
    SignIn("SB0044", "administrator"),
)


WEEKLY, FIRST_WEEK = "find-ten", "new-rig-week-1"
BAGS, DOSES = "new-rig-week-3", "dosing-ladder-1"
# Paired with the officer of the demonstration and cleared for every dose, not always right.
UNSURE = 12
RECIPES = (WEEKLY, FIRST_WEEK, BAGS, DOSES, KIT)


class NotOursError(ValueError):
    """The database holds people who are not of the demonstration."""


class NoReferenceError(LookupError):
    """The database lacks what every service starts with."""


@transaction.atomic
def make_service(*, now: datetime) -> bool:
    """Make the service unless it is there; whether it was made.

    Refuses a database that holds anyone else, or lacks the reference data.
    """
    others = Person.objects.filter(is_demo=False).count()
    if others:
        raise NotOursError(
            f"This database holds {others} people who are not of the demonstration; "
            "it takes an empty one."
        )
    if Person.objects.exists():
        return False
    if Recipe.objects.filter(slug__in=RECIPES).count() < len(RECIPES):
        raise NoReferenceError(
            "The reference data is not here yet; load it first: manage.py loaddata fixtures/*.json"
        )
    reseed()
    people = _make_people(now)
    _import("mesa-box", now - FIRST_PUBLISHED)
    _import("first-response-truck", now - FIRST_PUBLISHED)
    van = _import("arroyo-van", now - FIRST_PUBLISHED)
    rigs = _make_rigs(van)
    _post(people, now)
    _play_before_the_move(people, rigs, now)
    hire, officer, educator = people[0], people[CREW], people[CREW + EDUCATOR]
    see_at_the_rig(people, officer, _unit(rigs, HIRE_UNIT), now=now)
    train(hire, officer, educator, now=now)
    see_the_hire(hire, officer, _unit(rigs, HIRE_UNIT), now=now)
    _import("mesa-box-rev2", now - BAG_MOVED)
    _play_after_the_move(people, rigs, now)
    give_drills(officer, now=now)
    submit_formulary(educator, now=now)
    report_and_answer(hire, officer, people[CREW + KEEPER], now=now)
    return True


def _make_people(now: datetime) -> list[Person]:
    """36 crew in two intakes, 4 FTOs, and one of each other role; the first is the new hire."""
    levels = [CertificationLevelFactory.create(key=key) for key in LEVELS]
    intakes = [
        CohortFactory.create(name="Spring intake", slug="spring-intake"),
        CohortFactory.create(name="Autumn intake", slug="autumn-intake"),
    ]
    people = [
        PersonFactory.create(
            employee_number=f"SB{number + 1:04}",
            certification=levels[-1] if number % 3 == 0 else levels[number % 2],
            cohorts=[intakes[1 if number < CREW // 2 else 0]],
            is_demo=True,
        )
        for number in range(CREW)
    ]
    officers = [(Role.FTO, Role.CREW)] * 4 + [(Role.EDUCATOR,), (Role.KEEPER,), (Role.DIRECTOR,)]
    officers.append((Role.ADMIN,))
    people += [
        PersonFactory.create(
            employee_number=f"SB{CREW + 1 + number:04}",
            certification=levels[-1],
            roles=roles,
            is_demo=True,
        )
        for number, roles in enumerate(officers)
    ]
    ftos = people[CREW : CREW + 4]
    for number, person in enumerate(people[:CREW]):
        PairingFactory.create(fto=ftos[number % 4], crew=person, starts_at=now - timedelta(days=60))
    return people


def _import(folder: str, at: datetime) -> Revision:
    parsed = read_workbook(Path(settings.BASE_DIR) / "fixtures" / "layouts" / folder)
    if parsed.layout is None:
        raise ValueError("; ".join(str(problem) for problem in parsed.problems))
    return import_layout(parsed.layout, by=None, now=at, publish=True)


def _make_rigs(van: Revision) -> list[Rig]:
    box = Revision.objects.get(layout__slug="mesa-box", state="published")
    stations = [
        StationFactory.create(name=name, slug=name.lower().replace(" ", "-")) for name in STATIONS
    ]
    units = [(unit, box) for unit in BOX_UNITS] + [(unit, van) for unit in VAN_UNITS]
    return [
        RigFactory.create(unit=unit, revision=revision, station=stations[number % 3])
        for number, (unit, revision) in enumerate(units)
    ]


def _post(people: list[Person], now: datetime) -> None:
    stations = list(Station.objects.all())
    Posting.objects.bulk_create(
        Posting(
            person=person,
            station=stations[number % 3],
            starts_on=(now - timedelta(days=60)).date(),
        )
        for number, person in enumerate(people)
    )


def _play_before_the_move(people: list[Person], rigs: list[Rig], now: datetime) -> None:
    """The hire's first weeks, and a few others', before the paediatric bag moved."""
    recipe, week = Recipe.objects.get(slug=WEEKLY), Recipe.objects.get(slug=FIRST_WEEK)
    hire, box, van = people[0], _unit(rigs, HIRE_UNIT), _unit(rigs, VAN_UNITS[0])
    pick_rig(hire, box, now=now - timedelta(days=40))
    take_drill(hire, box, week, Character(seed=1, knows=0.35), at=now - timedelta(days=40))
    for days, knows in ((33, 0.45), (26, 0.55), (19, 0.6), (12, 0.7), (6, 0.75)):
        take_drill(hire, box, recipe, Character(days, knows), at=now - timedelta(days=days))
    for number, person in enumerate(people[1:OTHERS], start=1):
        rig = van if number % 4 == 0 else box
        pick_rig(person, rig, now=now - timedelta(days=30 + number))
        character = Character(seed=100 + number, knows=0.45 + 0.03 * number)
        for days in (30 + number, 15 + number):
            take_drill(person, rig, recipe, character, at=now - timedelta(days=days))


def _play_after_the_move(people: list[Person], rigs: list[Rig], now: datetime) -> None:
    """Every second one, of both intakes. Many look for the paediatric bag where it was: that is
    the weak spot which an educator finds."""
    rig, bags = Rig.objects.get(unit=HIRE_UNIT), Recipe.objects.get(slug=BAGS)
    doses = Recipe.objects.get(slug=DOSES)
    for number, person in enumerate(people[1:CREW:2], start=1):
        pick_rig(person, rig, now=now - timedelta(days=2))
        at = now - timedelta(days=2, hours=number)
        character = Character(seed=200 + number, knows=0.8, old_ways=0.8)
        take_drill(person, rig, bags, character, at=at)
        if settings.READINESS_DEMO:
            character = Character(seed=300 + number, knows=0.6)
            take_drill(person, rig, doses, character, at=at + timedelta(minutes=30))
    if settings.READINESS_DEMO:
        at = now - timedelta(days=1)
        take_drill(people[UNSURE], rig, doses, Character(seed=350, knows=0.4), at=at)


def _unit(rigs: list[Rig], unit: str) -> Rig:
    return next(rig for rig in rigs if rig.unit == unit)
