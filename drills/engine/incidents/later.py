"""A second look: what is found of somebody some minutes later, which may have changed.

Who gets worse does so in the way of the problem: pulse, rate, mind or airway. The appearance
stays as it was. Nobody gets better here: what was done for them is not known.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from drills.engine.calls import Patient
from drills.engine.chance import seeded
from drills.engine.dispatch import told_signs
from drills.engine.incidents.findings import draw_findings
from drills.engine.incidents.making import Casualty, Incident
from drills.engine.incidents.signs import fitting_signs
from drills.engine.incidents.tables import (
    LEVELS,
    MINOR_GRADES,
    PROBLEMS,
    WORSENINGS,
    Worsening,
    pattern_named,
)

UNCHANGED = "Unchanged to look at."


@dataclass(frozen=True, slots=True)
class Look:
    """A casualty at a second look; `words` say what is new, and are empty where nothing is."""

    casualty: Casualty
    words: str

    @property
    def told(self) -> str:
        """What is new, or that nothing is."""
        return self.words or UNCHANGED

    @property
    def patient(self) -> Patient:
        """The patient as found now: what is new, and the signs of now."""
        found = self.casualty
        return replace(found.patient, later=self.told, signs=told_signs(found.signs))


def look_again(incident: Incident, *, seed: str) -> tuple[Look, ...]:
    """Everybody of an incident some minutes later, the same for the same seed.

    By the level some have got worse; counted figures are counted anew, and may differ a little.
    """
    random = seeded(f"second look/1:{incident.call.call_type}:{seed}")
    share = float(LEVELS[incident.level].worsens)
    looks = []
    for casualty in incident.casualties:
        step = _worsening(casualty) if random.random() < share else None
        pattern = pattern_named(step.pattern) if step else casualty.pattern
        findings = draw_findings(
            casualty.appearance, pattern, casualty.whose, 0.0, random, casualty.own_breaths
        )
        later = replace(
            casualty,
            findings=MappingProxyType(findings),
            pattern=pattern,
            signs=MappingProxyType(fitting_signs(casualty.signs, findings, casualty.whose, random)),
        )
        looks.append(Look(later, step.words if step else ""))
    return tuple(looks)


def _worsening(casualty: Casualty) -> Worsening | None:
    """How somebody may get worse: who is badly off already, or has minor injuries, does not."""
    if casualty.appearance.grade in MINOR_GRADES or not _is_holding(casualty.findings):
        return None
    return WORSENINGS.get(PROBLEMS[casualty.appearance.problem].worsens)


def _is_holding(findings: Mapping[str, object]) -> bool:
    """Breathes without distress, has a pulse and a mind: there is something left to lose."""
    return bool(
        findings["breathes"]
        and findings["pulse"]
        and findings["purposeful"]
        and not findings["distress"]
    )
