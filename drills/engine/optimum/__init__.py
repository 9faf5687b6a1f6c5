"""The quickest way to bring a kit to the patient: a rig's own ground and stock, and a proved plan.

`statement` says what is asked, in whole hundredths of a second; `rig` asks it of a layout, with
`ground` to stand and walk on and `motions` for how long each motion takes. `plan` answers it:
`alone` for one person in one trip, `two` for two trips or two people, on the `tours` through all
sets of stops. The method is our own; its parts are named where they are used.
"""

from drills.engine.optimum.ground import SIDES, PatientPlace
from drills.engine.optimum.plan import Plan, Route, Take, Visit, quickest
from drills.engine.optimum.rig import BY_THE_CURB, CAB, HANDS_OF_ONE, NEAR_PATIENT, Rig
from drills.engine.optimum.statement import Statement, StatementError

__all__ = [
    "BY_THE_CURB",
    "CAB",
    "HANDS_OF_ONE",
    "NEAR_PATIENT",
    "SIDES",
    "PatientPlace",
    "Plan",
    "Rig",
    "Route",
    "Statement",
    "StatementError",
    "Take",
    "Visit",
    "quickest",
]
