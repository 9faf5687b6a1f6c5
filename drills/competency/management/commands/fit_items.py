"""Fit how easy things are, from who got what right, read and printed as JSON."""

from typing import Any

from drills.engine.items import told_fit
from drills.people.doors import JsonDoor


class Command(JsonDoor):
    """Reads patterns of answers with how many people gave each; no database is touched."""

    help = "Fit one slope and an intercept for each thing to patterns of answers: JSON in and out."

    def told(self, given: Any) -> dict[str, Any]:
        """The log-likelihood, the slope and the intercepts."""
        return told_fit(given)
