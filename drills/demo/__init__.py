"""The demonstration service: factories, seeding, and the drill played in the terminal.

Owns no tables. May import every room below it; the tests use its factories.
"""
