"""What of somebody kills soon, by what is found of them and the limits of the scheme."""

from collections.abc import Mapping
from typing import Any

from drills.engine.incidents.findings import Sorting, Whose, rate_limits
from drills.engine.triage import JUMPSTART, SALT, START
from drills.engine.triage.findings import REFILL

LONG_REFILL_S = 2


def threats(findings: Mapping[str, Any], whose: Whose, sorting: Sorting) -> tuple[str, ...]:
    """What of somebody kills soon, by the limits of the scheme, in the order of `REASONS`."""
    scheme = sorting.scheme(is_child=whose.is_child)
    tests = {
        "airway": not findings["breathes"],
        "breathing": bool(findings["breathes"]) and _breathes_badly(findings, whose, scheme),
        "circulation": _is_circulation_bad(findings, sorting, scheme),
        "mind": _is_mind_gone(findings, scheme),
        "bleeding": findings.get("bleeding_controlled") is False,
    }
    return tuple(name for name, is_so in tests.items() if is_so)


def _breathes_badly(findings: Mapping[str, Any], whose: Whose, scheme: str) -> bool:
    least, most = rate_limits(whose.chart)
    is_counted = scheme != SALT
    is_off = not least <= findings["rate"] <= most
    return bool(findings.get("distress")) or (is_counted and is_off)


def _is_circulation_bad(findings: Mapping[str, Any], sorting: Sorting, scheme: str) -> bool:
    if scheme == START and sorting.perfusion == REFILL and findings.get("refill_s") is not None:
        return bool(findings["refill_s"] > LONG_REFILL_S) or not findings["pulse"]
    return not findings["pulse"]


def _is_mind_gone(findings: Mapping[str, Any], scheme: str) -> bool:
    """Who moves on purpose and does not obey may speak another language: nothing kills there."""
    if scheme == JUMPSTART:
        return findings["avpu"] == "U" or bool(findings.get("posturing"))
    return not findings["obeys"] and not findings["purposeful"]
