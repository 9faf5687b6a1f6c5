"""What each person knows now: a hierarchical logistic model of who finds what.

`columns.py` is the answers, `history.py` what came before each of them, `fitting.py` the fit,
`model.py` what it says, `rolling.py` the same row by row as a service would have seen it.
"""
