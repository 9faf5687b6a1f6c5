"""The tables of the room, in two files: drills, and what calls are made from."""

from drills.scenarios.models.calls import AgeBand, CallType, Locality, Problem
from drills.scenarios.models.drills import Drill, DrillPrompt, Mode, PassTerms, Recipe, Terms

__all__ = [
    "AgeBand",
    "CallType",
    "Drill",
    "DrillPrompt",
    "Locality",
    "Mode",
    "PassTerms",
    "Problem",
    "Recipe",
    "Terms",
]
