"""Changes to who is here and how they sign in, each with its line in the audit."""

from drills.people.actions.codes import (
    CodeGoneError,
    Slip,
    change_password,
    choose_password,
    give_codes,
)
from drills.people.actions.leaving import leave
from drills.people.actions.personal import (
    SHARED_FOR,
    TAKES,
    choose_personal_code,
    drop_personal_code,
    may_take_over,
    take_over,
)
from drills.people.actions.persons import (
    Changes,
    add_cohort,
    add_person,
    change_person,
    pair,
    unpair,
)
from drills.people.actions.rosters import Enrolment, enrol
from drills.people.actions.signing_in import Answer, look

__all__ = [
    "SHARED_FOR",
    "TAKES",
    "Answer",
    "Changes",
    "CodeGoneError",
    "Enrolment",
    "Slip",
    "add_cohort",
    "add_person",
    "change_password",
    "change_person",
    "choose_password",
    "choose_personal_code",
    "drop_personal_code",
    "enrol",
    "give_codes",
    "leave",
    "look",
    "may_take_over",
    "pair",
    "take_over",
    "unpair",
]
