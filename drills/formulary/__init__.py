"""What and how much: medicines, dose rules as printed, and the approval they are drilled under.

Owns every revision of the formulary. May import rigs, people and the engine.
"""
