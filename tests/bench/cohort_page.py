"""How long the educator's page takes with 200 people and 500 answers of each.

Run it as `python -m tests.bench.cohort_page`. It makes a database of its own and takes it down
again. The figure is a ratio to a bare COUNT of the evidence in the same run, so that it can be
compared between machines.
"""

import os
import sys
from collections.abc import Callable
from datetime import timedelta
from itertools import cycle, islice
from random import Random
from statistics import median
from time import perf_counter

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
django.setup()

from django.test import Client  # noqa: E402  # Django is set up first
from django.test.utils import (  # noqa: E402  # the same
    setup_databases,
    setup_test_environment,
    teardown_databases,
)
from django.urls import reverse  # noqa: E402  # the same
from django.utils import timezone  # noqa: E402  # the same

from drills.competency.actions import fact_rows  # noqa: E402  # the same
from drills.competency.models import Evidence, Fact  # noqa: E402  # the same
from drills.demo.factories import PersonFactory, RecipeFactory, rig_on  # noqa: E402  # the same
from drills.engine.scoring import (  # noqa: E402  # the same
    ELSEWHERE,
    NEXT_DOOR,
    RIGHT,
    WRONG,
    fact_nearest_to_cot,
)
from drills.people.models import Person, Role  # noqa: E402  # the same
from drills.rigs.models import Rig  # noqa: E402  # the same
from drills.rigs.reading import layout_of  # noqa: E402  # the same
from drills.runs.actions.serving import source_of  # noqa: E402  # the same
from drills.runs.models import Presentation, PresentationState, Run  # noqa: E402  # the same
from drills.scenarios.models import Drill, DrillPrompt  # noqa: E402  # the same
from tests.layouts import demo_layout  # noqa: E402  # the same

PEOPLE, ANSWERS, TIMES = 200, 500, 7
NOW = timezone.now()


def main() -> None:
    setup_test_environment()
    kept = setup_databases(verbosity=0, interactive=False)
    try:
        educator = PersonFactory.create(employee_number="EDUCATOR", roles=[Role.EDUCATOR])
        fill(rig_on(demo_layout("mesa-box"), unit="11", now=NOW - timedelta(days=99)))
        client = Client()
        client.force_login(educator)
        assert b"missed most surely" in client.get(reverse("boards:educator")).content
        page = seconds(lambda: client.get(reverse("boards:educator")).content)
        count = seconds(Evidence.objects.filter(is_first=True).count)
        sys.stdout.write(
            f"{PEOPLE} people, {Evidence.objects.count()} answers: page {page:.2f} s, "
            f"bare COUNT {count * 1000:.1f} ms, ratio {page / count:.0f}\n"
        )
    finally:
        teardown_databases(kept, verbosity=0)


def seconds(what: Callable[[], object]) -> float:
    """The median of some times, the first of which is not counted."""
    taken = []
    for _ in range(TIMES + 1):
        began = perf_counter()
        what()
        taken.append(perf_counter() - began)
    return median(taken[1:])


def fill(rig: Rig) -> None:
    """Everybody is asked where every thing is, over and over, and is wrong once in three."""
    layout = layout_of(rig.revision)
    recipe = RecipeFactory.create()
    drill = Drill.objects.create(
        recipe=recipe, recipe_version=1, revision=rig.revision, seed=1, varies=False, made_at=NOW
    )
    prompts = DrillPrompt.objects.bulk_create(
        DrillPrompt(
            drill=drill,
            position=position,
            kind="locate",
            subject=thing.key,
            name=thing.name,
            depth="pocket",
            answer=list(thing.places),
        )
        for position, thing in enumerate(layout.things.values())
    )
    asked = {each.subject: fact_nearest_to_cot(layout, each.subject) for each in prompts}
    rows = fact_rows(list(asked.values()), layout=rig.layout)
    facts = {subject: rows[fact] for subject, fact in asked.items()}
    for person in PersonFactory.create_batch(PEOPLE):
        answer(person, rig, drill, prompts, facts)


def answer(
    person: Person, rig: Rig, drill: Drill, prompts: list[DrillPrompt], facts: dict[str, Fact]
) -> None:
    layout, random = layout_of(rig.revision), Random(person.pk)  # noqa: S311  # made up
    run = Run.objects.create(person=person, drill=drill, rig=rig, mode="practice", started_at=NOW)
    given = []
    for order, prompt in enumerate(islice(cycle(prompts), ANSWERS)):
        is_right = random.random() > 1 / 3
        given.append(
            Presentation(
                run=run,
                prompt=prompt,
                order=order,
                state=PresentationState.ANSWERED,
                served_at=NOW,
                received_at=NOW - timedelta(hours=random.randrange(2000)),
                answer=[random.choice(layout.compartments).code],
                outcome=RIGHT if is_right else WRONG,
                near="" if is_right else random.choice([NEXT_DOOR, ELSEWHERE]),
            )
        )
    Presentation.objects.bulk_create(given)
    Evidence.objects.bulk_create(
        Evidence(
            person=person,
            fact=facts[prompt.subject],
            rig=rig,
            revision=rig.revision,
            at=each.received_at or NOW,
            kind="locate",
            outcome=each.outcome,
            choices_offered=len(layout.compartments),
            chosen_by="focus",
            is_first=True,
            source=source_of(each.token),
        )
        for each, prompt in zip(given, cycle(prompts), strict=False)
    )


if __name__ == "__main__":
    main()
