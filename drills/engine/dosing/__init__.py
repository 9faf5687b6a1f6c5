"""Dose and supply arithmetic: problems that are worked out and judged.

A problem is a value object that works itself out and says what each slip would have given; `judge`
judges an answer to any of them. Figures are exact until the last, and rounded once.
"""

from drills.engine.dosing.burn import BurnProblem
from drills.engine.dosing.dilution import DilutionProblem
from drills.engine.dosing.dose import DoseProblem
from drills.engine.dosing.drip import DripProblem
from drills.engine.dosing.energy import EnergyProblem
from drills.engine.dosing.entered import TwoUnitsError, as_read, read_answer, why_unread
from drills.engine.dosing.judging import judge
from drills.engine.dosing.oxygen import OxygenProblem
from drills.engine.dosing.results import (
    MAXIMUM,
    MINIMUM,
    Problem,
    ProblemError,
    Refusal,
    Result,
    Solution,
)
from drills.engine.dosing.rule import DoseRule, read_dose_rule
from drills.engine.dosing.slips import Slip
from drills.engine.dosing.verdicts import (
    OUT_OF_TOLERANCE,
    RIGHT,
    UNREADABLE,
    UNSAFE,
    Judgement,
)
from drills.engine.dosing.weight import WeightProblem

__all__ = [
    "MAXIMUM",
    "MINIMUM",
    "OUT_OF_TOLERANCE",
    "RIGHT",
    "UNREADABLE",
    "UNSAFE",
    "BurnProblem",
    "DilutionProblem",
    "DoseProblem",
    "DoseRule",
    "DripProblem",
    "EnergyProblem",
    "Judgement",
    "OxygenProblem",
    "Problem",
    "ProblemError",
    "Refusal",
    "Result",
    "Slip",
    "Solution",
    "TwoUnitsError",
    "WeightProblem",
    "as_read",
    "judge",
    "read_answer",
    "read_dose_rule",
    "why_unread",
]
