"""Plain Python: what is true of layouts, drills, marks, time and memory.

Nothing here sees a model, a request, a clock or a global random state: `now` and the seed
come in as arguments, and every value object is frozen. The engine imports nothing of Django
and nothing of the rooms above it.
"""
