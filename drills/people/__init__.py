"""Who: persons, roles, certification, cohorts, FTO pairings, and the audit.

Owns the user model and every rule of who may see whom. May import the engine alone. What it must
know of higher rooms it holds as its own plain facts, written from above: the mark that an
assessed prompt is open, and the audit.
"""
