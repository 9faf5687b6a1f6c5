"""A simulated service that is lived through step by step: who knows what, and how they answer.

Whoever chooses what is asked calls `go_to` and `ask`; what is true is behind `truth_at`, for
measuring alone. The same seed gives the same people, things and shifts whatever is asked.
"""

from collections.abc import Sequence
from math import floor
from typing import Any

import numpy as np
from numpy.random import default_rng
from numpy.typing import NDArray

from drills.engine.simulated.aboard import Aboard, Revised
from drills.engine.simulated.answers import SCREEN, Answers, Questions, answered
from drills.engine.simulated.cast import (
    Crew,
    draw_crew,
    draw_effects,
    draw_kit,
    draw_memory,
    effects_under,
    layouts_ridden,
)
from drills.engine.simulated.curve import MISSED, USUAL
from drills.engine.simulated.laws import GUESS
from drills.engine.simulated.log import ASSIGNED, RIGHT, Log
from drills.engine.simulated.scenario import DAYS_BEFORE, Move, Scenario

Array = NDArray[np.float64]
Ints = NDArray[np.int_]

# The share of things that somebody is shown on the first day.
SHOWN_AT_FIRST = 0.9
DAYS_OF_A_YEAR = 365.0
# From one question of a drill to the next, in days.
BETWEEN = 20.0 / 86_400.0


class World:
    """A service from a seed, standing at the day `time`.

    `moved` has each revision's day and the things that it moved, bags among them.
    """

    def __init__(
        self,
        scenario: Scenario,
        *,
        seed: int,
        crew: Crew | None = None,
        aboard: Aboard | None = None,
    ) -> None:
        """Draw everybody and everything that is not given, and live through the days before the
        first. A crew that is given is as many as the scenario has people."""
        self.scenario, self.time = scenario, -float(DAYS_BEFORE)
        cast, kit, self._shifts, self._answers, self._moves = (
            default_rng([seed, stream]) for stream in range(5)
        )
        self.crew = crew or draw_crew(scenario, cast)
        self.kit = aboard.kit if aboard else draw_kit(scenario, kit)
        self._revisions = aboard.revisions if aboard else ()
        self._effects = draw_effects(scenario, self.kit, cast)
        self._memory = draw_memory(scenario, self.kit, self._effects, cast)
        self.moved: list[tuple[int, Ints]] = []
        self._kept: list[Answers] = []
        self._show_kit(np.flatnonzero(self.crew.hired <= self.time))
        self.go_to(0.0)

    def go_to(self, time: float) -> None:
        """Let time pass: shifts, new hires, revisions of the layout. Never backwards."""
        for day in range(floor(self.time) + 1, floor(time) + 1):
            self._work_a_shift(day)
            self._show_kit(np.flatnonzero(self.crew.hired == day))
            for move in self.scenario.moves:
                if move.day == day:
                    self._move(move)
            for revised in self._revisions:
                if revised.day == day:
                    self._revise(revised)
        self.time = max(self.time, time)

    def are_there(self) -> Ints:
        """Who has been hired by now."""
        return np.flatnonzero(self.crew.hired <= self.time)

    def ask(
        self,
        people: Ints,
        things: Ints,
        time: Array | float,
        *,
        layout: Ints | int = 0,
        chosen: Ints | int = ASSIGNED,
        modality: Ints | int = SCREEN,
        is_kept: bool = True,
        is_inside: bool = False,
    ) -> list[Answers]:
        """Ask each of some people, none twice, for a thing each, at times not before their last.

        Who finds the bag of a thing that is in one is then asked for it inside: what comes back is
        the answers on the bags, and those on the things. With `is_inside` the bag lies open before
        them. They are kept for the log unless somebody else keeps them.
        """
        columns = (time, people, things, layout, modality, chosen)
        asked = Questions(*(np.array(each) for each in np.broadcast_arrays(*columns)))
        bags = np.where(is_inside, -1, self.kit.bag[asked.item])
        in_bags = np.flatnonzero(bags >= 0)
        outer = self._answer(asked.of(bags).rows(in_bags))
        reached = np.ones(len(bags), dtype=bool)
        reached[in_bags] = outer.outcome == RIGHT
        given = [outer, self._answer(asked.rows(reached))]
        self._kept += given if is_kept else []
        return given

    def drill(
        self,
        people: Ints,
        things: Ints,
        time: Array | float,
        *,
        layout: Ints | int = 0,
        chosen: Ints | int = ASSIGNED,
        modality: Ints | int = SCREEN,
    ) -> list[Answers]:
        """Ask each of some people, none twice, for several things one after another.

        `things` and `chosen` are people by questions.
        """
        how, begun = np.broadcast_to(chosen, things.shape), np.asarray(time, dtype=float)
        given: list[Answers] = []
        for at, asked in enumerate(things.T):
            when = begun + at * BETWEEN
            given += self.ask(
                people, asked, when, layout=layout, chosen=how[:, at], modality=modality
            )
        return given

    def truth_at(self, time: float, *, layout: int = 0) -> Array:
        """The true chance that each person (rows) knows each step (columns: things, then bags), at
        a time not before the last answer. Of a thing in a bag it is the step inside alone."""
        people, things = np.ix_(np.arange(len(self.crew)), np.arange(len(self.kit)))
        return self._knows(people, things, np.array(float(time)), np.array(layout))

    def found_at(self, time: float, *, layout: int = 0) -> Array:
        """The true chance of each person (rows) to find each thing (columns, without bags)."""
        known, bag = self.truth_at(time, layout=layout), self.kit.bag[: self.kit.things]
        inside = known[:, : self.kit.things]
        return np.where(bag >= 0, inside * known[:, bag], inside)

    def log(self) -> tuple[Log, Array]:
        """All answers so far in order of time, and beside them the true chance of each.

        `ValueError` where nothing was asked yet.
        """
        asked = [each.asked for each in self._kept]
        order = np.argsort(_column(asked, "time"), kind="stable")
        person, item = _column(asked, "person")[order], _column(asked, "item")[order]
        kept = Log(
            time=_column(asked, "time")[order],
            person=self.crew.account[person],
            item=item,
            layout=_column(asked, "layout")[order],
            place=_column(self._kept, "place")[order],
            category=self.kit.category[item],
            modality=_column(asked, "modality")[order],
            outcome=_column(self._kept, "outcome")[order],
            seconds=_column(self._kept, "seconds")[order],
            chosen=_column(asked, "chosen")[order],
            things=self.kit.things,
        )
        return kept, _column(self._kept, "chance")[order]

    def _answer(self, asked: Questions) -> Answers:
        lazy = self.crew.is_lazy[asked.person]
        knows = self._knows(asked.person, asked.item, asked.time, asked.layout)
        chance = np.where(lazy, GUESS, knows)
        given = answered(asked, chance, self.crew, self.kit, self.scenario.cut_off, self._answers)
        # Who does not look at the question does not look at where it is either.
        learns = asked.rows(~lazy)
        grades = np.where(given.outcome == RIGHT, USUAL, MISSED)[~lazy]
        slots = self.kit.slot[learns.layout, learns.item]
        self._memory.review(learns.person, slots, learns.time, grades)
        return given

    def _knows(self, people: Ints, things: Ints, time: Array, layout: Ints) -> Array:
        kit = self.kit
        where = layout, things
        return self._memory.chance(
            people, kit.slot[where], kit.rival[where], kit.weight[where], time
        )

    def _show_kit(self, people: Ints) -> None:
        """Somebody is shown most of the kit on the first day."""
        if not len(people):
            return
        shown = self._shifts.random((len(people), len(self.kit))) < SHOWN_AT_FIRST
        at, things = np.nonzero(shown)
        whose = people[at]
        self._meet(whose, things, self.crew.home[whose], self.crew.hired[whose])

    def _work_a_shift(self, day: int) -> None:
        """What people came across on the day before; a thing in a bag shows where the bag is."""
        there = np.flatnonzero(self.crew.hired < day - 1)
        a_day = self.scenario.uses / DAYS_OF_A_YEAR * len(self.kit)
        often = self._shifts.poisson(a_day * self.crew.busy[there])
        people = np.repeat(there, often)
        things = self._shifts.choice(len(self.kit), len(people), p=self.kit.common)
        layout = layouts_ridden(self.crew, self.scenario, people, self._shifts)
        time = day - self._shifts.random(len(people))
        self._meet(people, things, layout, time)
        held = self.kit.bag[things] >= 0
        self._meet(people[held], self.kit.bag[things[held]], layout[held], time[held])

    def _meet(self, people: Ints, things: Ints, layout: Ints, time: Array) -> None:
        """People see where things are that their layout has; what one sees twice in a day counts
        once."""
        there = self.kit.there[layout, things]
        people, things, layout, time = people[there], things[there], layout[there], time[there]
        slots = self.kit.slot[layout, things]
        _, once = np.unique(people * self.kit.slots + slots, return_index=True)
        grades = np.full(len(once), USUAL)
        self._memory.review(people[once], slots[once], time[once], grades)

    def _move(self, move: Move) -> None:
        """A revision of the layout comes into force; some are shown what it moved."""
        bags = self._moves.permutation(np.arange(self.kit.things, len(self.kit)))[: move.bags]
        loose = np.flatnonzero(self.kit.bag[: self.kit.things] < 0)
        things = np.concatenate([bags, self._moves.permutation(loose)[: move.loose]])
        self._put_elsewhere(things, range(len(self.kit.slot)), move.day, move.told)

    def _revise(self, revised: Revised) -> None:
        """A given revision comes into force on its layout."""
        kit, layout = self.kit, revised.layout
        kit.bag[:] = np.where(revised.there, revised.bag, kit.bag)
        kit.there[layout] = revised.there
        self._put_elsewhere(revised.things, [layout], revised.day, revised.told)

    def _put_elsewhere(self, things: Ints, layouts: Sequence[int], day: int, told: float) -> None:
        """Some things lie elsewhere from a day on; a share of those who ride there are shown."""
        for _ in layouts:
            drawn = self._effects.of(things, self.kit.category[things], self._moves)
            self._memory.grow(effects_under(self.scenario.law, drawn))
        self.kit.move(things, layouts)
        self.moved.append((day, things))
        shown = np.flatnonzero(self._moves.random(len(self.crew)) < told)
        are_there = (self.crew.hired[shown] <= day) & np.isin(self.crew.home[shown], layouts)
        people = np.repeat(shown[are_there], len(things))
        seen = np.tile(things, len(people) // max(len(things), 1))
        self._meet(people, seen, self.crew.home[people], np.full(len(people), float(day)))


def _column(parts: Sequence[Answers] | Sequence[Questions], name: str) -> NDArray[Any]:
    """One column of several parts, one after another."""
    return np.concatenate([getattr(each, name) for each in parts])
