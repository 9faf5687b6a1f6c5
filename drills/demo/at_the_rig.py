"""What the officers of the demonstration saw at the rigs, signed and noted: all of it invented."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.utils import timezone

from drills.engine.observing import BROUGHT
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.actions import (
    Watched,
    close_sheet,
    lines_of,
    open_sheet,
    sign_off,
    start_watch,
    stop_watch,
    withdraw_sign_off,
)
from drills.runs.actions.phases import (
    Item,
    add_phase,
    change_phase,
    place_in_phase,
    say_shown,
    write_note,
)
from drills.runs.models import DailyNote, Phase, Sheet, SignOff
from drills.scenarios.models import CallType

CALL = "major-haemorrhage"
# Everybody of these is paired with the first officer. How many days ago each was seen: the last
# one's lapsed, the two before lapse soon, and of the one before those a drill is due.
SEEN_DAYS_AGO = ((8, 30), (16, 60), (12, 100), (28, 172), (20, 175), (24, 188))
WITHDRAWN = 16
PHASES = (
    (
        "Looking on",
        "Ride third. Watch two whole shifts, and walk every rig you may be sent on.",
        (
            Item(None, "Walks round the rig and names each door"),
            Item(None, "Checks the radio, and says who, where and what in one go"),
            Item(None, "Says the way to each of the three posts and the nearest hospital"),
        ),
    ),
    (
        "With a hand in it",
        "Ride as the second of the crew, your officer beside you.",
        (
            Item(None, "Brings what bleeding takes", "circulation and bleeding"),
            Item(None, "Brings what breathing takes", "breathing and oxygen"),
            Item(None, "Puts everything back where it belongs, and says so"),
        ),
    ),
    (
        "Running it, watched",
        "Run the call; your officer speaks only when it is needed.",
        (
            Item(None, "Brings an airway kit on any rig", "airway"),
            Item(None, "Moves a patient down a stair", "moving patients"),
            Item(None, "Hands a patient over without leaving anything out"),
        ),
    ),
)
NOTES = (
    (
        38,
        "Asked before opening anything, and wrote down what the officer said about the rear doors.",
        "Stood between the cot and the wall while it was being moved.",
        "Walk the street side alone and say each door aloud.",
    ),
    (
        24,
        "Named every door of the street side without looking at the plan.",
        "Radio: said what before who, twice.",
        "Three radio checks before the next shift.",
    ),
    (
        11,
        "Closed and latched every door behind what was taken.",
        "Went for the paediatric bag where it used to hang.",
        "What moved, on screen, then once at the rig.",
    ),
    (5, "Brought a whole kit without a wrong door.", "", "A second kit, in the dark."),
)


def see_at_the_rig(people: Sequence[Person], officer: Person, rig: Rig, *, now: datetime) -> None:
    """Kits that were brought at the rig over half a year, signed as they should be."""
    for number, days in SEEN_DAYS_AGO:
        at = _on_shift(now - timedelta(days=days), number)
        sheet = _sheet(people[number], officer, rig, seed=400 + number, at=at)
        signed = sign_off(sheet, by=officer, now=at + timedelta(minutes=20))
        if number == WITHDRAWN:
            because = "The first-in bag of this rig had been left half empty; nobody could tell."
            withdraw_sign_off(signed, because=because, by=officer, now=at + timedelta(days=1))


def train(hire: Person, officer: Person, educator: Person, *, now: datetime) -> None:
    """The phases of this service; the hire went on to the second, with a note here and there."""
    first, second, _ = [_phase(*each, by=educator, now=now) for each in PHASES]
    for phase, days in ((first, 40), (second, 14)):
        at = now - timedelta(days=days)
        place_in_phase(hire, phase, by=officer, today=timezone.localdate(at), now=at)
        if phase == first:
            for item in phase.items.all():
                on = timezone.localdate(at) + timedelta(days=20)
                say_shown(item, hire, is_shown=True, by=officer, today=on, now=at)
    for days, well, work, step in NOTES:
        _note(hire, officer, now - timedelta(days=days), well, work, step)


def see_the_hire(hire: Person, officer: Person, rig: Rig, *, now: datetime) -> SignOff:
    """Seen twice since: a must-have was missing, and then all was there and one category signed."""
    first = _on_shift(now - timedelta(days=20), 4)
    _sheet(hire, officer, rig, seed=401, at=first, misses=1)
    at = _on_shift(now - timedelta(days=5), 7)
    sheet = _sheet(hire, officer, rig, seed=402, at=at)
    bleeding = "circulation and bleeding"
    return sign_off(sheet, by=officer, now=at + timedelta(minutes=15), ticked=[bleeding])


def _on_shift(dawn: datetime, number: int) -> datetime:
    """A moment of the day, another for each person: nobody is seen at the rig at one hour alone."""
    return dawn + timedelta(minutes=100 + 37 * (number % 12))


def _phase(name: str, about: str, items: Sequence[Item], *, by: Person, now: datetime) -> Phase:
    phase = add_phase(name, by=by, now=now)
    return change_phase(phase, name=name, about=about, items=items, by=by, now=now)


def _note(hire: Person, officer: Person, at: datetime, well: str, work: str, step: str) -> None:
    day = timezone.localdate(at)
    note = write_note(
        hire,
        day=day,
        went_well=well,
        work_on=work,
        next_step=step,
        by=officer,
        today=day,
        now=at,
    )
    DailyNote.objects.filter(pk=note.pk).update(is_simulated=True)


def _sheet(
    person: Person, officer: Person, rig: Rig, *, seed: int, at: datetime, misses: int = 0
) -> Sheet:
    """One kit for bleeding, brought but for some must-haves, each thing after another."""
    sheet = open_sheet(
        person,
        officer=officer,
        rig=rig,
        call_type=CallType.objects.get(slug=CALL),
        in_service=True,
        told="Dispatch",
        now=at,
        seed=seed,
        is_simulated=True,
    )
    lines = lines_of(sheet)
    brought = [number for number, line in enumerate(lines) if line.is_must][misses:]
    times = {number: 14.0 + 9.5 * place for place, number in enumerate(brought)}
    seconds = max(times.values()) + 6.0
    start_watch(sheet, now=at + timedelta(seconds=40))
    watched = Watched(seen=dict.fromkeys(brought, BROUGHT), at=times, claim=seconds)
    stop_watch(sheet, watched, now=at + timedelta(seconds=40 + seconds))
    return close_sheet(sheet, back=range(len(lines)), now=at + timedelta(minutes=6))
