"""Past records: what was written down of people before, taken in as evidence.

A file is read to entries (`engine.past_records`), planned against who and what is here, shown, and
stored whole or not at all, through the one door in `competency.actions`.
"""
