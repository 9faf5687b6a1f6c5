"""Signing in, passwords and codes, and the switches of the sheet."""

from drills.people.views.codes import new_code, slips
from drills.people.views.signing_in import choose_password, password, sign_in, sign_out
from drills.people.views.switches import gloves, mood

__all__ = [
    "choose_password",
    "gloves",
    "mood",
    "new_code",
    "password",
    "sign_in",
    "sign_out",
    "slips",
]
