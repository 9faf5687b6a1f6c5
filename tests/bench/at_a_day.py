"""What the product's model thinks of everybody in a simulated service at the start of a day."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drills.engine.facts import BAG, ITEM, Fact
from drills.engine.knowing.fitting import fit, with_pairs
from drills.engine.knowing.history import history
from drills.engine.knowing.times import fit_times
from drills.engine.readying import Known, Must, known_of
from drills.engine.simulated import Log, Scenario, Simulated, simulate_crews
from tests.bench.readiness import answers_of, places_of, questions_after

Ints = NDArray[np.int_]


@dataclass(frozen=True, slots=True)
class AtADay:
    """A service that was lived through, its people who had drilled by that day, and what is thought
    of each on every step; the truth is in the first look of `found`."""

    found: Simulated
    people: Ints
    thought: tuple[Known, ...]

    def must(self, thing: int) -> Must:
        """A thing with the steps to it."""
        return Must(str(thing), (tuple(fact_of(self.found.log, at) for at in self.steps(thing)),))

    def steps(self, thing: int) -> tuple[int, ...]:
        """The bag of a thing, where it lies in one, and the thing."""
        bag = int(self.found.bag[thing])
        return (thing,) if bag < 0 else (bag, thing)


def fact_of(log: Log, step: int) -> Fact:
    """A step as a fact; bags are numbered after all else."""
    return Fact(BAG if step >= log.things else ITEM, str(step), "")


def at_a_day(scenario: Scenario, *, seed: int, day: int) -> AtADay:
    """Live through a scenario, and fit and think as the product does at the start of a day."""
    found = simulate_crews(scenario, seed=seed, look_at=(day,))
    log = found.log.rows(found.log.time < day)
    people = np.intersect1d(found.looks[0].are_there, log.person)
    return AtADay(found, people, tuple(_thought(log, people, float(day))))


def _thought(log: Log, people: Ints, day: float) -> Iterator[Known]:
    answers = answers_of(log)
    past = history(answers)
    model = with_pairs(fit(answers, past), answers, past)
    times, items = fit_times(answers), np.unique(log.item)
    facts = [fact_of(log, item) for item in items.tolist()]
    asked = questions_after(log, people, items, places_of(log, items, -1), day)
    both = answers_of(asked, counts=np.arange(len(asked)) < len(log))
    for who in people:
        rows = np.flatnonzero(both.person == who)
        here = np.flatnonzero(rows >= len(log))
        yield known_of(model, times, both.take(rows), here, facts)
