"""How near what is said of people came to the truth, as it was last measured on simulated services.

`figures.json` is written by `python -m tests.bench.competency`, never by hand; `page` prints it.
"""
