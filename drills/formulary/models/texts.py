"""How long a text of the formulary is at most, and what the demonstration says of itself."""

TEXT_LENGTH = 200
NAME_LENGTH = 120
PRINTED_LENGTH = 80
SHORT_LENGTH = 40

DEMO_NAME, DEMO_NOTICE = "Demonstration formulary", "Demonstration only. Not for patient care."
