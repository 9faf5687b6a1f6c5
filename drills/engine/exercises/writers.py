"""Every topic with what writes its exercises."""

from collections.abc import Callable, Mapping
from random import Random

from drills.engine.exercises import (
    burn,
    dilution,
    dose,
    drip,
    energy,
    fluid,
    oxygen,
    sums,
    weight,
)
from drills.engine.exercises.exercise import Exercise
from drills.engine.exercises.stores import Stores
from drills.engine.recipes import DOSE, SUPPLY

GRADES = (1, 2, 3)
WRITERS: Mapping[str, Callable[[int, Stores, Random], Exercise]] = {
    each.TOPIC: each.write
    for each in (dose, drip, dilution, weight, oxygen, fluid, burn, energy, sums)
}
TOPICS = {
    DOSE: (dose.TOPIC, drip.TOPIC, dilution.TOPIC, weight.TOPIC),
    SUPPLY: (oxygen.TOPIC, fluid.TOPIC, burn.TOPIC, energy.TOPIC, sums.TOPIC),
}

# What follows no rule of treatment, and so needs no formulary in force.
OPEN_TOPICS = (oxygen.TOPIC, sums.TOPIC)


def write(topic: str, grade: int, stores: Stores, random: Random) -> Exercise:
    """An exercise of a topic; `CannotApplyError` says why none can be made of what is aboard."""
    return WRITERS[topic](grade, stores, random)
