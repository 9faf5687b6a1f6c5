"""What was done: runs, prompts as presented, timed answers.

May import scenarios, competency, rigs, people and the engine.
"""
