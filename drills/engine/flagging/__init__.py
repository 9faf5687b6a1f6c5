"""What a cohort misses more than is expected of it, with false alarms held down.

`expecting.py` says what a fitted model expects of the answers on each thing; `tail.py` how
surprising the misses of each are and which are told; `shrunk.py` how often each is found, drawn
towards the others where little was asked; `seen.py` what could have been seen with so many answers.
Nobody is named in any of it.
"""

from drills.engine.flagging.expecting import expected, newest_of
from drills.engine.flagging.shrunk import Share, share_of
from drills.engine.flagging.tail import FALSE_SHARE, Asked, Flag, flagged

__all__ = [
    "FALSE_SHARE",
    "Asked",
    "Flag",
    "Share",
    "expected",
    "flagged",
    "newest_of",
    "share_of",
]
