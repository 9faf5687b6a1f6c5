"""A prompt: one question, frozen with its answer, and the facts it asks about."""

from collections.abc import Iterable
from dataclasses import dataclass

from drills.engine.facts import SKILL, Fact, steps
from drills.engine.layout import Layout
from drills.engine.recipes import CONTENTS, LOCATE, STAGE
from drills.engine.staging import StageTask


@dataclass(frozen=True, slots=True)
class Prompt:
    """One question, frozen with its answer.

    `subject` is a thing key (locate) or a compartment code (contents). `answer` are compartment
    codes (locate) or thing keys (contents); `choices` are thing keys, empty where the whole rig
    is the choice. `chosen` says how the prompt was drawn: probe, focus or in order. A prompt that
    comes from a call has its task, and the subject is the slug of the call type.
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


def ways(layout: Layout, kind: str, subject: str, answer: Iterable[str]) -> list[tuple[Fact, ...]]:
    """The facts that answering a prompt takes, for each way to answer it.

    Any one place is enough to find a thing; what is in a place takes all that is there.
    """
    if kind == LOCATE:
        return [steps(layout, subject, code) for code in answer]
    if kind == CONTENTS:
        return [tuple(steps(layout, key, subject)[-1] for key in answer)]
    if kind == STAGE:
        return [(skill_of(kind, subject),)]
    raise ValueError(f"{kind!r} is not a kind of prompt that is built.")


def skill_of(kind: str, subject: str) -> Fact:
    """The fact of a prompt that asks for no place: staging for one call type, say."""
    return Fact(SKILL, f"{kind} {subject}", "")
