"""What each person still knows: facts, evidence, estimates.

Owns every observed outcome, whatever door it came through; ids of higher rooms are kept as opaque
text. May import rigs, people and the engine.
"""
