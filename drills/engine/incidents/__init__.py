"""Incidents with many patients: made, looked at again, told, and sorted.

Training only. Nobody in it is anybody; findings are shown and never a label.
"""

from drills.engine.incidents.findings import Sorting
from drills.engine.incidents.making import Casualty, Incident, make_incident

__all__ = ["Casualty", "Incident", "Sorting", "make_incident"]
