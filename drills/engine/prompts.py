"""A prompt: one question, frozen with its answer, and the facts it asks about."""

from collections.abc import Iterable
from dataclasses import dataclass

from drills.engine.facts import Fact, steps
from drills.engine.layout import Layout
from drills.engine.recipes import CONTENTS, LOCATE


@dataclass(frozen=True, slots=True)
class Prompt:
    """One question, frozen with its answer.

    `subject` is a thing key (locate) or a compartment code (contents). `answer` are compartment
    codes (locate) or thing keys (contents); `choices` are thing keys, empty where the whole rig
    is the choice. `chosen` says how the prompt was drawn: probe, focus or in order.
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


def ways(layout: Layout, kind: str, subject: str, answer: Iterable[str]) -> list[tuple[Fact, ...]]:
    """The facts that answering a prompt takes, for each way to answer it.

    Any one place is enough to find a thing; what is in a place takes all that is there.
    """
    if kind == LOCATE:
        return [steps(layout, subject, code) for code in answer]
    if kind == CONTENTS:
        return [tuple(steps(layout, key, subject)[-1] for key in answer)]
    raise ValueError(f"{kind!r} is not a kind that asks about a layout's facts.")
