"""What a prompt that comes from a call shows, and what it is judged by, as plain data.

The two are kept apart: nothing of the second ever reaches a page before the answer is in.
"""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from drills.engine.prompts import Prompt
from drills.engine.staging import StageTask, Wanted


def shown_of(prompt: Prompt) -> dict[str, Any]:
    """What the page of a prompt may show beside its name and text."""
    return _stage_shown(prompt.stage) if prompt.stage else {}


def answer_of(prompt: Prompt) -> Any:
    """What a prompt is judged by: keys of places or things, or the task of a call."""
    return _stage_answer(prompt.stage) if prompt.stage else list(prompt.answer)


def wanted_in(answer: Mapping[str, Any]) -> tuple[Wanted, ...]:
    """What a staging prompt asks for, back from its answer."""
    return tuple(Wanted(**_as_kept(each)) for each in answer["wanted"])


def _as_kept(given: Mapping[str, Any]) -> dict[str, Any]:
    """Lists of plain data are tuples in the engine."""
    return {name: tuple(each) if isinstance(each, list) else each for name, each in given.items()}


def _stage_shown(task: StageTask) -> dict[str, Any]:
    call = task.call
    return {
        "dispatch": call.dispatch,
        "patient": task.patient,
        "patients": [
            {
                "number": each.number,
                "who": each.who,
                "findings": each.findings,
                "signs": [" ".join(sign) for sign in each.signs],
            }
            for each in call.patients
        ],
    }


def _stage_answer(task: StageTask) -> dict[str, Any]:
    return {"wanted": [asdict(each) for each in task.wanted], "tied": sorted(task.tied)}
