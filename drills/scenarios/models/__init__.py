"""The tables of the room, in three files: drills, what calls are made from, and how
patients are sorted."""

from drills.scenarios.models.calls import AgeBand, CallType, Locality, Problem
from drills.scenarios.models.drills import Drill, DrillPrompt, Mode, PassTerms, Recipe, Terms
from drills.scenarios.models.sorting import SortingSettings

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
    "SortingSettings",
    "Terms",
]
