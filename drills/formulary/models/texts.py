"""How long a text of the formulary is at most."""

TEXT_LENGTH = 200
NAME_LENGTH = 120
PRINTED_LENGTH = 80
SHORT_LENGTH = 40
