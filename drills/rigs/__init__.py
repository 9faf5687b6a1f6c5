"""Where: needs, layouts, revisions, places, compartments, stock, rigs, postings.

Owns the layouts and what is reported as not in its place. May import people and the engine.
"""
