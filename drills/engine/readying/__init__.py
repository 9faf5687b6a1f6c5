"""What is said of a call: would one person, or two together, find everything, and in time?

`known.py` is what is thought of a person, and what a call asks to find; `modelled.py` has it of a
fitted model; `counting.py` and `hurrying.py` are chances of several things and their time,
`several.py` the kits of many calls at once, and `recalibrating.py` sets whole calls right by how
past ones went.
`call.py` speaks of one person, `crew.py` of two, `together.py` of many, and `clearing.py` finds the
shortest drill. None of it asks, and none of it releases anyone.
"""

from drills.engine.readying.call import (
    Chances,
    Raises,
    Readiness,
    call_readiness,
    calls_readiness,
    chances_of,
    lapses_of,
)
from drills.engine.readying.clearing import Asks, shortest
from drills.engine.readying.crew import CrewReadiness, Unseen, crew_readiness
from drills.engine.readying.hurrying import Limit
from drills.engine.readying.known import Known, Must
from drills.engine.readying.modelled import known_of
from drills.engine.readying.recalibrating import AS_IT_IS, Recalibration, recalibrated
from drills.engine.readying.several import DrawnKit, Kits
from drills.engine.readying.things import Thought, mean_of, thoughts_of
from drills.engine.readying.together import OfMany, of_many

__all__ = [
    "AS_IT_IS",
    "Asks",
    "Chances",
    "CrewReadiness",
    "DrawnKit",
    "Kits",
    "Known",
    "Limit",
    "Must",
    "OfMany",
    "Raises",
    "Readiness",
    "Recalibration",
    "Thought",
    "Unseen",
    "call_readiness",
    "calls_readiness",
    "chances_of",
    "crew_readiness",
    "known_of",
    "lapses_of",
    "mean_of",
    "of_many",
    "recalibrated",
    "shortest",
    "thoughts_of",
]
