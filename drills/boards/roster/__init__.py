"""The roster: everybody with their station, and what a file of people would change.

A file is read to entries (`engine.roster`), planned against who is here, shown, and stored whole
once somebody says so. People and their postings live in two rooms, so the one transaction of an
import is here.
"""
