"""How something is run in: by the pump, and by each drip set that is carried."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from drills.engine.devices import DROPS_MOST
from drills.engine.dosing.drip import GTT_PER_MIN, MINUTES, ML_PER_H, DripProblem
from drills.engine.dosing.results import Refusal, Result
from drills.engine.quantities import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Drops:
    """The drops a minute by one set, and the dose that its first setting gives, where it is one."""

    drip_set: Quantity
    rate: Result
    gives: Quantity | None = None

    @property
    def is_countable(self) -> bool:
        """Whether anybody can count them; else it takes a pump, pressure or a wider set."""
        return self.rate.low_amount <= DROPS_MOST


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """What the pump is set to, the drops by each set, how long it takes and how long a bag lasts.

    `volume` runs in `over` a time; both are None of what runs until it is stopped. `refusal` says
    why the pump is not set, and what is done instead.
    """

    pump: Result
    drops: tuple[Drops, ...]
    volume: Quantity | None = None
    over: Quantity | None = None
    lasts: Result | None = None
    refusal: Refusal | None = None
    steps: tuple[str, ...] = ()


def run(
    problem: DripProblem, sets: Sequence[Quantity] = (), *, bag: Quantity | None = None
) -> Running:
    """Work a drip out once for the pump and once for each set."""
    alone = replace(problem, bag=bag).solve()
    by_sets = [replace(problem, drip_set=each).solve() for each in sets]
    steps = [*alone.steps, *(step for each in by_sets for step in each.steps)]
    return Running(
        pump=alone.results[ML_PER_H],
        drops=tuple(
            Drops(
                drip_set=each,
                rate=solved.results[GTT_PER_MIN],
                gives=problem.given_by(solved.results[GTT_PER_MIN]),
            )
            for each, solved in zip(sets, by_sets, strict=True)
        ),
        volume=problem.volume,
        over=problem.over,
        lasts=alone.results.get(MINUTES),
        refusal=alone.refusal,
        steps=tuple(dict.fromkeys(steps)),
    )
