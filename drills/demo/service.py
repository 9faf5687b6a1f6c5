"""Saltbrush Basin Ambulance District: an invented service, for demonstration only."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from drills.competency.actions import record_history
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
from drills.demo.history import DAYS, Lived, Member, latest_dawn
from drills.demo.protocols import submit_formulary
from drills.demo.simulation import Character, take_drill
from drills.demo.upkeep import report_and_answer
from drills.engine.workbook import read_workbook
from drills.people.models import Person, Role
from drills.rigs.actions import import_layout, pick_rig, publish_revision
from drills.rigs.models import Posting, Revision, Rig, Station
from drills.runs.actions.observing import KIT
from drills.runs.models import Run
from drills.scenarios.models import Recipe

NAME = "Saltbrush Basin Ambulance District"
STATIONS = ("Kettle Station", "Low Bench", "Dry Ledger")
BOX_UNITS = ("201", "202", "203", "204", "205", "206", "207", "208", "209")
VAN_UNITS = ("301", "302", "303", "304", "305")
LEVELS = ("emt", "advanced-emt", "paramedic")
CREW = 36
EDUCATOR, KEEPER = 4, 5  # behind the crew
OFFICERS = 4
HIRE_UNIT = "204"
# Who picked no rig yet.
NO_RIG = (2, 7, 16)

FIRST_PUBLISHED, DRAWN_UP = timedelta(days=240), timedelta(days=12)
BAG_MOVED = timedelta(days=4)
# Drills of the new hire so many days ago; all are played.
HIRES_WEEK, HIRES_DRILLS = 40, (33, 26, 19, 12, 6)


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
# How often the new hire works out right what is no matter of places.
HIRE_KNOWS = 0.5
RECIPES = (WEEKLY, FIRST_WEEK, BAGS, DOSES, KIT)


class NotOursError(ValueError):
    """The database holds people who are not of the demonstration."""


class NoReferenceError(LookupError):
    """The database lacks what every service starts with."""


@transaction.atomic
def make_service(*, now: datetime) -> bool:
    """Make the service as of the latest dawn, unless it is there; whether it was made.

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
    now = latest_dawn(now)
    reseed()
    people = _make_people(now)
    box = _import("mesa-box", now - FIRST_PUBLISHED)
    _import("first-response-truck", now - FIRST_PUBLISHED)
    van = _import("arroyo-van", now - FIRST_PUBLISHED)
    rigs = _make_rigs(box, van)
    _post(people, now)
    _pick_rigs(people, rigs, now)
    coming = _import("mesa-box-rev2", now - DRAWN_UP, publish=False)
    moved_on = DAYS - BAG_MOVED.days
    lived = Lived(_members(people, rigs), (((0, box), (moved_on, coming)), ((0, van),)), now=now)
    record_history(lived.live(_drills_of_the_hire(people[0], rigs, lived, now)))
    hire, officer, educator = people[0], people[CREW], people[CREW + EDUCATOR]
    see_at_the_rig(people, officer, _unit(rigs, HIRE_UNIT), now=now)
    train(hire, officer, educator, now=now)
    see_the_hire(hire, officer, _unit(rigs, HIRE_UNIT), now=now)
    publish_revision(coming, by=None, now=now - BAG_MOVED)
    _play_after_the_move(people, lived, now)
    give_drills(officer, lived, now=now)
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
        starts_at = now - timedelta(days=min(_days_there(number), 60))
        PairingFactory.create(fto=ftos[number % 4], crew=person, starts_at=starts_at)
    return people


def _import(folder: str, at: datetime, *, publish: bool = True) -> Revision:
    parsed = read_workbook(Path(settings.BASE_DIR) / "fixtures" / "layouts" / folder)
    if parsed.layout is None:
        raise ValueError("; ".join(str(problem) for problem in parsed.problems))
    return import_layout(parsed.layout, by=None, now=at, publish=publish)


def _make_rigs(box: Revision, van: Revision) -> list[Rig]:
    stations = [
        StationFactory.create(name=name, slug=name.lower().replace(" ", "-")) for name in STATIONS
    ]
    units = [(unit, box) for unit in BOX_UNITS] + [(unit, van) for unit in VAN_UNITS]
    return [
        RigFactory.create(unit=unit, revision=revision, station=stations[number % 3])
        for number, (unit, revision) in enumerate(units)
    ]


def _days_there(number: int) -> int:
    """Since how many days each of the crew and their officers is there: the autumn intake for some
    weeks or months, the new hire last; the spring intake for more than half a year; officers for
    years."""
    if number == 0:
        return HIRES_WEEK
    if number < CREW // 2:
        return 45 + 5 * number
    return 250 + 30 * (number - CREW // 2) if number < CREW else 2_000 + 100 * (number - CREW)


def _post(people: list[Person], now: datetime) -> None:
    stations = list(Station.objects.all())
    Posting.objects.bulk_create(
        Posting(
            person=person,
            station=stations[number % 3],
            starts_on=timezone.localdate(now - timedelta(days=_days_there(number))),
        )
        for number, person in enumerate(people)
    )


def _own_rigs(number: int, rigs: list[Rig]) -> tuple[Rig, Rig]:
    """The rig somebody mostly rides, one in six a van, and the one of the other layout."""
    box = HIRE_UNIT if number == 0 else BOX_UNITS[number % len(BOX_UNITS)]
    two = _unit(rigs, box), _unit(rigs, VAN_UNITS[number % len(VAN_UNITS)])
    return two[::-1] if number % 6 == 4 else two


def _pick_rigs(people: list[Person], rigs: list[Rig], now: datetime) -> None:
    for number, person in enumerate(people[: CREW + OFFICERS]):
        if number not in NO_RIG:
            at = now - timedelta(days=min(30 + number, _days_there(number)))
            pick_rig(person, _own_rigs(number, rigs)[0], now=at)


def _members(people: list[Person], rigs: list[Rig]) -> list[Member]:
    """The crew and their officers as they are simulated."""
    return [
        Member(person, _days_there(number), _own_rigs(number, rigs), apart=number == 0)
        for number, person in enumerate(people[: CREW + OFFICERS])
    ]


def _drills_of_the_hire(
    hire: Person, rigs: list[Rig], lived: Lived, now: datetime
) -> dict[int, list[Callable[[], Run]]]:
    """Their first weeks, before the paediatric bag moved, by the day each is taken on."""
    rig, ten = _unit(rigs, HIRE_UNIT), Recipe.objects.get(slug=WEEKLY)
    drills = {HIRES_WEEK: Recipe.objects.get(slug=FIRST_WEEK), **dict.fromkeys(HIRES_DRILLS, ten)}

    def taken(days: int, recipe: Recipe) -> Callable[[], Run]:
        character = Character(days, HIRE_KNOWS, lived)
        at = now - timedelta(days=days)
        return partial(take_drill, hire, rig, recipe, character, at=at)

    return {DAYS - days: [taken(days, recipe)] for days, recipe in drills.items()}


def _play_after_the_move(people: list[Person], lived: Lived, now: datetime) -> None:
    """One in three, of both intakes, on their box. Many look for the paediatric bag where it was:
    that is the weak spot which an educator finds."""
    bags, doses = Recipe.objects.get(slug=BAGS), Recipe.objects.get(slug=DOSES)
    rigs = list(Rig.objects.select_related("revision"))
    for number in (each for each in range(1, CREW, 2) if each % 3):
        person, rig = people[number], _own_rigs(number, rigs)[0]
        pick_rig(person, rig, now=now - timedelta(days=2))
        at = now - timedelta(days=2, minutes=30 * number)
        take_drill(person, rig, bags, Character(200 + number, 0.8, lived), at=at)
        if settings.READINESS_DEMO:
            character = Character(seed=300 + number, knows=0.6)
            take_drill(person, rig, doses, character, at=at + timedelta(minutes=30))
    if settings.READINESS_DEMO:
        at, unsure = now - timedelta(days=1), Character(seed=350, knows=0.4)
        take_drill(people[UNSURE], _unit(rigs, HIRE_UNIT), doses, unsure, at=at)


def _unit(rigs: list[Rig], unit: str) -> Rig:
    return next(rig for rig in rigs if rig.unit == unit)
