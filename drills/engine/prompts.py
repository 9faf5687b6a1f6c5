"""A prompt: one question, frozen with its answer, and the facts it asks about."""

from collections.abc import Iterable
from dataclasses import dataclass

from drills.engine.calls import Call, Patient
from drills.engine.dosing import DoseProblem
from drills.engine.facts import SKILL, Fact, steps
from drills.engine.layout import Layout
from drills.engine.medicines import MedicineRule
from drills.engine.recipes import CALL_KINDS, CONTENTS, LOCATE
from drills.engine.staging import StageTask


@dataclass(frozen=True, slots=True)
class DoseTask:
    """A dose to be worked out: for whom, by which rule, and the figures of it."""

    call: Call
    patient: Patient
    rule: MedicineRule
    problem: DoseProblem
    is_rule_shown: bool


@dataclass(frozen=True, slots=True)
class Prompt:
    """One question, frozen with its answer.

    `subject` is a thing key (locate) or a compartment code (contents). `answer` are compartment
    codes (locate) or thing keys (contents); `choices` are thing keys, empty where the whole rig
    is the choice. `chosen` says how the prompt was drawn: probe, focus or in order. A prompt that
    comes from a call has its task; its subject is the call type, or the medicine.
    """

    kind: str
    subject: str
    name: str
    text: str
    depth: str
    category: str
    critical: bool
    answer: tuple[str, ...]
    choices: tuple[str, ...]
    chosen: str = ""
    stage: StageTask | None = None
    dose: DoseTask | None = None


def ways(layout: Layout, kind: str, subject: str, answer: Iterable[str]) -> list[tuple[Fact, ...]]:
    """The facts that answering a prompt takes, for each way to answer it.

    Any one place is enough to find a thing; what is in a place takes all that is there.
    """
    if kind == LOCATE:
        return [steps(layout, subject, code) for code in answer]
    if kind == CONTENTS:
        return [tuple(steps(layout, key, subject)[-1] for key in answer)]
    if kind in CALL_KINDS:
        return [(skill_of(kind, subject),)]
    raise ValueError(f"{kind!r} is not a kind of prompt that is built.")


def skill_of(kind: str, subject: str) -> Fact:
    """The fact of a prompt that asks for no place: staging for one call type, say."""
    return Fact(SKILL, f"{kind} {subject}", "")
