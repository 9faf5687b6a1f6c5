"""Where the patient is drawn on the plan of the rig, near the side they are off; not to scale."""

from dataclasses import dataclass

from drills.engine.optimum import PatientPlace
from drills.engine.plan import BODY_BOTTOM, BODY_LEFT, BODY_RIGHT, BODY_TOP, CAB_LEFT

PATIENT_OFF = 62
_ALONG, _ACROSS = (BODY_LEFT + BODY_RIGHT) // 2, (BODY_TOP + BODY_BOTTOM) // 2
_SPOTS = {
    "curb": (_ALONG, BODY_BOTTOM + PATIENT_OFF),
    "street": (_ALONG, BODY_TOP - PATIENT_OFF),
    "rear": (BODY_RIGHT + PATIENT_OFF, _ACROSS),
    "front": (CAB_LEFT - PATIENT_OFF, _ACROSS),
}
# The rig with both ways round it, left, top, right and bottom; and room about the patient.
_SEEN, _ROOM = (-34, -38, 396, 214), 40


@dataclass(frozen=True, slots=True)
class PatientMark:
    """The patient on the plan, with where their word stands, and what of the plan is seen."""

    x: int
    y: int
    text_x: int
    text_y: int
    view: str


def mark_of(patient: PatientPlace) -> PatientMark:
    """A patient on the plan."""
    x, y = _SPOTS[patient.side]
    left, top, right, bottom = _SEEN
    left, right = min(left, x - _ROOM), max(right, x + _ROOM)
    top, bottom = min(top, y - _ROOM), max(bottom, y + _ROOM)
    text = (x + 26, y + 6) if x == _ALONG else (x - 26, y + 32)
    return PatientMark(x, y, *text, view=f"{left} {top} {right - left} {bottom - top}")
