"""What is worth asking somebody next: how much readiness a second of drilling gains.

`gain.py` is what one more question gains by what is thought of the person, and `looking.py` what is
thought of it and where it lies; `asking.py` turns gains into the weights that a drill is drawn by,
and minds the rest: spread over the rig, what lies beside each other, what was long not asked, what
moved, and that a drill is neither hopeless nor dull.
"""

from drills.engine.worth.asking import Asking, Settings, asking_by_worth
from drills.engine.worth.gain import Outlook, gains

__all__ = ["Asking", "Outlook", "Settings", "asking_by_worth", "gains"]
