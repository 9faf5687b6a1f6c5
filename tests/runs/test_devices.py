"""What tapping costs is measured on each kind of device, and each prompt keeps its own."""

import re

import pytest
from django.urls import reverse

from drills.people.models import Person
from drills.runs.actions import answer_prompt, begin, call_away, serve_next
from drills.runs.models import Run, TappingBaseline
from tests.runs.conftest import ClientOf
from tests.runs.player import Player, lately, right

pytestmark = pytest.mark.django_db


def test_a_run_gone_on_with_elsewhere_measures_tapping_there(run: Run, hire: Person) -> None:
    player = Player(run)
    first = player.past_warm_ups()
    call_away(run, now=player.now)

    there = begin(run, device_class="desk", is_timed=True, now=player.now).presentation

    assert there is not None
    assert (first.device_class, there.device_class) == ("phone", "desk")
    assert there.is_warm_up
    for _ in range(3):
        player.answer(there, right(there), seconds=0.5)
        there = player.serve()
        assert there is not None
    assert (there.is_warm_up, there.device_class, there.baseline_seconds) == (False, "desk", 0.5)
    assert dict(TappingBaseline.objects.values_list("device_class", "seconds")) == {
        "phone": 1.5,
        "desk": 0.5,
    }
    assert hire.baselines.count() == 2


def test_warm_ups_are_counted_within_the_three_of_each_device(
    run: Run, hire: Person, client_of: ClientOf
) -> None:
    player = Player(run, now=lately())
    player.past_warm_ups()
    call_away(run, now=player.now)
    there = begin(run, device_class="desk", is_timed=True, now=player.now).presentation
    browser, said = client_of(hire), []
    while there is not None and there.is_warm_up:
        page = browser.get(reverse("runs:take", args=[run.pk])).content.decode()
        said += re.findall(r"\d+ of \d+", page)[:1]
        player.answer(there, right(there), seconds=0.5)
        there = player.serve()

    assert said == ["1 of 3", "2 of 3", "3 of 3"]


def test_what_is_served_next_goes_to_the_same_device(run: Run) -> None:
    player = Player(run)
    first = player.past_warm_ups()
    player.answer(first, right(first))

    following = serve_next(run, now=player.now)

    assert following is not None
    assert following.device_class == "phone"


def test_a_person_erased_meanwhile_leaves_a_run_that_still_answers(run: Run) -> None:
    player = Player(run)
    presentation = player.begin()
    Run.objects.filter(pk=run.pk).update(person=None)

    for _ in range(3):
        answer_prompt(
            run,
            token=presentation.token,
            tokens=[run.token_for(presentation.subject)],
            claim=None,
            now=player.now,
        )
        following = serve_next(run, now=player.now)
        assert following is not None
        presentation = following

    assert not TappingBaseline.objects.exists()
