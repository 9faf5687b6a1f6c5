"""What each person knows now: a hierarchical logistic model of who finds what.

`columns.py` is the answers, `history.py` what came before each of them, `fitting.py` the fit,
`model.py` what it says, `rolling.py` the same row by row as a service would have seen it.

`MODEL` is its number, raised by hand with every change of what it says, so that figures that were
measured of the model before are not taken for those of this one.
"""

MODEL = 1
