"""What a cohort misses more than is expected of it, with false alarms held down.

`tail.py` says how surprising the misses of each thing are and which are told; `shrunk.py` says how
often each is found, drawn towards the others where little was asked; `seen.py` says what could have
been seen with so many answers. Nobody is named in any of it.
"""

from drills.engine.flagging.shrunk import Share, share_of
from drills.engine.flagging.tail import FALSE_SHARE, Asked, Flag, flagged

__all__ = ["FALSE_SHARE", "Asked", "Flag", "Share", "flagged", "share_of"]
