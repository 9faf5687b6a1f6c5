"""What each role sees first, and the pages that join rooms. Owns no tables.

May import every room below it.
"""
