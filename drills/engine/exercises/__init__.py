"""Exercises: what is asked in figures, with all that a page must say beside it."""

from drills.engine.exercises.exercise import (
    DOSE_UNITS,
    FROM_MEMORY,
    SHOWN,
    SYRINGES_TOLD,
    Exercise,
    Told,
    way_of,
)

__all__ = ["DOSE_UNITS", "FROM_MEMORY", "SHOWN", "SYRINGES_TOLD", "Exercise", "Told", "way_of"]
