"""Put one patient into a category by a published triage scheme, read and printed as JSON."""

from collections.abc import Mapping
from typing import Any

from drills.engine.door import shown
from drills.engine.triage import CHARTS, second_look, triage
from drills.engine.triage.charts import Outcome
from drills.engine.triage.field import FIELD, field_triage
from drills.engine.triage.findings import FindingError, yes_or_no
from drills.people.doors import JsonDoor

SCHEMES = (*CHARTS, FIELD)


class Command(JsonDoor):
    """Reads the scheme and what was found and prints the category; no database is touched.

    A finding that is missing and needed is named.
    """

    help = (
        "Triage one patient by START, JumpSTART, SALT or the 2021 field criteria: JSON in and out."
    )

    def told(self, given: Any) -> dict[str, Any]:
        """The category and the way to it, or the finding that is needed."""
        outcome = _outcome(given)
        if outcome.category is None:
            return {"category": None, "needs": outcome.needs}
        return {"category": outcome.category, "path": list(outcome.path)}


def _outcome(given: Any) -> Outcome:
    if not isinstance(given, Mapping):
        raise FindingError(
            f"standard input: {shown(given)} came in; an object with a scheme is accepted."
        )
    findings = dict(given)
    scheme = _scheme(findings.pop("scheme", None))
    again = findings.pop("second_look", None)
    is_second = again is not None and yes_or_no("second_look", again)
    if scheme == FIELD:
        if is_second:
            raise FindingError("second_look: true came in; the field criteria have none.")
        return field_triage(findings)
    return second_look(scheme, findings) if is_second else triage(scheme, findings)


def _scheme(given: Any) -> str:
    accepted = ", ".join(SCHEMES)
    if given is None:
        raise FindingError(f"scheme: it is missing; it is one of {accepted}.")
    if not isinstance(given, str) or given.casefold() not in SCHEMES:
        raise FindingError(f"scheme: {shown(given)} came in; accepted is {accepted}.")
    return given.casefold()
