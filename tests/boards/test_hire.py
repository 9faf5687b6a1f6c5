"""The new hire's page."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import RecipeFactory
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.runs.models import Run
from tests.boards.conftest import move_the_bag
from tests.runs.player import Player, lately, right, wrong

URL = reverse("boards:hire")
pytestmark = pytest.mark.django_db


@pytest.fixture
def browser(hire: Person) -> Client:
    client = Client()
    client.force_login(hire)
    return client


def test_asks_for_the_rig_first(browser: Client) -> None:
    assert b"Choose the rig you ride today" in browser.get(URL).content


def test_offers_the_study_walk_before_any_drill(browser: Client, hire: Person, rig: Rig) -> None:
    pick_rig(hire, rig, now=timezone.now())

    content = browser.get(URL).content

    assert b"Walk round Rig 11" in content
    assert reverse("rigs:walk", args=[rig.layout.slug]).encode() in content


def test_offers_to_resume_what_is_open(browser: Client, run: Run) -> None:
    Player(run).past_warm_ups()

    content = browser.get(URL).content

    assert b"Resume" in content
    assert reverse("runs:take", args=[run.pk]).encode() in content


def test_offers_a_drill_of_what_was_missed(browser: Client, run: Run) -> None:
    RecipeFactory.create(slug="find-ten", name="Find ten things")
    Player(run).finish(lambda each: wrong(each))

    content = browser.get(URL).content.decode()

    assert "Find ten things" in content
    assert "missed when last asked" in content
    assert "Missed, newest first" in content


def test_offers_another_cabinet_when_nothing_was_missed(browser: Client, run: Run) -> None:
    RecipeFactory.create(slug="one-cabinet", name="One cabinet")
    Player(run).finish()

    content = browser.get(URL).content.decode()

    assert "One cabinet" in content
    assert "Missed, newest first" not in content


def test_says_not_enough_evidence_before_a_number(browser: Client, run: Run) -> None:
    player = Player(run)
    first = player.past_warm_ups()
    player.answer(first, right(first))

    content = browser.get(URL).content.decode()

    assert content.count("not enough evidence") >= 2


def test_tells_what_moved_since_the_last_ride(browser: Client, hire: Person, rig: Rig) -> None:
    pick_rig(hire, rig, now=timezone.now() - timedelta(days=9))
    move_the_bag(rig)

    content = browser.get(URL).content.decode()

    assert "Differs from your last rig" in content
    assert "<b>Response bag</b>: was S1 Street cabinet › Lower shelf › Response bag" in content
    assert "now I1 Wall cabinet › Response bag" in content
    assert content.count("now I1") == 1


def test_shows_only_the_way_back_while_an_assessed_prompt_is_open(
    browser: Client, hire: Person, rig: Rig, assessed_run: Run
) -> None:
    pick_rig(hire, rig, now=timezone.now())
    Player(assessed_run, now=lately()).past_warm_ups()

    content = browser.get(URL).content.decode()

    assert reverse("runs:take", args=[assessed_run.pk]) in content
    assert "An assessed prompt is open." in content
    assert "My rig" not in content


def test_reads_in_few_queries(browser: Client, run: Run, django_assert_max_num_queries) -> None:
    Player(run).finish()

    with django_assert_max_num_queries(20):
        browser.get(URL)


def test_the_way_back_leads_to_the_run_of_the_open_prompt(
    browser: Client, hire: Person, rig: Rig, assessed_run: Run, run: Run
) -> None:
    """A newer practice run is closed, so it is no way back."""
    Run.objects.filter(pk=run.pk).update(started_at=timezone.now())
    Player(assessed_run, now=lately()).past_warm_ups()

    content = browser.get(URL).content.decode()

    assert reverse("runs:take", args=[assessed_run.pk]) in content
    assert reverse("runs:take", args=[run.pk]) not in content
