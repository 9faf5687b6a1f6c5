"""What the one button of a debrief starts, and that it starts it."""

import re
from datetime import date

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import rig_on
from drills.engine.standards import Standard
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.runs.actions import assign, start_run
from drills.runs.models import Run
from drills.scenarios.models import Recipe
from tests.layouts import practice_rig
from tests.runs.conftest import ClientOf
from tests.runs.player import Chooser, Player, lately, right, wrong

pytestmark = pytest.mark.django_db

Button = tuple[str, str, dict[str, list[str]]]


def button(client_of: ClientOf, person: Person, run: Run) -> Button | None:
    """What the foot's form says, where it goes and what it sends."""
    page = client_of(person).get(reverse("runs:debrief", args=[run.pk])).content.decode()
    form = re.search(r'<form class="foot" method="post" action="([^"]+)">(.*?)</form>', page, re.S)
    if form is None:
        return None
    label = re.search(r'<button class="send">([^<]+)</button>', form[2])
    assert label
    sent: dict[str, list[str]] = {}
    for name, value in re.findall(r'name="(recipe|ask|missed)" value="([^"]+)"', form[2]):
        sent.setdefault(name, []).append(value)
    return label[1], form[1], sent


def taken(person: Person, rig: Rig, recipe: Recipe, choose: Chooser = right) -> Run:
    """A finished run on the rig that the person rides."""
    now = lately()
    pick_rig(person, rig, now=now)
    run = start_run(person, recipe=recipe, revision=rig.revision, rig=rig, now=now)
    Player(run, now).finish(choose)
    run.refresh_from_db()
    return run


def test_what_was_missed_is_asked_again_and_nothing_else(
    client_of: ClientOf, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    run = taken(hire, rig, recipe, wrong)
    missed = {
        each.prompt.name
        for each in run.presentations.filter(is_retry=False, prompt__isnull=False)
        if each.prompt
    }

    found = button(client_of, hire, run)

    assert found
    label, url, sent = found
    assert label == "Drill these"
    assert len(sent["ask"]) == len(missed)
    client_of(hire).post(url, sent)
    again = Run.objects.exclude(pk=run.pk).get()
    assert again.drill.recipe.name == "Missed before"
    assert {each.name for each in again.drill.prompts.filter(is_spare=False)} == missed


def test_with_nothing_missed_or_on_another_rig_it_leads_back_to_today(
    client_of: ClientOf, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    whole, missed = taken(hire, rig, recipe), taken(hire, rig, recipe, wrong)
    assert button(client_of, hire, whole) is None
    assert button(client_of, hire, missed)

    pick_rig(hire, rig_on(practice_rig("another-rig"), unit="12"), now=timezone.now())

    assert button(client_of, hire, missed) is None


def test_what_was_assigned_and_is_not_met_is_begun_again_and_counts(
    client_of: ClientOf, hire: Person, fto: Person, rig: Rig, recipe: Recipe
) -> None:
    assignment = assign(
        recipe,
        to=[hire],
        due_on=date(2099, 1, 5),
        standard=Standard(marks=80),
        minutes=5,
        by=fto,
        now=lately(),
    )
    run = taken(hire, rig, recipe, wrong)
    assert run.assigned
    assert run.assigned.assignment == assignment

    found = button(client_of, hire, run)

    assert found == ("Again", reverse("runs:start"), {"recipe": [recipe.slug]})
    client_of(hire).post(found[1], found[2])
    assert Run.objects.exclude(pk=run.pk).get().assigned == run.assigned


def test_with_no_attempt_left_what_was_missed_is_drilled(
    client_of: ClientOf, hire: Person, fto: Person, rig: Rig, recipe: Recipe
) -> None:
    assign(
        recipe,
        to=[hire],
        due_on=date(2099, 1, 5),
        standard=Standard(marks=80),
        minutes=5,
        attempts=1,
        by=fto,
        now=lately(),
    )

    found = button(client_of, hire, taken(hire, rig, recipe, wrong))

    assert found
    assert found[0] == "Drill these"


def test_nobody_else_is_given_the_button(
    client_of: ClientOf, hire: Person, educator: Person, rig: Rig, recipe: Recipe
) -> None:
    run = taken(hire, rig, recipe, wrong)

    assert button(client_of, hire, run)
    assert button(client_of, educator, run) is None
