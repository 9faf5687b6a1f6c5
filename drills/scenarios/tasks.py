"""What a prompt that comes from a call shows, and what it is judged by, as plain data.

The two are kept apart: nothing of the second ever reaches a page before the answer is in.
"""

from collections.abc import Mapping
from dataclasses import asdict
from fractions import Fraction
from typing import Any

from drills.engine.calls import Patient
from drills.engine.devices import syringes
from drills.engine.dosing import DoseProblem, Weight, read_dose_rule, read_presentation
from drills.engine.prompts import DoseTask, Prompt
from drills.engine.quantities import Quantity, plain
from drills.engine.staging import StageTask, Wanted


def shown_of(prompt: Prompt) -> dict[str, Any]:
    """What the page of a prompt may show beside its name and text."""
    if prompt.dose:
        return _dose_shown(prompt.dose)
    return _stage_shown(prompt.stage) if prompt.stage else {}


def answer_of(prompt: Prompt) -> Any:
    """What a prompt is judged by: keys of places or things, or the task of a call."""
    if prompt.dose:
        return _dose_answer(prompt.dose)
    return _stage_answer(prompt.stage) if prompt.stage else list(prompt.answer)


def problem_in(answer: Mapping[str, Any]) -> DoseProblem:
    """The dose to be worked out, back from the answer of its prompt; figures are exact."""
    weight, _, unit = answer["weight"].partition(" ")
    return DoseProblem(
        rule=read_dose_rule(
            answer["basis"],
            answer["dose"],
            high=answer["high"],
            minimum=answer["minimum"],
            maximum=answer["maximum"],
        ),
        weight=Weight(Fraction(weight), unit),
        presentation=read_presentation(answer["presentation"]),
        devices=syringes(answer["syringes"]),
    )


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
        "patients": [_patient_shown(each) for each in call.patients],
    }


def _dose_shown(task: DoseTask) -> dict[str, Any]:
    """The patient and what is in the hand; the rule only where the recipe shows it."""
    rule, patient = task.rule, task.patient
    told = {
        "dispatch": task.call.dispatch,
        "patient": patient.number,
        "patients": [_patient_shown(patient)],
        "weight": patient.weight,
        "medicine": rule.medicine,
        "indication": rule.indication,
        "route": rule.route,
        "presentation": str(rule.presentation),
        "syringes": [f"{plain(each.holds)} mL" for each in task.problem.devices],
        "notice": rule.notice,
    }
    if not task.is_rule_shown:
        return told
    return told | {"rule": rule.printed, "source": f"{rule.source}; {rule.status}"}


def _dose_answer(task: DoseTask) -> dict[str, Any]:
    rule, aboard = task.rule.rule, task.problem.presentation
    return {
        "code": task.rule.code,
        "level": task.rule.level,
        "basis": rule.basis,
        "dose": written(rule.dose),
        "high": written(rule.dose_high),
        "minimum": written(rule.minimum),
        "maximum": written(rule.maximum),
        "weight": task.patient.weight,
        "presentation": f"{written(aboard.amount)} / {written(aboard.volume)}",
        "syringes": [int(each.holds) for each in task.problem.devices],
        "printed": task.rule.printed,
        "source": f"{task.rule.source}, {task.rule.version} ({task.rule.status})",
    }


def written(amount: Quantity | None) -> str:
    """An amount with every figure, empty for none."""
    return "" if amount is None else amount.exactly()


def _patient_shown(patient: Patient) -> dict[str, Any]:
    return {
        "number": patient.number,
        "who": patient.who,
        "findings": patient.findings,
        "signs": [" ".join(sign) for sign in patient.signs],
    }


def _stage_answer(task: StageTask) -> dict[str, Any]:
    spoken_of = {thing for each in task.wanted for thing in (*each.things, *each.instead)}
    return {
        "wanted": [asdict(each) for each in task.wanted],
        "tied": sorted(task.tied),
        "unconfirmed": sorted(spoken_of & task.unconfirmed),
    }
