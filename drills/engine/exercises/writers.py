"""Every topic with what writes its exercises."""

from collections.abc import Callable, Iterator, Mapping
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
_TOPICS = (dose, drip, dilution, weight, oxygen, fluid, burn, energy, sums)
WRITERS: Mapping[str, Callable[[int, Stores, Random], Exercise]] = {
    each.TOPIC.name: each.write for each in _TOPICS
}
TOPICS = {
    kind: tuple(each.TOPIC.name for each in _TOPICS if each.TOPIC.kind == kind)
    for kind in (DOSE, SUPPLY)
}

# What is drawn from all there is, so that a sheet takes each once.
EACH_ONCE: Mapping[str, Callable[[int, Stores, Random], list[Iterator[Exercise]]]] = {
    drip.TOPIC.name: drip.each_once
}

# What follows no rule of treatment, and so needs no formulary in force.
OPEN_TOPICS = (oxygen.TOPIC.name, sums.TOPIC.name)


def topic_of(kind: str, subject: str) -> str:
    """The topic of a skill, by its kind and its subject without the way it was asked: a medicine
    alone is its dose, one with *drip* behind it its drip, and any other name of a supply a sum."""
    if subject in TOPICS[kind]:
        return subject
    if kind == SUPPLY:
        return sums.TOPIC.name
    is_drip = subject.endswith(f" {drip.TOPIC.name}")
    return drip.TOPIC.name if is_drip else dose.TOPIC.name


def write(topic: str, grade: int, stores: Stores, random: Random) -> Exercise:
    """An exercise of a topic; `CannotApplyError` says why none can be made of what is aboard."""
    return WRITERS[topic](grade, stores, random)
