"""Drills that arrive: the first-in kit, safety, the report, what a first or second crew does."""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from random import Random

from drills.engine.arriving.crews import FIRST, SECOND, Crew
from drills.engine.arriving.handed import handed_over, kit_needs
from drills.engine.arriving.kit import (
    BASELINE,
    PACKS,
    Carried,
    carried_of,
    first_in,
    loose_in,
    open_lines,
)
from drills.engine.arriving.known import Known, known_of
from drills.engine.arriving.reporting import report, told_of
from drills.engine.arriving.scene import duties, safety
from drills.engine.arriving.sight import scene_of
from drills.engine.arriving.tables import WORN
from drills.engine.calls import NEEDLESS, Asked, Call, CallType, CallWorld
from drills.engine.choosing import Choosing
from drills.engine.generation import FOCUS
from drills.engine.layout import Layout
from drills.engine.points import transports
from drills.engine.prompts import Prompt
from drills.engine.recipes import ARRIVE
from drills.engine.wanted import Wanted

Wants = Callable[[Iterable[Asked]], tuple[Wanted, ...]]
_KIT_TEXT = "Bags come whole. What is worn is asked apart, and the rest of the kit later."
_OWN_NAME = "What goes to your patients with you?"
_OWN_TEXT = f"You have reported, and these are handed to you. {_KIT_TEXT}"
_SAFETY_TEXT = "Before anybody is touched."
_DUTY_TEXT = "There are more patients than hands."


@dataclass(frozen=True)
class Arrival:
    """What arriving at calls is made from on one layout: `held` is what is reported missing."""

    layout: Layout
    ties: Mapping[str, str]
    held: Collection[tuple[str, str]]
    types: tuple[CallType, ...]
    world: CallWorld
    threshold: int
    difficulty: int

    def asked(self, call: Call, crew: Crew, wants: Wants, random: Random) -> Iterator[Prompt]:
        """The questions of arriving at a call, in the order of the work."""
        call_type = next(each for each in self.types if each.slug == call.call_type)
        known = known_of(call_type, self.world, call)
        takes = transports(self.layout)
        scene = scene_of(call_type, call, transports=takes, threshold=self.threshold)
        level, is_second = self.difficulty, crew.role == SECOND
        if not is_second:
            yield from self._first_in(call, known, wants, random)
        if made := safety(scene, known, self._worn, level, random):
            yield _prompt(call, made, "What do you put on, and look out for?", _SAFETY_TEXT)
        if not is_second:
            made = replace(report(call_type, scene, level, random), told=told_of(call, scene))
            yield _prompt(call, made, "You give the first report.", _counted(scene.patients))
        if made := duties(crew, level, random):
            which = "first" if crew.role == FIRST else "second"
            yield _prompt(call, made, f"You are the {which} crew of several.", _DUTY_TEXT)
        if is_second:
            yield from self._for_own(call, crew, wants, random)

    def _first_in(self, call: Call, known: Known, wants: Wants, random: Random) -> Iterator[Prompt]:
        if kit := self._kit(known, wants, random):
            yield _prompt(call, kit, "What goes to the door with you?", _KIT_TEXT)

    def _for_own(self, call: Call, crew: Crew, wants: Wants, random: Random) -> Iterator[Prompt]:
        if kit := self._kit(handed_over(call, crew.own), wants, random):
            yield _prompt(call, _told_of(kit, call, crew), _OWN_NAME, _OWN_TEXT)

    def _kit(self, known: Known, wants: Wants, random: Random) -> Choosing | None:
        """What is carried to whoever it is known of."""
        wanted, level = wants(kit_needs(known)), self.difficulty
        loose = loose_in(self.layout, self.held)
        return first_in(self._carried, wanted, self._baseline(), loose, level, random)

    @cached_property
    def _carried(self) -> tuple[Carried, ...]:
        """What of the rig is carried as one, heavy things only where some call wants them."""
        ever = {
            need
            for call_type in self.types
            for row in call_type.needs
            if row.grade != NEEDLESS
            for need in (row.need, *row.instead)
        }
        things = {thing for thing, need in self.ties.items() if need in ever}
        packs = {thing for thing, need in self.ties.items() if need in PACKS}
        return carried_of(self.layout, self.held, things, packs)

    def _baseline(self) -> set[str]:
        return {thing for thing, need in self.ties.items() if need in BASELINE}

    @cached_property
    def _worn(self) -> dict[str, str]:
        """What of the worn things is aboard, by need, as the rig names it."""
        names: dict[str, str] = {}
        for line in open_lines(self.layout, self.held):
            need = self.ties.get(line.key, "")
            if need in WORN:
                names.setdefault(need, line.item)
        return {need: names[need] for need in WORN if need in names}


def _told_of(kit: Choosing, call: Call, crew: Crew) -> Choosing:
    """A kit with the patients that it is for: the crew's own."""
    own = [each for each in call.patients if each.number in crew.own]
    return replace(kit, told=tuple((each.number, each.who, each.findings) for each in own))


def _counted(patients: int) -> str:
    return "You see one patient." if patients == 1 else f"You see {patients} patients."


def _prompt(call: Call, asked: Choosing, name: str, text: str) -> Prompt:
    return Prompt(
        kind=ARRIVE,
        subject=asked.task,
        name=name,
        text=text,
        chosen=FOCUS,
        call=call,
        choosing=asked,
    )
