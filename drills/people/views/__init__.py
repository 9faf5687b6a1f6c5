"""Signing in, passwords and codes, and the switches of the sheet."""

from drills.people.views.codes import new_code, slips
from drills.people.views.signing_in import choose_password, password, sign_in, sign_out
from drills.people.views.switches import gloves, mood
from drills.people.views.taking_over import drop_code, personal_code, take_over

__all__ = [
    "choose_password",
    "drop_code",
    "gloves",
    "mood",
    "new_code",
    "password",
    "personal_code",
    "sign_in",
    "sign_out",
    "slips",
    "take_over",
]
