"""What is closed to a person while an assessed prompt of theirs is open."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.people.models import Person, Role, RoleGrant
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.runs.actions import call_away, start_run
from drills.runs.models import Presentation, PresentationState, Run
from drills.scenarios.models import Recipe
from tests.runs.conftest import FRAGMENT, NOW, ClientOf
from tests.runs.player import Player, lately, right

pytestmark = pytest.mark.django_db


@pytest.fixture
def finished(hire: Person, rig: Rig, recipe: Recipe) -> Run:
    """A practice run of the hire's that is over; its debrief tells answers."""
    run = start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=NOW, seed=3)
    Player(run, now=NOW - timedelta(days=1)).finish()
    return run


@pytest.fixture
def browser(client_of: ClientOf, hire: Person, rig: Rig) -> Client:
    pick_rig(hire, rig, now=NOW)
    RoleGrant.objects.bulk_create(
        RoleGrant(person=hire, role=role) for role in (Role.FTO, Role.EDUCATOR, Role.KEEPER)
    )
    return client_of(hire)


def pages(run: Run, finished: Run) -> list[str]:
    slug = run.drill.revision.layout.slug
    return [
        reverse("rigs:layout", args=[slug]),
        reverse("rigs:layout", args=[slug]) + "?find=tourniquet",
        reverse("rigs:walk", args=[slug]),
        reverse("rigs:walk", args=[slug, "S1"]),
        reverse("rigs:revision", args=[slug, 1]),
        reverse("rigs:export", args=[slug, 1, "xlsx"]),
        reverse("rigs:import"),
        reverse("rigs:absences"),
        reverse("runs:take", args=[run.pk]),
        reverse("runs:debrief", args=[finished.pk]),
        reverse("boards:fto"),
        reverse("boards:educator"),
        reverse("boards:person", args=["HIRE"]),
    ]


@pytest.mark.parametrize("headers", [{}, FRAGMENT], ids=["page", "fragment"])
def test_whatever_could_tell_an_answer(
    browser: Client, run: Run, finished: Run, assessed_run: Run, headers: dict[str, str]
) -> None:
    for page in pages(run, finished):
        assert browser.get(page, headers=headers).status_code == 200, page

    Player(assessed_run, now=lately()).past_warm_ups()

    for page in pages(run, finished):
        assert browser.get(page, headers=headers).status_code == 403, page


def test_opens_again_when_called_away(
    browser: Client, run: Run, finished: Run, assessed_run: Run
) -> None:
    player = Player(assessed_run, now=lately())
    player.past_warm_ups()
    call_away(assessed_run, now=player.now)

    for page in pages(run, finished):
        assert browser.get(page).status_code == 200, page


def test_no_practice_is_begun_answered_or_continued(
    browser: Client, run: Run, assessed_run: Run, recipe: Recipe
) -> None:
    practice = Player(run).past_warm_ups()
    Player(assessed_run, now=lately()).past_warm_ups()

    assert browser.post(reverse("runs:start"), {"recipe": recipe.slug}).status_code == 403
    assert browser.post(reverse("runs:proceed", args=[run.pk])).status_code == 403
    sent = {"token": practice.token, "place": run.token_for(right(practice)[0])}
    assert browser.post(reverse("runs:answer", args=[run.pk]), sent).status_code == 403


@pytest.mark.parametrize("headers", [{}, FRAGMENT], ids=["page", "fragment"])
def test_an_answer_that_meets_an_assessed_prompt_is_given_back_and_taken_after_it(
    browser: Client, run: Run, assessed_run: Run, headers: dict[str, str]
) -> None:
    practice = Player(run).past_warm_ups()
    Presentation.objects.filter(pk=practice.pk).update(served_at=timezone.now())
    player = Player(assessed_run, now=lately())
    player.past_warm_ups()
    url = reverse("runs:answer", args=[run.pk])
    sent = {"token": practice.token, "place": run.token_for(right(practice)[0])}

    held = browser.post(url, sent, headers=headers)

    said = held.content.decode()
    assert held.status_code == 403
    assert f'name="place" value="{sent["place"]}"' in said
    assert f'data-go href="{reverse("runs:take", args=[assessed_run.pk])}"' in said
    practice.refresh_from_db()
    assert (practice.state, practice.answer) == (PresentationState.OPEN, [])

    call_away(assessed_run, now=player.now)
    browser.post(url, sent, headers=headers)

    practice.refresh_from_db()
    assert practice.state == PresentationState.ANSWERED


def test_the_brief_of_an_assessed_run_names_the_practice_it_closes(
    browser: Client, run: Run, assessed_run: Run
) -> None:
    page = reverse("runs:take", args=[assessed_run.pk])
    assert b"Another run of yours is open" not in browser.get(page).content

    Player(run).past_warm_ups()

    said = browser.get(page).content.decode()
    assert said.count("Another run of yours is open") == 1
    assert reverse("runs:take", args=[run.pk]) in said


def test_the_end_of_one_assessed_run_leaves_the_prompt_of_another_closed(
    hire: Person, rig: Rig, assessed: Recipe, assessed_run: Run
) -> None:
    other = start_run(hire, recipe=assessed, revision=rig.revision, rig=rig, now=NOW, seed=9)
    player = Player(other)
    player.past_warm_ups()
    Player(assessed_run, now=lately()).past_warm_ups()

    call_away(assessed_run, now=player.now)
    hire.refresh_from_db()
    assert hire.has_assessed_prompt_at(player.now)

    call_away(other, now=player.now)
    hire.refresh_from_db()
    assert not hire.has_assessed_prompt_at(player.now)


def test_the_assessed_run_itself_stays_open(browser: Client, assessed_run: Run) -> None:
    Player(assessed_run, now=lately()).past_warm_ups()

    assert browser.get(reverse("runs:take", args=[assessed_run.pk])).status_code == 200
    assert browser.get(reverse("boards:hire")).status_code == 200
    assert browser.get(reverse("boards:drills")).status_code == 200
