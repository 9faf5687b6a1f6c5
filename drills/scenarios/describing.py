"""A prompt with its answer in plain data and words: for who previews a drill, not who takes it."""

from collections.abc import Collection
from dataclasses import asdict
from itertools import chain
from typing import Any

from drills.engine import layout as engine
from drills.engine.calls import NEEDLESS
from drills.engine.choosing import Group
from drills.engine.dosing.working import steps_to
from drills.engine.exercises import Exercise
from drills.engine.prompts import Prompt
from drills.engine.recipes import PLACE_KINDS
from drills.engine.staging import StageTask
from drills.engine.wanted import Wanted
from drills.scenarios.tasks import answer_of, shown_of


def asked(name: str, text: str) -> str:
    """A prompt in one line; a name that ends a sentence takes no full stop."""
    return f"{name}{'' if name.endswith(('?', '.')) else '.'} {text}".strip()


def describe(layout: engine.Layout, prompt: Prompt) -> dict[str, Any]:
    """A prompt as plain data: no times and no random identifiers."""
    if prompt.stage is not None:
        return _staging(layout, prompt, prompt.stage)
    if prompt.exercise is not None:
        return _exercise(prompt, prompt.exercise)
    if prompt.choosing or prompt.triage:
        return _chosen(prompt)
    return _of_the_rig(layout, prompt)


def _of_the_rig(layout: engine.Layout, prompt: Prompt) -> dict[str, Any]:
    if prompt.kind in PLACE_KINDS:
        answer, texts = list(prompt.answer), [layout.path(code) for code in prompt.answer]
    else:
        answer = texts = [layout.things[key].name for key in prompt.answer]
    return {
        "kind": prompt.kind,
        "text": prompt.text,
        "name": prompt.name,
        "subject": prompt.name if prompt.kind in PLACE_KINDS else prompt.subject,
        "depth": prompt.depth,
        "category": prompt.category,
        "critical": prompt.critical,
        "chosen": prompt.chosen,
        "choices": [layout.things[key].name for key in prompt.choices],
        "answer": answer,
        "answer_text": texts,
    }


def _staging(layout: engine.Layout, prompt: Prompt, task: StageTask) -> dict[str, Any]:
    wanted, unconfirmed = task.wanted, task.unconfirmed
    return {
        "kind": prompt.kind,
        "text": prompt.text,
        "name": prompt.name,
        **shown_of(prompt),
        "answer": [asdict(each) for each in wanted],
        "answer_text": [_wanted_words(layout, each, unconfirmed) for each in wanted],
    }


def _exercise(prompt: Prompt, task: Exercise) -> dict[str, Any]:
    solution = task.problem.solve()
    answer = solution.results[task.asked].answer
    return {
        "kind": prompt.kind,
        "text": prompt.text,
        "name": prompt.name,
        "subject": prompt.subject,
        **shown_of(prompt),
        "answer": answer,
        "answer_text": [*steps_to(solution, task.asked), answer],
    }


def _chosen(prompt: Prompt) -> dict[str, Any]:
    """A patient to sort, or what is chosen in groups."""
    texts: list[str] = []
    if prompt.triage:
        word = next(
            each.word for each in prompt.triage.choices if each.category == prompt.triage.answer
        )
        texts = [word, *prompt.triage.path]
    if prompt.choosing:
        texts = [*map(_group_words, prompt.choosing.groups), *prompt.choosing.why]
    return {
        "kind": prompt.kind,
        "text": prompt.text,
        "name": prompt.name,
        "subject": prompt.subject,
        **shown_of(prompt),
        "answer": answer_of(prompt),
        "answer_text": texts,
    }


def _group_words(group: Group) -> str:
    """What is right of a group, what one of is enough, and what may be chosen as well."""
    words = {each.key: each.words for each in group.choices}
    kinds = (
        ("", [*group.right, *dict.fromkeys(chain.from_iterable(right for _, right in group.by))]),
        *(("one of ", one) for one in group.one_of),
        ("may: ", group.may),
    )
    counted = "; ".join(f"{count} {words[key]}" for key, count in group.counts)
    named = (f"{what}{'; '.join(map(words.__getitem__, keys))}" for what, keys in kinds if keys)
    told = ". ".join(filter(None, (counted, *named)))
    return f"{group.asks} {told or 'nothing'}"


def _wanted_words(layout: engine.Layout, wanted: Wanted, unconfirmed: Collection[str]) -> str:
    """One need: its grade, how many, what serves instead, where it lies, or that it is short."""
    serving = wanted.things or wanted.instead
    if wanted.grade == NEEDLESS:
        return f"{wanted.grade}: {wanted.name}{_where(layout, serving)}"
    instead = "" if wanted.things or not serving else f", by {_names(layout, serving)}"
    short = f"; {wanted.short} short" if wanted.short else ""
    mark = "; tie not confirmed" if set(serving) & set(unconfirmed) else ""
    asked = f"{wanted.grade}: {wanted.quantity} x {wanted.name}"
    return f"{asked}{instead}{_where(layout, serving)}{short}{mark}"


def _where(layout: engine.Layout, things: Collection[str]) -> str:
    places = [layout.path(code) for thing in things for code in layout.things[thing].places]
    return f" ({'; '.join(places)})" if places else ""


def _names(layout: engine.Layout, things: Collection[str]) -> str:
    return " or ".join(layout.things[thing].name for thing in things)
