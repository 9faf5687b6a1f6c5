"""What a prompt that comes from a call shows, and what it is judged by, as plain data.

The two are kept apart: nothing of the second ever reaches a page before the answer is in.
"""

import json
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from drills.engine.calls import Call, Patient
from drills.engine.dosing import Problem
from drills.engine.dosing.dilution import CONCENTRATION
from drills.engine.dosing.dose import VOLUME
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.sums import KG
from drills.engine.exercises import Exercise
from drills.engine.incidents.asking import TriagePrompt
from drills.engine.optimum import PatientPlace
from drills.engine.prompts import Prompt
from drills.engine.staging import StageTask
from drills.engine.wanted import Wanted

# A weight and the strength of a mixture are figures of something, and nothing is given.
GIVES_NOTHING = frozenset({KG, CONCENTRATION})


def shown_of(prompt: Prompt) -> dict[str, Any]:
    """What the page of a prompt may show beside its name and text."""
    if prompt.exercise:
        return _call_shown(prompt) | exercise_shown(prompt.exercise)
    if prompt.choosing:
        return (call_shown(prompt.call) if prompt.call else {}) | prompt.choosing.shown()
    if prompt.triage and prompt.call:
        return _triage_shown(prompt.triage, prompt.call)
    return _stage_shown(prompt.stage) if prompt.stage else {}


def answer_of(prompt: Prompt) -> Any:
    """What a prompt is judged by: keys of places or things, or the task of a call."""
    if prompt.exercise:
        return exercise_answer(prompt.exercise)
    if prompt.choosing:
        return prompt.choosing.answer()
    if prompt.triage:
        return _triage_answer(prompt.triage)
    return _stage_answer(prompt.stage) if prompt.stage else list(prompt.answer)


def problem_in(answer: Mapping[str, Any]) -> Problem:
    """The problem to be worked out, back from the answer of its prompt; figures are exact."""
    return read_problem(answer["problem"] if "problem" in answer else _kept_before(answer))


def figure_asked(answer: Mapping[str, Any]) -> str:
    """Which figure of its problem a prompt asks for."""
    return str(answer.get("asked", VOLUME))


def _triage_shown(asked: TriagePrompt, call: Call) -> dict[str, Any]:
    """The patient as found, and every category of the scheme, whichever is right."""
    patient = _found_shown(asked.number, asked.who, asked.found)
    return call_shown(call) | {
        "patient": asked.number,
        "patients": [patient],
        "categories": [[each.category, each.word, each.colour] for each in asked.choices],
    }


def _triage_answer(asked: TriagePrompt) -> dict[str, Any]:
    return {
        "family": asked.family,
        "category": asked.answer,
        "path": list(asked.path),
        "scheme": asked.says.removesuffix("."),
        "sources": list(asked.sources),
        "look": asked.look,
    }


def _kept_before(answer: Mapping[str, Any]) -> dict[str, Any]:
    """The problem of a prompt that was frozen before problems were kept as such."""
    is_per_kg = answer["basis"] == "per kg"
    amount, _, volume = answer["presentation"].partition(" / ")
    per = "/kg" if is_per_kg else ""
    return {
        "kind": "dose",
        "per_weight" if is_per_kg else "fixed": f"{answer['dose']}{per}",
        "high": f"{answer['high']}{per}" if answer["high"] else None,
        "min": answer["minimum"] or None,
        "max": answer["maximum"] or None,
        "weight": answer["weight"],
        "concentration": {"amount": amount, "in": volume},
        "syringes": answer["syringes"],
    }


def wanted_in(answer: Mapping[str, Any]) -> tuple[Wanted, ...]:
    """What a staging prompt asks for, back from its answer."""
    return tuple(Wanted(**_as_kept(each)) for each in answer["wanted"])


def stands_in(answer: Mapping[str, Any]) -> PatientPlace:
    """Where a staging prompt is brought to; the usual place where none was frozen with it."""
    return PatientPlace(**answer.get("stands", {}))


def _as_kept(given: Mapping[str, Any]) -> dict[str, Any]:
    """Lists of plain data are tuples in the engine."""
    return {name: tuple(each) if isinstance(each, list) else each for name, each in given.items()}


def call_shown(call: Call) -> dict[str, Any]:
    """A call as its prompts show it: what was said, and everybody by findings."""
    return {
        "dispatch": call.dispatch,
        "patients": [_patient_shown(each) for each in call.patients],
        "is_unreviewed": not call.is_reviewed,
    }


def _stage_shown(task: StageTask) -> dict[str, Any]:
    shown = call_shown(task.call) | {"patient": task.patient}
    if not task.area:
        return shown
    return shown | {"area": task.area, "patients": [_found_shown(*each) for each in task.told]}


def _call_shown(prompt: Prompt) -> dict[str, Any]:
    """The call, where a prompt comes from one, and the patient that it is about, else all."""
    if prompt.call is None:
        return {}
    shown, one = call_shown(prompt.call), prompt.patient
    if one is None:
        return shown | {"patient": 0}
    patient = _patient_shown(one)
    patient["signs"].append(f"Weight {one.weight}")
    return shown | {"patient": one.number, "patients": [patient]}


def exercise_shown(task: Exercise) -> dict[str, Any]:
    """What is told; the rule only where the recipe shows it."""
    told = {
        "question": task.question,
        "topic": task.topic,
        **_medicine_shown(task),
        "facts": [[each.label, each.words, each.note] for each in task.facts],
        "units": list(task.units),
        "fineness": task.fineness,
        "notice": task.notice,
    }
    return told | {"rule": task.rule, "source": task.source} if task.is_rule_shown else told


def _medicine_shown(task: Exercise) -> dict[str, Any]:
    """The medicine in the hand, where a rule of the formulary is asked."""
    if task.medicine is None:
        return {}
    return {
        "medicine": task.medicine.medicine,
        "route": task.medicine.route,
        "indication": task.medicine.indication,
        "weight": task.weight,
        "presentation": str(task.medicine.presentation or ""),
        "syringes": [f"{size} mL" for size in json.loads(task.given).get("syringes", ())],
    }


def exercise_answer(task: Exercise) -> dict[str, Any]:
    """What an exercise is judged by, and what is told after it; a level only of what is given."""
    is_given = task.asked not in GIVES_NOTHING
    return {
        "problem": json.loads(task.given),
        "asked": task.asked,
        "code": task.medicine.code if task.medicine else "",
        "level": task.medicine.level if task.medicine and is_given else "",
        "printed": task.rule,
        "source": task.source,
        "topic": task.topic,
        "grade": task.grade,
        "trap": task.trap,
    }


def _found_shown(number: int, who: str, findings: str) -> dict[str, Any]:
    """A patient by findings in words, as a prompt that sorts tells them."""
    return {"number": number, "who": who, "findings": findings, "signs": []}


def _patient_shown(patient: Patient) -> dict[str, Any]:
    return {
        "number": patient.number,
        "who": patient.who,
        "findings": ". ".join(filter(None, (patient.findings, patient.later.removesuffix(".")))),
        "signs": [" ".join(sign) for sign in patient.signs],
    }


def _stage_answer(task: StageTask) -> dict[str, Any]:
    spoken_of = {thing for each in task.wanted for thing in (*each.things, *each.instead)}
    return {
        "wanted": [asdict(each) for each in task.wanted],
        "tied": sorted(task.tied),
        "unconfirmed": sorted(spoken_of & task.unconfirmed),
        "stands": asdict(task.stands),
    }
