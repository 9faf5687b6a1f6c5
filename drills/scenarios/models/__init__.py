"""The tables of the room: recipes, drills, what calls are made from, how patients are sorted."""

from drills.scenarios.models.calls import AgeBand, CallType, Locality, Problem
from drills.scenarios.models.drills import Drill, DrillPrompt
from drills.scenarios.models.recipes import (
    Mode,
    Named,
    PassTerms,
    Recipe,
    RecipeSettings,
    RecipeVersion,
    Terms,
)
from drills.scenarios.models.sorting import SortingSettings

__all__ = [
    "AgeBand",
    "CallType",
    "Drill",
    "DrillPrompt",
    "Locality",
    "Mode",
    "Named",
    "PassTerms",
    "Problem",
    "Recipe",
    "RecipeSettings",
    "RecipeVersion",
    "SortingSettings",
    "Terms",
]
