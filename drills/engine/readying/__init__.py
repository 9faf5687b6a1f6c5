"""What is said of a call: would one person, or two together, find everything, and in time?

`known.py` is what is thought of a person, as the model hands it over, and what a call asks to find;
`counting.py` and `hurrying.py` are chances of several things and their time, `recalibrating.py`
sets whole calls right by how past ones went. `call.py` speaks of one person, `crew.py` of two, and
`clearing.py` finds the shortest drill. None of it asks, and none of it releases anyone.
"""

from drills.engine.readying.call import Limit, Raises, Readiness, call_readiness
from drills.engine.readying.clearing import Asks, shortest
from drills.engine.readying.crew import CrewReadiness, Unseen, crew_readiness, missed_together
from drills.engine.readying.known import Known, Must, mean_of
from drills.engine.readying.recalibrating import AS_IT_IS, Recalibration, recalibrated
from drills.engine.readying.things import Thought, thoughts_of

__all__ = [
    "AS_IT_IS",
    "Asks",
    "CrewReadiness",
    "Known",
    "Limit",
    "Must",
    "Raises",
    "Readiness",
    "Recalibration",
    "Thought",
    "Unseen",
    "call_readiness",
    "crew_readiness",
    "mean_of",
    "missed_together",
    "recalibrated",
    "shortest",
    "thoughts_of",
]
