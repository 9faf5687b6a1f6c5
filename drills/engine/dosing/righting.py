"""The line of a working that puts a slip right: one way for the door, the drill and the debrief."""

import re
from collections.abc import Iterable, Mapping

from drills.engine.dosing import slips
from drills.engine.dosing.slips import Slip

_POUNDS = re.compile(r" lb [/x] ")
_WEIGHED = re.compile(r"(?: kg|/kg) x ")
_IN_AN_HOUR = re.compile(r" min/h")
_HALF = re.compile(r" / 2 = ")
_WRITTEN_AS: Mapping[Slip, re.Pattern[str]] = {
    slips.POUNDS_AS_KG: _POUNDS,
    slips.POUNDS_TIMES: _POUNDS,
    slips.POUNDS_TWICE: _POUNDS,
    slips.KG_AS_POUNDS: _WEIGHED,
    slips.KG_TO_POUNDS: _WEIGHED,
    slips.NO_WEIGHT: _WEIGHED,
    slips.NO_MAXIMUM: re.compile("The maximum"),
    slips.NO_MINIMUM: re.compile("The minimum"),
    slips.NO_RESIDUAL: re.compile(r" psi - | the residual, "),
    slips.FROM_ARRIVAL: re.compile(r" (?:h|min) - "),
    # Cylinders are added up too: only what flows out in a minute is of several patients.
    slips.ONE_PATIENT: re.compile(r"/min \+ "),
    slips.BURN_DOUBLED: _HALF,
    slips.BURN_HALVED: _HALF,
    slips.MINUTE_FOR_HOUR: _IN_AN_HOUR,
    slips.HOUR_FOR_MINUTE: _IN_AN_HOUR,
}


def line_for(slip: Slip, steps: Iterable[str]) -> str:
    """The first line where such a slip is made or left out; empty where none shows it."""
    written = _WRITTEN_AS.get(slip)
    return next((each for each in steps if written and written.search(each)), "")
