"""Six months of the demonstration, lived through by the engine's simulator on its own layouts.

Who is asked what on which day is the simulator's plan; what they remember is its memory law. Of
most of it the answers alone are kept, as evidence; where a run is played (`simulation.py`), its
answers come from the same memories. Nothing of it was measured on a person.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from itertools import groupby

import numpy as np
from django.utils import timezone
from numpy.random import default_rng

from drills.competency.actions import (
    HANDS_ON,
    SCREEN,
    Answered,
    Circumstances,
    history_source,
)
from drills.engine.facts import Fact
from drills.engine.recipes import LOCATE
from drills.engine.scoring import POCKET, RIGHT, WRONG, Finding
from drills.engine.simulated import Log, Scenario, World, aboard, live_through
from drills.engine.simulated.answers import WALK
from drills.engine.simulated.cast import Crew, draw_crew
from drills.engine.simulated.log import CHOSEN, MODALITIES, TIMED_OUT
from drills.engine.simulated.log import RIGHT as FOUND
from drills.engine.timing import AT_RIG, CUT_OFF, OVER_BASELINE, VERIFIED, judge_time
from drills.people.models import Person
from drills.rigs.models import Revision, Rig
from drills.rigs.reading import layout_of
from drills.scenarios.coverage import must_haves_on

DAYS = 180
# The simulated service is told as it was so long after a midnight, whatever hour it is made at.
DAWN = timedelta(hours=5)
# Ours, as all that follows: which service is drawn, and what a short drill at the start of a shift
# comes to, one of three days on shift. A tap takes two seconds, and twice the limit cuts off.
SEED = 20_261_125
TAP = 2.0
LIMIT = TAP + OVER_BASELINE
SCENARIO = Scenario(
    days=DAYS, days_between=2.0, asked=10, hired=0.0, uses=5.0, hands_on=0.08, cut_off=2 * LIMIT
)
# So few are shown the new places when the bag moves.
TOLD = 0.15
# A must-have of a call is asked for so many times as often as another thing.
MUSTS_WEIGH = 4.0


@dataclass(frozen=True, slots=True)
class Member:
    """One person who is simulated: since how many days they are there, and the rigs they ride by
    layout, their own first. Who keeps `apart` drills in played runs alone."""

    person: Person
    days_there: int
    rigs: tuple[Rig, ...]
    apart: bool = False


@dataclass(frozen=True, slots=True)
class Recalled:
    """How somebody looks for a thing: whether they find its bag and it, in how many seconds, or not
    before the cut-off; and whether they go by where it was before the latest revision."""

    is_right: bool
    seconds: float
    bag_found: bool = True
    ran_out: bool = False
    by_old_ways: bool = False


class Lived:
    """The simulated service up to a moment. `layouts` are the revisions of each with their first
    days; the first layout is the one whose latest revision people may not know yet."""

    def __init__(
        self,
        members: Sequence[Member],
        layouts: Sequence[Sequence[tuple[int, Revision]]],
        *,
        now: datetime,
    ) -> None:
        self.members, self._layouts = members, layouts
        self._start = _midnight(now) - timedelta(days=DAYS)
        self._at = {each.person.pk: number for number, each in enumerate(members)}
        self._on = {revisions[0][1].layout_id: at for at, revisions in enumerate(layouts)}
        rigs = [[(since, layout_of(each)) for since, each in of] for of in layouts]
        self._aboard = aboard(
            rigs, default_rng([SEED, len(members)]), wanted=_wanted(layouts), told=TOLD
        )
        scenario = replace(
            SCENARIO,
            people=len(members),
            items=self._aboard.kit.things,
            layouts=len(layouts),
            days=max(of[-1][0] for of in layouts),
        )
        self._world = World(scenario, seed=SEED, crew=self._crew(scenario), aboard=self._aboard)
        self._knew = np.zeros((len(members), len(self._aboard.kit)))

    def _crew(self, scenario: Scenario) -> Crew:
        """The people as drawn, but for since when they are there and what they ride."""
        hired = [float(DAYS - each.days_there) for each in self.members]
        home = [self._on[each.rigs[0].layout_id] for each in self.members]
        drawn = draw_crew(scenario, default_rng(SEED))
        return replace(drawn, hired=np.array(hired), home=np.array(home))

    def live(self, agenda: Mapping[int, Sequence[Callable[[], object]]]) -> list[Answered]:
        """Live up to the day of the latest revision, with what is to happen on some days besides;
        give back what was answered in drills of the plan."""
        apart = [number for number, each in enumerate(self.members) if each.apart]
        for day in live_through(self._world, seed=SEED, apart=apart):
            for happens in agenda.get(day, ()):
                happens()
        self._knew = self._world.truth_at(float(self._world.scenario.days))
        return list(self._answers(self._world.log()[0]))

    def day_of(self, at: datetime) -> float:
        """A moment in days from the first."""
        return (at - self._start) / timedelta(days=1)

    def looks_for(
        self, person: Person, fact: Fact, *, layout: int, at: datetime, is_inside: bool = False
    ) -> Recalled:
        """How a person looks for a thing of a layout at a moment, which they remember after.

        `layout` is its row; with `is_inside` its bag lies open before them.
        """
        who, on, day = self._at[person.pk], self._on[layout], self.day_of(at)
        self._world.go_to(day)
        thing = next(at for at, each in self._aboard.facts_on(on, day).items() if each == fact)
        bags, things = self._world.ask(
            np.array([who]), np.array([thing]), day, layout=on, is_kept=False, is_inside=is_inside
        )
        return Recalled(
            is_right=FOUND in things.outcome,
            seconds=float(bags.seconds.sum() + things.seconds.sum()),
            bag_found=len(things.outcome) > 0,
            ran_out=TIMED_OUT in bags.outcome or TIMED_OUT in things.outcome,
            by_old_ways=not is_inside and self._knew_elsewhere(who, thing, on),
        )

    def _knew_elsewhere(self, who: int, thing: int, on: int) -> bool:
        """Whether the bag of a thing, or a thing in none, moved, and where it was comes to their
        mind: as likely as they found it there before."""
        kit = self._aboard.kit
        step = thing if kit.bag[thing] < 0 else int(kit.bag[thing])
        has_moved = bool(kit.weight[on, step] == 1.0)
        in_mind = default_rng([SEED, who, step]).random() < self._knew[who, step]
        return has_moved and bool(in_mind)

    def _answers(self, log: Log) -> Iterator[Answered]:
        """The rows of a log as what was answered: one for each thing, with a finding a step."""
        rows = sorted(range(len(log)), key=lambda row: (log.time[row], log.person[row]))
        answers = groupby(rows, key=lambda row: (log.time[row], log.person[row]))
        for number, (_, steps) in enumerate(answers, 1):
            yield self._answer(log, list(steps), history_source(number))

    def _answer(self, log: Log, rows: list[int], source: str) -> Answered:
        first = rows[0]
        day, on = float(log.time[first]), int(log.layout[first])
        member, revision = self.members[int(log.person[first])], self._in_force(on, day)
        facts = self._aboard.facts_on(on, day)
        by_hand = MODALITIES[log.modality[first]] == HANDS_ON
        # One walks to the bag and not from it to what it holds.
        seconds = float(log.seconds[rows].sum()) - by_hand * WALK * (len(rows) - 1)
        limit = AT_RIG if by_hand else LIMIT
        in_time = judge_time(seconds, server=seconds, limit=limit, cut_off=None)
        findings = [Finding(facts[int(log.item[row])], *_said(log.outcome[row])) for row in rows]
        return findings, Circumstances(
            person=member.person,
            revision=revision,
            rig=next(each for each in member.rigs if each.layout_id == revision.layout_id),
            at=self._start + timedelta(days=day),
            kind=LOCATE,
            depth_asked=POCKET,
            choices_offered=len(layout_of(revision).compartments),
            chosen_by=CHOSEN[log.chosen[first]],
            predictions={},
            predicted_by="",
            is_first=True,
            seconds=round(seconds, 2),
            time_state=VERIFIED,
            time_verdict=CUT_OFF if TIMED_OUT in log.outcome[rows] else in_time,
            limit_seconds=limit,
            allowance=1.0,
            modality=HANDS_ON if by_hand else SCREEN,
            device_class="phone",
            is_simulated=True,
            source=source,
        )

    def _in_force(self, on: int, day: float) -> Revision:
        return [each for since, each in self._layouts[on] if since <= day][-1]


def _wanted(layouts: Sequence[Sequence[tuple[int, Revision]]]) -> dict[str, float]:
    """The must-haves of all calls on some layouts, which are drilled more than others."""
    newest = [of[-1][1] for of in layouts]
    return dict.fromkeys((thing for each in newest for thing in must_haves_on(each)), MUSTS_WEIGH)


def _said(outcome: int) -> tuple[str, str]:
    """The outcome of one step and how deep it went, in the terms of evidence."""
    return (RIGHT, POCKET) if outcome == FOUND else (WRONG, "")


def latest_dawn(now: datetime) -> datetime:
    """The latest moment at which the service may be told, so that every one of a day is alike."""
    today = _midnight(now) + DAWN
    return today if today <= now else _midnight(now - timedelta(days=1)) + DAWN


def _midnight(now: datetime) -> datetime:
    return timezone.make_aware(datetime.combine(timezone.localdate(now), time()))
