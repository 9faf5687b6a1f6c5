"""Vital signs that do not contradict what is found: none without breath and pulse, low without one.

The ranges are those of the problem and the age; here a sign is moved only where a finding says
otherwise.
"""

from collections.abc import Mapping
from random import Random
from typing import Any

from drills.engine.ages import Age
from drills.engine.incidents.findings import Whose
from drills.engine.tables import SYSTOLIC, at_age

# Points of the coma scale for each letter of AVPU, low and high: ours, common teaching.
COMA: Mapping[str, tuple[int, int]] = {"A": (15, 15), "V": (12, 14), "P": (5, 8), "U": (3, 5)}
_SHOCK = (0.75, 0.95)  # of the least systolic pressure of the age, with no pulse at the wrist: ours
_HOLDS = (1.0, 1.15)  # with one
_SLOW_PULSE = (40, 20)  # from, and how far up: a heart that goes on without breath: ours
_WITHOUT_BREATH = ("spo2", "etco2")


def fitting_signs(
    drawn: Mapping[str, float], findings: Mapping[str, Any], whose: Whose, random: Random
) -> dict[str, float]:
    """The signs as drawn, moved where the findings leave no room for them."""
    signs = dict(drawn) | {"rr": float(findings["rate"])}
    if not findings["rate"]:
        for name in _WITHOUT_BREATH:
            signs.pop(name, None)
    if not findings["rate"] and not findings["pulse"]:
        return signs | {"hr": 0.0, "sbp": 0.0, "gcs": 3.0}
    signs["hr"] = signs.get("hr") or _SLOW_PULSE[0] + random.random() * _SLOW_PULSE[1]
    if "sbp" in signs:
        signs["sbp"] = _pressure(signs["sbp"], whose, has_pulse=findings["pulse"], random=random)
    if "gcs" in signs:
        low, high = COMA[findings["avpu"]]
        signs["gcs"] = float(low + int(random.random() * (high - low + 1)))
    return signs


def least_systolic(whose: Whose) -> float:
    """Below it the systolic pressure of an age is low, in mmHg."""
    row = at_age("Least systolic pressure", Age(whose.months), SYSTOLIC)
    return float(row.mmhg + row.per_year * (whose.months // 12))


def _pressure(value: float, whose: Whose, *, has_pulse: bool, random: Random) -> float:
    least = least_systolic(whose)
    low, high = _HOLDS if has_pulse else _SHOCK
    if (value >= least) == has_pulse and value > 0:
        return value
    return least * (low + random.random() * (high - low))
