"""Makes exercises by the thousand and judges the right answer of each."""

import sys
from argparse import ArgumentParser
from collections import Counter
from collections.abc import Iterator
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from drills.engine.chance import seeded
from drills.engine.dosing import RIGHT, judge
from drills.engine.exercises import Exercise
from drills.engine.exercises.stores import Stores
from drills.engine.exercises.writers import GRADES, WRITERS, write
from drills.engine.recipes import CannotApplyError
from drills.rigs.models import Layout
from drills.scenarios.reading import material_of

NOT_RIGHT = 1


class Command(BaseCommand):
    help = "Make exercises of every topic and grade on every layout; each right answer is judged."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--each", type=int, default=100, metavar="N")

    def handle(self, *args: Any, **options: Any) -> None:
        counts: Counter[str] = Counter()
        for name, stores in _all_stores():
            for topic in WRITERS:
                for grade in GRADES:
                    found = list(_made(topic, grade, stores, options["each"]))
                    right = sum(map(is_right, found))
                    counts.update(made=len(found), right=right)
                    self.stdout.write(f"{name} {topic} {grade}: {right} of {len(found)} right")
        self.stdout.write(f"All: {counts['right']} of {counts['made']} right.")
        if counts["right"] < counts["made"]:
            sys.exit(NOT_RIGHT)


def _all_stores() -> Iterator[tuple[str, Stores]]:
    for layout in Layout.objects.all():
        if layout.published is not None:
            found = material_of(layout.published, now=timezone.now(), is_assessed=False)
            yield (
                layout.slug,
                Stores(rules=found.rules, aboard=found.aboard, settings=found.settings),
            )


def _made(topic: str, grade: int, stores: Stores, count: int) -> Iterator[Exercise]:
    """So many, or none where the rig carries nothing for it."""
    random = seeded(f"check:{topic}:{grade}")
    try:
        for _ in range(count):
            yield write(topic, grade, stores, random)
    except CannotApplyError:
        return


def is_right(exercise: Exercise) -> bool:
    """Whether what the device is set to, and the exact figure, are both right, and not refused."""
    problem = exercise.problem
    solution = problem.solve()
    result = solution.results[exercise.asked]
    if solution.refusal or result.rounded is None:
        return False
    told = {str(result.rounded), result.rounded.exactly()}
    return all(judge(problem, exercise.asked, each).verdict == RIGHT for each in told)
