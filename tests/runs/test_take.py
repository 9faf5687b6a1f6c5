"""The page of a run, state by state."""

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django.utils.html import strip_tags

from drills.engine.serving import MOST_RETRIES
from drills.engine.standards import Standard
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.runs.actions import assign, call_away
from drills.runs.models import Presentation, PresentationState, Run
from drills.scenarios.models import DrillPrompt, Recipe
from tests.runs.conftest import FRAGMENT, ClientOf
from tests.runs.player import Player, right, wrong

pytestmark = pytest.mark.django_db


def page(run: Run) -> str:
    return reverse("runs:take", args=[run.pk])


@pytest.mark.parametrize("in_time", [None, 80])
def test_that_untimed_cannot_meet_a_standard_of_time_is_said_before(
    run: Run, hire: Person, fto: Person, client_of: ClientOf, in_time: int | None
) -> None:
    """Of one that asks for none it is not said."""
    assigned = assign(
        run.drill.recipe,
        to=[hire],
        due_on=timezone.localdate(),
        standard=Standard(None, in_time),
        minutes=5,
        by=fto,
        now=timezone.now(),
    ).assigned.get()
    Run.objects.filter(pk=run.pk).update(assigned=assigned)
    content = client_of(hire).get(page(run)).content.decode()

    assert "Begin untimed" in content
    assert ("untimed cannot meet it" in content) is (in_time is not None)


def test_says_what_comes_before_it_begins(client_of: ClientOf, run: Run, hire: Person) -> None:
    response = client_of(hire).get(page(run))

    assert b"6 prompts" in response.content
    assert b"Begin untimed" in response.content
    assert not run.presentations.exists()


def test_states_a_cut_off_before_the_start(
    client_of: ClientOf, assessed_run: Run, hire: Person
) -> None:
    drill = assessed_run.drill
    drill.cut_off_s = 45
    drill.save()

    response = client_of(hire).get(page(assessed_run))

    assert b"A prompt closes at 45 s, and never before twice its limit." in response.content
    assert b"Begin untimed" not in response.content


@pytest.mark.parametrize("headers", [{}, FRAGMENT], ids=["page", "fragment"])
@pytest.mark.parametrize("has_rig", [True, False])
def test_untimed_practice_is_one_press_away_from_an_assessed_brief(
    client_of: ClientOf, assessed_run: Run, hire: Person, headers: dict[str, str], has_rig: bool
) -> None:
    assessed_run.drill.cut_off_s = 45
    assessed_run.drill.save()
    if has_rig and assessed_run.rig:
        pick_rig(hire, assessed_run.rig, now=timezone.now())
    else:
        Run.objects.update(rig=None)
    browser, slug = client_of(hire), assessed_run.drill.recipe.slug
    said = browser.get(page(assessed_run)).content.decode()
    button = f'name="untimed" value="{slug}" formaction="{reverse("runs:start")}"'
    assert button in said
    fields = re.findall(r'name="(layout)" value="([^"]+)"', said)
    assert bool(fields) == (not has_rig)

    begun = browser.post(reverse("runs:start"), {"untimed": slug, **dict(fields)}, headers=headers)

    run = Run.objects.exclude(pk=assessed_run.pk).get()
    assert begun.get("HX-Redirect", begun.get("Location")) == page(run)
    assert (run.mode, run.is_timed, run.assigned) == ("practice", False, None)
    shown = run.presentations.get()
    assert (shown.is_warm_up, shown.limit_seconds, shown.cut_off_seconds) == (False, None, None)
    assert not assessed_run.presentations.exists()
    assert b"nothing is cut off" in browser.get(page(run)).content


def test_shows_the_open_prompt_again_after_the_browser_was_closed(
    client_of: ClientOf, run: Run, hire: Person
) -> None:
    presentation = Player(run).past_warm_ups()
    Presentation.objects.update(served_at=presentation.served_at.now(presentation.served_at.tzinfo))

    first = client_of(hire).get(page(run))
    second = client_of(hire).get(page(run))

    assert presentation.token.encode() in first.content
    assert presentation.token.encode() in second.content
    assert run.presentations.filter(state=PresentationState.OPEN).count() == 1


def test_shows_feedback_at_once_in_practice(client_of: ClientOf, run: Run, hire: Person) -> None:
    player = Player(run)
    presentation = player.past_warm_ups()
    player.answer(presentation, wrong(presentation))

    response = client_of(hire).get(page(run))

    assert b"Wrong" in response.content
    assert b"This one is asked again." in response.content


def test_shows_no_feedback_in_an_assessed_run(
    client_of: ClientOf, assessed_run: Run, hire: Person
) -> None:
    player = Player(assessed_run)
    presentation = player.past_warm_ups()
    answered = player.answer(presentation, wrong(presentation))

    response = client_of(hire).get(page(assessed_run))

    assert answered.prompt is not None
    assert answered.prompt.name.encode() not in response.content
    assert b"Wrong" not in response.content


def test_waits_when_called_away(client_of: ClientOf, run: Run, hire: Person) -> None:
    player = Player(run)
    player.past_warm_ups()
    call_away(run, now=player.now)

    response = client_of(hire).get(page(run))

    assert b"Go. This drill waits." in response.content
    assert b"Resume" in response.content


def test_getting_the_page_changes_nothing(client_of: ClientOf, run: Run, hire: Person) -> None:
    """A prompt left open for long is only voided by going on."""
    presentation = Player(run).past_warm_ups()
    Presentation.objects.update(served_at=presentation.served_at - timedelta(days=1))

    response = client_of(hire).get(page(run))

    presentation.refresh_from_db()
    assert b"You left a prompt open." in response.content
    assert presentation.state == PresentationState.OPEN


def test_a_finished_run_leads_to_the_debrief(client_of: ClientOf, run: Run, hire: Person) -> None:
    Player(run).finish()

    response = client_of(hire).get(page(run))

    assert response["Location"] == reverse("runs:debrief", args=[run.pk])


def test_htmx_gets_the_question_alone(client_of: ClientOf, run: Run, hire: Person) -> None:
    response = client_of(hire).get(page(run), headers=FRAGMENT)

    assert b"<html" not in response.content
    assert b'id="board"' not in response.content
    assert b"Begin" in response.content


def test_going_back_in_the_history_gets_the_whole_page(
    client_of: ClientOf, run: Run, hire: Person
) -> None:
    headers = {**FRAGMENT, "HX-History-Restore-Request": "true"}

    response = client_of(hire).get(page(run), headers=headers)

    assert b"<html" in response.content


def again(client: Client, run: Run) -> str:
    return " ".join(client.get(page(run)).content.decode().split())


def test_says_how_often_a_miss_may_come_back(client_of: ClientOf, run: Run, hire: Person) -> None:
    """Six prompts can become eighteen; the page counts what is waiting, and stops counting."""
    player, browser = Player(run), client_of(hire)
    assert "each miss comes back up to 2 times" in again(browser, run)
    presentation: Presentation | None = player.past_warm_ups()
    first = presentation.prompt_id if presentation else None
    seen = []
    while presentation is not None:
        Presentation.objects.filter(pk=presentation.pk).update(served_at=timezone.now())
        shown = again(browser, run)
        if presentation.is_retry:
            told_left = shown.partition("Asked again</span><b>")[2].partition("</b>")[0]
            seen.append(strip_tags(told_left.replace("<br>", " ")))
        is_first = presentation.prompt_id == first
        player.answer(presentation, wrong(presentation) if is_first else right(presentation))
        is_last = is_first and len(seen) == MOST_RETRIES
        told = "This one is asked again." in again(browser, run)
        assert told == (is_first and not is_last)
        presentation = player.serve()

    assert seen == ["at most 3 to go", "the last one"]


def test_an_assessed_prompt_says_nothing_of_repeats(
    client_of: ClientOf, assessed_run: Run, hire: Person
) -> None:
    player = Player(assessed_run)
    presentation = player.past_warm_ups()
    player.answer(presentation, wrong(presentation))
    player.now = timezone.now()
    player.serve()

    content = client_of(hire).get(page(assessed_run)).content.decode()

    assert "2 of 5" in content
    assert "again" not in content


def test_the_brief_says_the_limits_that_are_set(
    client_of: ClientOf, run: Run, assessed_run: Run, hire: Person
) -> None:
    """The note of a recipe may speak of other limits, so it is left out."""
    Recipe.objects.update(notes="15 seconds each")

    practice = again(client_of(hire), run)
    assessed = again(client_of(hire), assessed_run)

    rule = "your own tapping time plus 10 s, or plus 30 s for what is in a place."
    assert f"No limit on a thing until you found it right once. Then {rule}" in practice
    assert (
        "A limit on every thing to find, found before or not; "
        f"kits, doses and supplies are not judged by time: {rule}" in assessed
    )
    assert "No limit on a thing" not in assessed
    assert "15 seconds" not in practice + assessed


@pytest.mark.parametrize("who", ["outsider", "fto", "educator"])
def test_nobody_takes_a_run_of_another(
    client_of: ClientOf, run: Run, who: str, request: pytest.FixtureRequest
) -> None:
    person = request.getfixturevalue(who)

    assert client_of(person).get(page(run)).status_code == 404


def test_a_stranger_is_asked_to_sign_in(run: Run, client: Client) -> None:
    response = client.get(page(run))

    assert response["Location"].startswith(reverse("people:sign_in"))


def test_right_answers_are_told_with_all_places(
    client_of: ClientOf, run: Run, hire: Person
) -> None:
    player = Player(run)
    presentation = player.past_warm_ups()
    player.answer(presentation, right(presentation))

    response = client_of(hire).get(page(run))

    assert b"Right" in response.content


@pytest.mark.parametrize("name", ["answer", "proceed", "away", "not_there"])
def test_an_address_that_takes_posts_leads_back_to_the_run(
    client_of: ClientOf, run: Run, hire: Person, name: str
) -> None:
    response = client_of(hire).get(reverse(f"runs:{name}", args=[run.pk]))

    assert (response.status_code, response["Allow"]) == (405, "POST")
    assert f'href="{page(run)}"' in response.content.decode()
    assert not run.presentations.exists()


def test_a_warm_up_says_where_its_door_is_drawn(
    client_of: ClientOf, run: Run, hire: Person
) -> None:
    """And a prompt never does."""
    player = Player(run)
    player.begin()
    Presentation.objects.update(served_at=timezone.now())
    assert "Drawn under " in client_of(hire).get(page(run)).content.decode()

    presentation = player.past_warm_ups()
    Presentation.objects.filter(pk=presentation.pk).update(served_at=timezone.now())
    assert "Drawn under " not in client_of(hire).get(page(run)).content.decode()


def test_a_drill_of_figures_alone_speaks_of_figures_and_of_nothing_to_find(
    client_of: ClientOf, run: Run, assessed_run: Run, hire: Person
) -> None:
    DrillPrompt.objects.update(kind="dose")

    practice = again(client_of(hire), run)
    assessed = again(client_of(hire), assessed_run)

    for page in (practice, assessed):
        assert "Write the number, choose its unit, then Send" in page
        assert "nothing is looked for on the rig" in page
        assert "to find" not in page
        assert "the code of a door" not in page
    assert "Your time is shown afterwards and not judged." in assessed
    assert "Late counts" not in assessed
