"""Choosing what is asked by what it gains, against asking at random: on simulated people.

The same people take the same number of drills of ten questions for eight weeks, drawn in four ways
by the product's own generator: at random from everything; at random from the must-haves, one in
five from everything; by what a question gains, as the product chooses, one in five from everything;
and the same without the guard that keeps a drill from being too hard. The model is fitted anew each
week as the nightly refit does, and moved by each answer in between; before the first fit it is by
counts alone, as in the product. On the last day everybody is asked for every
must-have once: probes that chose nothing and that nothing learns from. The chooser sees answers and
never what is true. What is missed of all else is told beside it, in truth.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drills.engine.generation import plan_drill
from drills.engine.lately import NOTHING, Lately
from drills.engine.memory import asking_weights
from drills.engine.prompts import Prompt
from drills.engine.recipes import LOCATE, RecipeSpec
from drills.engine.simulated import Scenario
from drills.engine.worth import Settings, asking_by_worth
from drills.engine.worth.asking import NEITHER, PLAIN, TOO_EASY, TOO_HARD
from drills.engine.worth.looking import LOOKS_AHEAD, outlook_on
from tests.bench.drilled import Drilled, moment
from tests.bench.jobs import Job, spread

Array = NDArray[np.float64]
SCENARIO = Scenario(people=40, items=120, hired=0.0, hands_on=0.0)
WEEKS, A_WEEK, QUESTIONS, PROBES = 8, 2, 10, 0.2
AT_RANDOM, OF_MUSTS, BY_GAIN = "at random", "must-haves at random", "by gain"
UNGUARDED = "by gain, however hard"
DRILLS = "drills"
HARDLY = 1e-9
LESS_HELD = 0.25

EVENLY = RecipeSpec(slug="evenly", kinds=((LOCATE, QUESTIONS),))
CHOSEN = RecipeSpec(slug="chosen", kinds=((LOCATE, QUESTIONS),), probes_share=PROBES)
Weights = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Missed:
    """Of one way: the share of must-haves missed by probes at the end, and in truth; in truth that
    of all the rest; and of the drills chosen how many were kept within bounds, by which."""

    way: str
    by_probes: float
    truth: float
    rest: float
    bound: Mapping[str, int]


def evenly(service: Drilled, day: float) -> list[Weights]:
    """Everything as likely as the rest."""
    return [{} for _ in range(service.people)]


def among_musts(service: Drilled, day: float) -> list[Weights]:
    """The must-haves alone."""
    facts, things = service.rig.facts, service.world.kit.things
    musts = set(service.musts.tolist())
    # Of a thing in a bag the step that counts more is what counts.
    weights = {str(fact): HARDLY for fact in facts}
    weights |= {str(facts[thing]): 1.0 for thing in range(things) if thing in musts}
    return [weights for _ in range(service.people)]


def by_gain(settings: Settings, service: Drilled, day: float) -> list[Weights]:
    """As the product chooses."""
    if service.model is None:
        return [asking_weights(each, now=moment(day)) for each in service.seen]
    weights: list[Weights] = []
    both = zip(service.thought_at(day), service.thought_at(day + LOOKS_AHEAD), strict=True)
    for seen, (now, later) in zip(service.seen, both, strict=True):
        outlook = outlook_on(
            service.rig.layout, now, later, seen, at=moment(day), needed=service.needed
        )
        asking = asking_by_worth(outlook, settings)
        service.bound[asking.bound] += 1
        weights.append(asking.weights)
    return weights


CHOOSERS: dict[str, tuple[RecipeSpec, Callable[[Drilled, float], list[Weights]]]] = {
    AT_RANDOM: (EVENLY, evenly),
    OF_MUSTS: (CHOSEN, among_musts),
    BY_GAIN: (CHOSEN, partial(by_gain, PLAIN)),
    UNGUARDED: (CHOSEN, partial(by_gain, Settings(least_success=0.0))),
}


def eight_weeks(scenario: Scenario, seed: int, way: str, *, weeks: int = WEEKS) -> Missed:
    """Drill for so many weeks in one way, and look at what is missed at the end."""
    service, (recipe, weigh) = Drilled(scenario, seed), CHOOSERS[way]
    fits, drills = way in (BY_GAIN, UNGUARDED), 0
    for drill in range(weeks * A_WEEK):
        day = drill * 7 / A_WEEK + 0.4
        service.world.go_to(day)
        if fits and drill and drill % A_WEEK == 0:
            service.refit()
        planned: list[tuple[Prompt, ...]] = []
        for who, weights in enumerate(weigh(service, day)):
            lately = service.lately(who, day) if fits else NOTHING
            number = (seed * 1000 + drill) * 1000 + who
            planned.append(_drawn(service, recipe, number, weights, lately))
        service.drill(day, planned)
        drills += service.people
    by_probes, truth, rest = service.missed_at(weeks * 7.0)
    return Missed(way, by_probes, truth, rest, {**service.bound, DRILLS: drills})


def _drawn(
    service: Drilled, recipe: RecipeSpec, seed: int, weights: Weights, lately: Lately
) -> tuple[Prompt, ...]:
    layout = service.rig.layout
    return plan_drill(layout, recipe, seed=seed, weights=weights, lately=lately).prompts


def jobs(scenario: Scenario, seeds: Sequence[int]) -> list[Job]:
    """Every way with every seed, the seeds in turn."""
    return [
        Job(f"{way}, seed {seed}", partial(eight_weeks, scenario, seed, way))
        for seed in seeds
        for way in CHOOSERS
    ]


def summed(law: str, ran: Sequence[Missed]) -> dict[str, Any]:
    """The figures of a law over its seeds, and the bound where it is missed."""
    by_way = {way: [each for each in ran if each.way == way] for way in CHOOSERS}
    at_random = _of(by_way[AT_RANDOM])
    ways = {
        way: {
            "missed": spread([each.by_probes for each in some]),
            "truth": spread([each.truth for each in some]),
            "rest": spread([each.rest for each in some]),
            "fewer": spread((1 - _of(some) / at_random).tolist()),
        }
        for way, some in by_way.items()
    }
    bound: Counter[str] = Counter()
    for each in by_way[BY_GAIN]:
        bound.update(each.bound)
    fewer = float((1 - _of(by_way[BY_GAIN]) / at_random).mean())
    words = f"{law}, choosing: {fewer:.3f} fewer must-haves missed, held to {LESS_HELD}"
    return {
        "seeds": len(at_random),
        "ways": ways,
        "bound": {
            **{name: bound[name] for name in (TOO_HARD, TOO_EASY, DRILLS)},
            "within": bound[NEITHER],
        },
        "missed": [words] if fewer < LESS_HELD else [],
    }


def _of(some: Sequence[Missed]) -> Array:
    return np.array([each.by_probes for each in some])


def lines(law: str, told: dict[str, Any]) -> Iterator[str]:
    """The figures in words."""
    for way, each in told["ways"].items():
        missed, fewer = each["missed"], each["fewer"]
        yield (
            f"law {law}, {way}: {100 * missed['mean']:.1f} % of must-haves missed after {WEEKS} "
            f"weeks ({100 * missed['least']:.1f} to {100 * missed['most']:.1f}; truth "
            f"{100 * each['truth']['mean']:.1f}), {100 * fewer['mean']:.0f} % fewer than "
            f"{AT_RANDOM} ({100 * fewer['least']:.0f} to {100 * fewer['most']:.0f}); "
            f"of all else {100 * each['rest']['mean']:.1f} %"
        )
    bound = told["bound"]
    first = bound[DRILLS] - sum(bound[name] for name in (TOO_HARD, TOO_EASY, "within"))
    yield (
        f"law {law}: of {bound[DRILLS]} drills {bound[TOO_HARD]} were kept from being too hard, "
        f"{bound[TOO_EASY]} from being too easy, {bound['within']} were neither, and {first} came "
        f"before the first fit; {told['seeds']} seeds"
    )
