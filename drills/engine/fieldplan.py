"""Drills that judge one injured patient at a time by the field criteria: a prompt for each."""

from random import Random

from drills.engine.chance import seeded
from drills.engine.injured import Injured, draw_injured
from drills.engine.injured.asking import TEXT, asked_of
from drills.engine.injured.making import CATEGORIES, draw_category
from drills.engine.prompts import Prompt
from drills.engine.recipes import FIELD, TRIAGE, RecipeSpec


def field_prompts(
    spec: RecipeSpec, seed: int, count: int, *, spares: int = 0, chosen: str
) -> list[Prompt]:
    """So many patients and spares, no criterion aimed at twice while others are left; `chosen` is
    how they are said to be drawn. Their stream is their own: they change nothing else of a drill.

    Where there are as many patients as categories, each comes up at least once among them.
    """
    random = seeded(f"field/1:{spec.slug}:{seed}")
    categories = _categories(count, spec.difficulty, random)
    categories += [draw_category(random, difficulty=spec.difficulty) for _ in range(spares)]
    patients: list[Injured] = []
    for category in categories:
        used = {each.aim for each in patients}
        patients.append(
            draw_injured(random, difficulty=spec.difficulty, used=used, category=category)
        )
    return [_prompt(each, chosen) for each in patients]


def _categories(count: int, difficulty: int, random: Random) -> list[str]:
    """As drawn by the shares; again where one that there is room for is missing."""
    while True:
        found = [draw_category(random, difficulty=difficulty) for _ in range(count)]
        if count < len(CATEGORIES) or set(found) == set(CATEGORIES):
            return found


def _prompt(patient: Injured, chosen: str) -> Prompt:
    return Prompt(
        kind=TRIAGE,
        subject=FIELD,
        name=f"{patient.who.capitalize()}: high risk, moderate risk, or neither?",
        text=TEXT,
        chosen=chosen,
        choosing=asked_of(patient),
    )
