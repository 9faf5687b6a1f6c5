"""What could happen: recipes and frozen drills.

May import competency, rigs, people and the engine.
"""
