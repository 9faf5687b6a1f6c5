"""Simulated people who take the product's drills, and what its newest fit thinks of each."""

from collections import Counter, defaultdict
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.random import default_rng
from numpy.typing import NDArray

from drills.engine.facts import Fact
from drills.engine.knowing.columns import Answers, numbered
from drills.engine.knowing.fitting import fit, with_pairs
from drills.engine.knowing.history import history
from drills.engine.knowing.model import PERSON, Model, Offsets
from drills.engine.knowing.nudging import pull_of
from drills.engine.knowing.times import Times, fit_times
from drills.engine.lately import Lately, mark_of
from drills.engine.memory import Observation
from drills.engine.prompts import Prompt
from drills.engine.readying import Known, known_of, mean_of
from drills.engine.scoring import RIGHT as WAS_RIGHT
from drills.engine.scoring import WRONG as WAS_WRONG
from drills.engine.simulated import Scenario, World
from drills.engine.simulated.laws import GUESS
from drills.engine.simulated.log import PROBE, RIGHT, TIMED_OUT
from tests.bench.drawn_rig import drawn_rig

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Given = dict[tuple[int, int], bool]

MUSTS = 0.4
WEEK = 7.0
_DAY_ONE = datetime(2026, 1, 1, tzinfo=UTC)


def moment(day: float) -> datetime:
    """A day of the simulator as a moment."""
    return _DAY_ONE + timedelta(days=day)


class Drilled:
    """A service, what was answered in it, and the newest fit with the steps since."""

    def __init__(self, scenario: Scenario, seed: int) -> None:
        self.people, self.world = scenario.people, World(scenario, seed=seed)
        kit = self.world.kit
        order = default_rng([seed, 77]).permutation(kit.things)
        self.musts = np.sort(order[: round(MUSTS * kit.things)])
        self.rig = drawn_rig(kit, self.musts)
        self.needed = {self.rig.facts[thing].thing for thing in self.musts.tolist()}
        self.place = numbered([fact.place for fact in self.rig.facts])
        self.model: Model | None = None
        self.times: Times | None = None
        self.seen: list[dict[Fact, list[Observation]]] = [
            defaultdict(list) for _ in range(self.people)
        ]
        self.marks: list[dict[str, tuple[float, bool]]] = [{} for _ in range(self.people)]
        self.bound: Counter[str] = Counter()
        self._thought: dict[float, list[Known]] = {}

    def refit(self) -> None:
        """Fit as the nightly refit does."""
        answers = self.answers()
        past = history(answers)
        self._thought = {}
        self.model = with_pairs(fit(answers, past), answers, past)
        self.times = fit_times(answers)

    def answers(self) -> Answers:
        """All that was answered, as the model reads it."""
        log = self.world.log()[0]
        return self._columns(
            log.time,
            log.person,
            log.item,
            right=(log.outcome == RIGHT).astype(float),
            seconds=log.seconds,
            ran_out=log.outcome == TIMED_OUT,
        )

    def thought_at(self, day: float) -> list[Known]:
        """What the newest fit thinks of everybody on every step, asked on a day on the screen."""
        if day not in self._thought:
            answers = self.answers()
            self._thought[day] = [self._of(who, day, answers) for who in range(self.people)]
        return self._thought[day]

    def _of(self, who: int, day: float, answers: Answers) -> Known:
        if self.model is None or self.times is None:
            raise ValueError("nothing was fitted yet")
        steps = np.arange(len(self.rig.facts))
        asked = self._columns(np.full(len(steps), day), np.full(len(steps), who), steps)
        own = answers.take(np.flatnonzero(answers.person == who)).then(asked)
        here = np.arange(len(own) - len(steps), len(own))
        return known_of(self.model, self.times, own, here, self.rig.facts)

    def _columns(
        self,
        time: Array,
        person: Ints,
        step: Ints,
        *,
        right: Array | None = None,
        seconds: Array | None = None,
        ran_out: NDArray[np.bool_] | None = None,
    ) -> Answers:
        """Answers to steps; without what came of them questions that nobody answered yet."""
        size, counts = len(step), right is not None
        never, none = np.full(size, np.nan), np.zeros(size)
        return Answers(
            time=time,
            person=person,
            fact=step,
            need=step,
            place=self.place[step],
            spot=self.place[step],
            slot=step,
            category=self.world.kit.category[step],
            kind=np.zeros(size, dtype=np.int64),
            modality=np.zeros(size, dtype=np.int64),
            right=none if right is None else right,
            seconds=never if seconds is None else seconds,
            ran_out=none > 0 if ran_out is None else ran_out,
            guess=np.full(size, GUESS if counts else 0.0),
            moved=never,
            came=never,
            skill=none > 0,
            counts=np.full(size, counts),
            scored=np.full(size, counts),
        )

    def lately(self, who: int, day: float) -> Lately:
        """What a person had right in the week before, and what they had at all."""
        told = self.marks[who]
        known = {mark for mark, (at, right) in told.items() if right and day - at <= WEEK}
        return Lately(known=frozenset(known), had=frozenset(told))

    def drill(self, day: float, drills: list[tuple[Prompt, ...]]) -> None:
        """Everybody takes a drill on a day; each answer moves its person by one step."""
        predicted = self.thought_at(day) if self.model else None
        things = np.array([[self.rig.things[each.subject] for each in own] for own in drills])
        probes = np.array([[PROBE if each.chosen else 0 for each in own] for own in drills])
        came: Given = {}
        everybody = np.arange(self.people)
        for given in self.world.drill(everybody, things, day, chosen=probes):
            rows = zip(
                given.asked.person.tolist(),
                given.asked.item.tolist(),
                given.asked.time.tolist(),
                (given.outcome == RIGHT).tolist(),
                strict=True,
            )
            for who, step, at, right in rows:
                came[who, step] = right
                told = Observation(WAS_RIGHT if right else WAS_WRONG, moment(at), True)
                self.seen[who][self.rig.facts[step]].append(told)
        for who, own in enumerate(drills):
            for prompt in own:
                self._took(who, prompt, day, came, predicted[who] if predicted else None)
        self._thought = {}

    def _took(
        self, who: int, prompt: Prompt, day: float, came: Given, thought: Known | None
    ) -> None:
        thing = self.rig.things[prompt.subject]
        bag = int(self.world.kit.bag[thing])
        steps = [step for step in (bag, thing) if (who, step) in came]
        self.marks[who][mark_of(prompt)] = day, all(came[who, step] for step in steps)
        if thought is None or self.model is None:
            return
        facts = [self.rig.facts[step] for step in steps]
        pull, weight = pull_of(
            (mean_of(thought.only([fact]))[0], float(came[who, step]))
            for fact, step in zip(facts, steps, strict=True)
        )
        self._move(who, pull, weight)

    def _move(self, who: int, pull: float, weight: float) -> None:
        """Move one person's offset by one step, as each answer does between two refits."""
        if self.model is None:
            return
        own = self.model.offsets[PERSON]
        levels = np.arange(self.people)
        means, spreads = own.of(levels), own.spread_of(levels)
        spreads[who] /= 1.0 + spreads[who] * weight
        means[who] += spreads[who] * pull
        moved = Offsets(own.variance, means, spreads)
        self.model = replace(self.model, offsets={**self.model.offsets, PERSON: moved})

    def missed_at(self, end: float) -> tuple[float, float, float]:
        """Everybody is asked for every must-have once: the share that is not found; and in truth
        the share of them, and of all the rest. Nothing learns from it, and nothing was chosen by
        it."""
        self.world.go_to(end)
        found = self.world.found_at(end)
        truth, rest = (
            1 - found[:, self.musts].mean(),
            1 - np.delete(found, self.musts, axis=1).mean(),
        )
        things = np.tile(self.musts, (self.people, 1))
        given = self.world.drill(np.arange(self.people), things, end, chosen=PROBE)
        brought = sum(
            int((each.outcome[each.asked.item < self.world.kit.things] == RIGHT).sum())
            for each in given
        )
        return 1 - brought / things.size, float(truth), float(rest)
