"""Arriving at a call: what comes to the door, what is worn and looked for, reported and asked for.

Each row of the tables says where it is from. What of them a kind of call has is data of its own.
"""
