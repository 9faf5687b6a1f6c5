"""How quick the quickest plan is found, beside a constraint solver in the same run; and whether
both agree.

Run it as `python -m tests.bench.optimum`; `quick` takes a tenth of it. Three sets of rigs made at
random with 22 places to choose among: one person without a limit of hands, one with two hands in
up to two trips, two people with two hands each; then small ones of which every choice is listed.
It ends with status 1 where anything differs or is slower than we hold ourselves to. Times are those
of the processor, so that what else the machine does at the time counts for nothing; on an idle one
they are those of the clock.
"""

import statistics
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import TypeVar

from drills.engine.optimum.plan import Plan, quickest
from drills.engine.optimum.statement import Statement
from tests.engine.optimum_instances import rig, seeded, small_of
from tests.engine.optimum_listing import least
from tests.engine.optimum_referee import Refereed, referee

T = TypeVar("T")
PLACES, INSTANCES, LISTED, PROVED = 22, 500, 300, 300
# The median and worst of one person, the 95th of a hundred and worst of two, in ms.
ONE_MS, TWO_MS = (5, 50), (150, 500)
REFEREE_S = 4


@dataclass
class Set:
    """One set of instances, with what was measured."""

    name: str
    people: int
    hands: int | None
    refereed: int
    ours: list[float] = field(default_factory=list)
    referee: list[float] = field(default_factory=list)
    beside: list[float] = field(default_factory=list)
    proved: int = 0
    different: int = 0

    def rigs(self, many: int) -> Iterator[Statement]:
        for seed in range(many):
            yield rig(seeded(seed), hands=self.hands, most=PLACES, exactly=True)

    @property
    def ratio(self) -> float:
        """How many times as long as ours the solver takes, both at the median."""
        return statistics.median(self.referee) / statistics.median(self.beside)

    def run(self, many: int, refereed: int) -> None:
        for number, statement in enumerate(self.rigs(many)):
            plan, seconds = _timed(partial(quickest, statement, self.people))
            self.ours.append(seconds)
            if number < refereed:
                self.beside.append(seconds)
                self._ask_referee(statement, plan)
            if not number % 50:
                _say(f"{self.name}: {number} of {many}")

    def _ask_referee(self, statement: Statement, plan: Plan) -> None:
        trips = len(plan.routes) if self.people == 1 else 1
        found, seconds = _timed(
            partial(referee, statement, people=self.people, trips=trips, seconds=REFEREE_S)
        )
        self.referee.append(seconds)
        self.proved += found.is_proved
        self.different += not _agree(plan, found)

    def told(self) -> str:
        """The figures in a line."""
        times = " / ".join(f"{each * 1000:.1f}" for each in spread(self.ours))
        return (
            f"{self.name}: {times} ms (median / 95 % / worst of {len(self.ours)}); the solver "
            f"takes {self.ratio:.0f} times as long at the median and proved {self.proved} of "
            f"{len(self.referee)}; {self.different} different"
        )


def _agree(plan: Plan, found: Refereed) -> bool:
    if not plan.is_carried:
        return found.cs is None or not found.is_proved
    if found.is_proved:
        return found.cs == plan.cs
    return plan.cs >= found.bound and (found.cs is None or plan.cs <= found.cs)


def _timed(work: Callable[[], T]) -> tuple[T, float]:
    begun = time.process_time()
    return work(), time.process_time() - begun


def spread(times: Sequence[float]) -> tuple[float, float, float]:
    """Median, 95th of a hundred, and worst."""
    ordered = sorted(times)
    return statistics.median(ordered), ordered[int(len(ordered) * 0.95)], ordered[-1]


def _say(line: str) -> None:
    """At once: it takes long, and who waits wants to see."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def _list_all(many: int) -> int:
    """How many small statements have a choice that takes less, or that nobody can carry."""
    different = 0
    for seed in range(many):
        if not seed % 50:
            _say(f"every choice listed: {seed} of {many}")
        statement = small_of(seed)
        for people in (1, 2):
            plan = quickest(statement, people)
            different += (plan.cs if plan.is_carried else None) != least(statement, people)
    return different


def main(asked: str) -> int:
    """Measure, compare, and say both."""
    share = 10 if asked == "quick" else 1
    sets = (
        Set("one person", 1, None, 300),
        Set("one person, two hands", 1, 2, 100),
        Set("two people, two hands each", 2, 2, 100),
    )
    for each in sets:
        each.run(INSTANCES // share, each.refereed // share)
        _say(each.told())
    listed = _list_all(LISTED // share)
    _say(f"every choice listed: {LISTED // share} small ones, {listed} different")
    one, two = spread(sets[0].ours), spread(sets[2].ours)
    is_quick = one[0] * 1000 <= ONE_MS[0] and one[2] * 1000 <= ONE_MS[1]
    is_quick &= two[1] * 1000 <= TWO_MS[0] and two[2] * 1000 <= TWO_MS[1]
    is_quick &= all(each.ratio > 1 for each in sets)
    is_same = not listed and not any(each.different for each in sets)
    is_same &= sum(each.proved for each in sets) >= PROVED // share
    return 0 if is_quick and is_same else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1] if len(sys.argv) > 1 else ""))
