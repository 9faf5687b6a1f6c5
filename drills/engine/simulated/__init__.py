"""A simulated service: people who forget by a law that is known, and what is kept of their drills.

It makes histories for the demonstration and tests what is estimated against what is true. Nothing
in it was measured on a person, and nothing that estimates what people know may read it.
"""

from drills.engine.simulated.cohort import Look, Simulated, simulate_crews
from drills.engine.simulated.log import Log, write_csv, write_truth
from drills.engine.simulated.scenario import (
    SCENARIOS,
    Move,
    Scenario,
    ScenarioError,
    scenario_of,
)
from drills.engine.simulated.world import World

__all__ = [
    "SCENARIOS",
    "Log",
    "Look",
    "Move",
    "Scenario",
    "ScenarioError",
    "Simulated",
    "World",
    "scenario_of",
    "simulate_crews",
    "write_csv",
    "write_truth",
]
