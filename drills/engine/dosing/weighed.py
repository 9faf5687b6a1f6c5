"""A problem with its weight as it may be told: 150 lb are 68 kg, and what that gives is right."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from drills.engine.dosing.burn import BurnProblem
from drills.engine.dosing.burned import BurnedProblem
from drills.engine.dosing.containers import ContainersProblem
from drills.engine.dosing.dose import DoseProblem
from drills.engine.dosing.drip import DripProblem
from drills.engine.dosing.energy import EnergyProblem
from drills.engine.dosing.results import Problem
from drills.engine.dosing.weight import told_weights

Weighed = DoseProblem | DripProblem | EnergyProblem | BurnProblem


def with_told_weights(problem: Problem) -> Iterator[Problem]:
    """The same by each weight in kg that is right for its pounds; nothing where there are none."""
    match problem:
        case ContainersProblem():
            yield from (replace(problem, dose=each) for each in _by_weights(problem.dose))
        case BurnedProblem(fluid=BurnProblem() as fluid):
            yield from (replace(problem, fluid=each) for each in _by_weights(fluid))
        case DoseProblem() | DripProblem() | EnergyProblem() | BurnProblem():
            yield from _by_weights(problem)


def _by_weights(problem: Weighed) -> Iterator[Any]:
    """The same kind of problem each time."""
    told, exactly = problem.weight, problem.is_exact_pounds
    if told is None:
        return
    for kg in told_weights(told, exactly=exactly, never_up=problem.is_never_up):
        yield replace(problem, weight=kg)
