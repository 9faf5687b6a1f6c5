"""One injured patient at a time, to be judged by the field triage criteria of 2021.

Training only. Nobody here is anybody; findings are told and never a label, and the category is
worked out from them by the published table.
"""

from drills.engine.injured.making import Injured, draw_injured

__all__ = ["Injured", "draw_injured"]
