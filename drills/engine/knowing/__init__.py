"""What each person knows now: a hierarchical logistic model of who finds what.

`columns.py` is the answers, `history.py` what came before each of them, `fitting.py` the fit,
`model.py` what it says, `rolling.py` the same row by row as a service would have seen it.

`CHANCES` and `DOUBT` number what it says: the chance that something is found, and how sure that is.
Each is raised by hand with every change of it, so that figures measured before are known as such.
"""

CHANCES, DOUBT = 1, 2
