"""What was asked lately, so that it is not asked again at once: by marks, short and alike.

A mark stands for one prompt, one call or one set of prompts, and nothing is read from it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import sha256

from drills.engine.calls import Call
from drills.engine.prompts import Prompt

# So many letters of a digest: two of a week's thousands are alike once in 10^8 weeks.
_LETTERS = 16


@dataclass(frozen=True, slots=True)
class Lately:
    """Marks of a week: prompts that the person is not to get again, and what a cohort had.

    `known` are places that the person found right and figures that came out; what was missed is not
    among them. `calls` and `sets` are those of everybody of the person's cohorts, the person
    included. `had` are prompts that the person had at all in a quarter, right or not. What asks for
    a fact of `again`, as text, comes again although it is known.
    """

    known: frozenset[str] = frozenset()
    had: frozenset[str] = frozenset()
    calls: frozenset[str] = frozenset()
    sets: frozenset[str] = frozenset()
    again: frozenset[str] = frozenset()


NOTHING = Lately()


def mark_of(prompt: Prompt) -> str:
    """The mark of a prompt: the same for the same question, whichever drill it is of."""
    if prompt.exercise:
        return digest(prompt.exercise.figures)
    call = call_of(prompt)
    if prompt.choosing and not call:
        told = (prompt.choosing.happened, *map(str, prompt.choosing.told), *prompt.choosing.signs)
        return digest((prompt.kind, prompt.subject, *told))
    about = (call_mark(call), prompt.name) if call else (prompt.subject, prompt.category)
    return digest((prompt.kind, *about))


def call_of(prompt: Prompt) -> Call | None:
    """The call that a prompt comes from, where it comes from one."""
    return prompt.stage.call if prompt.stage else prompt.call


def call_mark(call: Call) -> str:
    """The mark of a call: who is there and what is seen of them, whatever the caller said."""
    told = (f"{each.who}: {each.findings}" for each in call.patients)
    return digest((call.call_type, *told))


def mark_of_set(prompts: Iterable[Prompt]) -> str:
    """The mark of a set of prompts."""
    return set_mark(map(mark_of, prompts))


def set_mark(marks: Iterable[str]) -> str:
    """The mark of a set of prompts by theirs, in whichever order they came."""
    return digest(sorted(marks))


def digest(words: Iterable[str]) -> str:
    """The mark of some words in their order."""
    return sha256("\n".join(words).encode()).hexdigest()[:_LETTERS]
