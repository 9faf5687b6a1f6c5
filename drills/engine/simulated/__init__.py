"""A simulated service: people who forget by a law that is known, and what is kept of their drills.

It makes histories for the demonstration and tests what is estimated against what is true. Nothing
in it was measured on a person, and nothing that estimates what people know may read it.
"""

from drills.engine.simulated.aboard import Aboard, aboard
from drills.engine.simulated.cohort import Look, Simulated, live_through, simulate_crews
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
    "Aboard",
    "Log",
    "Look",
    "Move",
    "Scenario",
    "ScenarioError",
    "Simulated",
    "World",
    "aboard",
    "live_through",
    "scenario_of",
    "simulate_crews",
    "write_csv",
    "write_truth",
]
