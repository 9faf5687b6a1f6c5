"""A prompt: one question, frozen with its answer, and the facts it asks about."""

from collections.abc import Iterable
from dataclasses import dataclass

from drills.engine.calls import Call, Patient
from drills.engine.choosing import Choosing
from drills.engine.exercises import Exercise
from drills.engine.facts import SKILL, Fact, bag_fact, steps
from drills.engine.incidents.asking import TriagePrompt
from drills.engine.layout import Layout
from drills.engine.recipes import CONTENTS, FIELD, LOCATE, MOVED, PLACELESS_KINDS, REACH, TRIAGE
from drills.engine.staging import StageTask

# No key of a thing has two spaces in a row, so that a bag is never taken for one.
BAG_SIGN = "bag  "
HAND_OVER = "hand it over"


@dataclass(frozen=True, slots=True)
class Prompt:
    """One question, frozen with its answer.

    `subject` is a thing key (locate), a compartment code (contents), or either (moved), the code
    of a bag as `bag_subject` writes it. `answer` are compartment codes (locate, moved) or thing
    keys (contents, reach); `choices` are thing keys, empty where the whole rig
    is the choice. `chosen` says how the prompt was drawn: probe, focus or in order. A prompt that
    stages a call has its task, one that is worked out its exercise, one that sorts a patient its
    findings, one that chooses among what is told its groups, with the call and the patient where
    it comes from one; its subject is the call type, that of the exercise, the chart or the task.
    Such a prompt is critical, and has no place and no choices.
    """

    kind: str
    subject: str
    name: str
    text: str
    depth: str = ""
    category: str = ""
    critical: bool = True
    answer: tuple[str, ...] = ()
    choices: tuple[str, ...] = ()
    chosen: str = ""
    stage: StageTask | None = None
    exercise: Exercise | None = None
    call: Call | None = None
    patient: Patient | None = None
    triage: TriagePrompt | None = None
    choosing: Choosing | None = None


def ways(layout: Layout, kind: str, subject: str, answer: Iterable[str]) -> list[tuple[Fact, ...]]:
    """The facts that answering a prompt takes, for each way to answer it.

    Any one place is enough to find a thing; what is in a place takes all that is there.
    """
    if bag := bag_asked(subject):
        return [(bag_fact(layout, bag),)]
    if kind in (LOCATE, MOVED):
        return [steps(layout, subject, code) for code in answer]
    if kind == CONTENTS:
        return [tuple(steps(layout, key, subject)[-1] for key in answer)]
    if kind in PLACELESS_KINDS:
        return [(skill_of(kind, subject),)]
    raise ValueError(f"{kind!r} is not a kind of prompt that is built.")


def asked_as(kind: str, subject: str) -> str:
    """What a recipe asks for to get a prompt: its kind, or patients by the field criteria."""
    return FIELD if (kind, subject) == (TRIAGE, FIELD) else kind


def bag_subject(code: str) -> str:
    """The subject of a prompt that asks where a bag is, by the code of the bag."""
    return f"{BAG_SIGN}{code}"


def bag_asked(subject: str) -> str:
    """The code of the bag that a prompt asks for; empty when it asks for anything else."""
    return subject.removeprefix(BAG_SIGN) if subject.startswith(BAG_SIGN) else ""


def skill_of(kind: str, subject: str) -> Fact:
    """The fact of a prompt that asks for no place: staging for one call type, say.

    What is reached from a seat is one skill of that seat, whichever category was asked.
    """
    if kind == REACH:
        subject = " ".join(subject.split(" ", 2)[:2])
    return Fact(SKILL, f"{kind} {subject}", "")


def seat_subject(layout: str, seat: str, category: str) -> str:
    """The subject of a prompt that asks what is reached, by the slug of the layout and the code
    of the seat; neither has a space."""
    return f"{layout} {seat} {category}"


def seat_asked(subject: str) -> str:
    """The code of the seat that a prompt asks from."""
    return subject.split(" ", 2)[1]


def category_asked(subject: str) -> str:
    """The category that a prompt asks from a seat."""
    return subject.split(" ", 2)[2]
