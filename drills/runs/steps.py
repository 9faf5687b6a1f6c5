"""Drills that follow each other, and where a person stands in them. Nothing is locked by it."""

from collections import defaultdict
from itertools import pairwise

from drills.engine.standards import Result, shortfalls
from drills.people.models import Person
from drills.runs.models import Run, RunState
from drills.runs.reports import results_of
from drills.scenarios.models import Recipe

# Ours, no source: each is easier than the one after it.
SERIES = (
    ("dosing-ladder-1", "dosing-ladder-2", "dosing-ladder-3"),
    ("triage-first", "triage-many", "triage-assessed"),
    ("multi-patient-first", "multi-patient-assessed"),
)
_BEFORE = {late: early for each in SERIES for early, late in pairwise(each)}
_AFTER = {early: late for late, early in _BEFORE.items()}


def not_passed_before(person: Person) -> dict[str, str]:
    """By drill, that the person has not passed the one before it, in words; in four queries."""
    early = Recipe.objects.filter(slug__in=_AFTER).in_bulk(field_name="slug")
    taken = _taken(person, early)
    told = {}
    for late, slug in _BEFORE.items():
        if slug in early and not any(map(_is_passed, taken[slug])):
            went = "not passed" if taken[slug] else "not taken"
            told[late] = f"You have {went} “{early[slug]}” yet"
    return told


def next_step(run: Run, result: Result) -> tuple[str, Recipe] | None:
    """What a run of a series leads to, in a word and as a drill: the next one once this was passed,
    until then this one again; nothing after the last, of a run that was never judged, and of what
    is retired."""
    recipe = run.drill.recipe
    if result.is_voided or recipe.retired_on or recipe.slug not in {*_BEFORE, *_AFTER}:
        return None
    if not _is_passed((run, result)):
        return "Again", recipe
    after = Recipe.objects.in_use().filter(slug=_AFTER.get(recipe.slug, "")).first()
    return ("Next", after) if after else None


def _taken(person: Person, early: dict[str, Recipe]) -> dict[str, list[tuple[Run, Result]]]:
    runs = Run.objects.filter(
        person=person, state=RunState.FINISHED, drill__recipe__in=early.values()
    ).select_related("drill__recipe")
    found = list(runs)
    results = results_of(found)
    taken: dict[str, list[tuple[Run, Result]]] = defaultdict(list)
    for run in found:
        taken[run.drill.recipe.slug].append((run, results[run.pk]))
    return taken


def _is_passed(of: tuple[Run, Result]) -> bool:
    """Whether all of it was answered, nothing unsafe, and as well as the drill itself asks."""
    run, result = of
    return not result.unsafe and not shortfalls(run.drill.standard, result)
