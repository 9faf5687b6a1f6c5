"""Whatever a browser does, a prompt has one answer; who sent another sees the recorded one."""

from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.people.kept import LONGEST
from drills.people.models import Person
from drills.rigs.reading import layout_of
from drills.runs.models import LEFT_ALONE_AFTER, Presentation, PresentationState, Run
from tests.cast import PASSWORD
from tests.runs.conftest import FRAGMENT, ClientOf
from tests.runs.player import Player, lately, right, wrong

SIGN_IN = reverse("people:sign_in")
pytestmark = pytest.mark.django_db


def address(name: str, run: Run) -> str:
    return reverse(f"runs:{name}", args=[run.pk])


def sent(presentation: Presentation, keys: list[str]) -> dict[str, Any]:
    field = "thing" if presentation.prompt and presentation.prompt.choices else "place"
    tokens = [presentation.run.token_for(key) for key in keys]
    return {"token": presentation.token, field: tokens}


def answers(run: Run) -> int:
    rows = run.presentations.filter(state=PresentationState.ANSWERED)
    return rows.exclude(prompt=None).count()


@pytest.fixture(params=["practice", "assessed"])
def prompt(request: pytest.FixtureRequest, run: Run, assessed_run: Run) -> Presentation:
    """The first prompt of a run, where to find something."""
    chosen = run if request.param == "practice" else assessed_run
    return Player(chosen, now=lately()).past_warm_ups()


@pytest.fixture
def browser(client_of: ClientOf, hire: Person) -> Client:
    return client_of(hire)


@pytest.mark.parametrize("headers", [{}, FRAGMENT], ids=["page", "fragment"])
def test_another_answer_is_refused_and_shown_the_recorded_one(
    browser: Client, prompt: Presentation, headers: dict[str, str]
) -> None:
    run, layout = prompt.run, layout_of(prompt.run.drill.revision)
    browser.post(address("answer", run), sent(prompt, right(prompt)), headers=headers)

    response = browser.post(address("answer", run), sent(prompt, wrong(prompt)), headers=headers)

    said = response.content.decode()
    assert response.status_code == 422
    assert "That prompt has an answer already. The first one counts." in said
    assert 'class="fault"' not in said
    assert f"Recorded: {layout.path(right(prompt)[0])}." in said
    prompt.refresh_from_db()
    assert (prompt.answer, answers(run)) == (right(prompt), 1)


def test_not_knowing_is_recorded_like_an_answer(browser: Client, prompt: Presentation) -> None:
    browser.post(address("answer", prompt.run), {"token": prompt.token, "unknown": "1"})

    response = browser.post(address("answer", prompt.run), sent(prompt, right(prompt)))

    assert b"Recorded: that you do not know." in response.content


@pytest.mark.parametrize("headers", [{}, FRAGMENT], ids=["page", "fragment"])
def test_a_double_press_is_one_answer(
    browser: Client, prompt: Presentation, headers: dict[str, str]
) -> None:
    twice = [
        browser.post(address("answer", prompt.run), sent(prompt, right(prompt)), headers=headers)
        for _ in range(2)
    ]

    assert {each.status_code for each in twice} == ({200} if headers else {302})
    assert answers(prompt.run) == 1
    assert prompt.run.presentations.filter(state=PresentationState.OPEN).count() <= 1


def test_another_phone_shows_the_prompt_that_is_open_and_one_of_them_answers(
    client_of: ClientOf, hire: Person, prompt: Presentation
) -> None:
    one, other = client_of(hire), client_of(hire)
    assert prompt.token in one.get(address("take", prompt.run)).content.decode()
    assert prompt.token in other.get(address("take", prompt.run)).content.decode()

    other.post(address("answer", prompt.run), sent(prompt, right(prompt)))
    late = one.post(address("answer", prompt.run), sent(prompt, wrong(prompt)))

    assert late.status_code == 422
    assert answers(prompt.run) == 1


def test_what_going_back_shows_is_asked_of_the_server_again(
    browser: Client, prompt: Presentation
) -> None:
    """No page is stored, so none comes back with a prompt that was answered."""
    shown = browser.get(address("take", prompt.run))
    browser.post(address("answer", prompt.run), sent(prompt, right(prompt)))

    assert "no-store" in shown["Cache-Control"]
    again = browser.get(
        address("take", prompt.run), headers={**FRAGMENT, "HX-History-Restore-Request": "true"}
    ).content.decode()
    if prompt.run.is_practice:
        assert "data-asking" not in again
        assert layout_of(prompt.run.drill.revision).path(right(prompt)[0]) in again
    else:
        assert f'name="token" value="{prompt.token}"' not in again


class TestSignedOut:
    @pytest.fixture
    def lost(self, browser: Client, hire: Person) -> Client:
        """A browser whose session is gone, its cookie still there."""
        Session.objects.all().delete()
        return browser

    @pytest.mark.parametrize("headers", [{}, FRAGMENT], ids=["page", "fragment"])
    def test_who_signs_in_again_comes_back_to_the_prompt_with_the_kept_answer(
        self,
        lost: Client,
        prompt: Presentation,
        hire: Person,
        headers: dict[str, str],
        monkeypatch: pytest.MonkeyPatch,
    ) -> None:
        body = sent(prompt, right(prompt))
        gone = lost.post(address("answer", prompt.run), body, headers=headers)
        to = gone.get("HX-Redirect") or gone["Location"]
        assert b"Your answer is kept on this device" in lost.get(to).content
        assert answers(prompt.run) == 0

        who = {"employee_number": hire.employee_number, "password": PASSWORD}
        wanted = {"next": address("take", prompt.run)}
        back = lost.post(to, {**who, **wanted}, follow=True).content.decode()

        place = layout_of(prompt.run.drill.revision).path(right(prompt)[0])
        assert f"your answer is kept: {place}." in back
        assert f'name="place" value="{body["place"][0]}"' in back
        first_came = timezone.now()
        later = first_came + LEFT_ALONE_AFTER
        monkeypatch.setattr(timezone, "now", lambda: later)
        lost.post(address("answer", prompt.run), body)
        prompt.refresh_from_db()
        assert (prompt.answer, answers(prompt.run)) == (right(prompt), 1)
        assert prompt.received_at is not None
        assert prompt.received_at <= first_came
        assert "is kept" not in lost.get(address("take", prompt.run)).content.decode()

    def test_somebody_else_who_signs_in_there_sees_nothing_of_it(
        self, lost: Client, prompt: Presentation, outsider: Person
    ) -> None:
        lost.post(address("answer", prompt.run), sent(prompt, right(prompt)))

        who = {"employee_number": outsider.employee_number, "password": PASSWORD}
        lost.post(SIGN_IN, {**who, "next": address("take", prompt.run)})

        assert lost.get(address("take", prompt.run)).status_code == 404
        assert lost.post(address("answer", prompt.run), {"token": prompt.token}).status_code == 404
        assert answers(prompt.run) == 0

    def test_another_answer_than_the_kept_one_counts_from_when_it_comes(
        self, lost: Client, prompt: Presentation, hire: Person
    ) -> None:
        lost.post(address("answer", prompt.run), sent(prompt, wrong(prompt)))
        first_came = timezone.now()
        lost.force_login(hire)

        lost.post(address("answer", prompt.run), sent(prompt, right(prompt)))

        prompt.refresh_from_db()
        assert (prompt.answer, answers(prompt.run)) == (right(prompt), 1)
        assert prompt.received_at is not None
        assert prompt.received_at > first_came

    @pytest.mark.parametrize("extra", [{}, {"more": "x" * LONGEST}], ids=["nothing", "too much"])
    def test_nothing_and_too_much_are_not_kept(
        self, lost: Client, prompt: Presentation, extra: dict[str, str]
    ) -> None:
        gone = lost.post(address("answer", prompt.run), extra)

        assert "lost=1" in gone["Location"]
        assert not Session.objects.exists()

    def test_an_answer_for_a_prompt_that_is_void_by_then_is_not_offered(
        self, lost: Client, prompt: Presentation, hire: Person
    ) -> None:
        lost.post(address("answer", prompt.run), sent(prompt, right(prompt)))
        Presentation.objects.filter(pk=prompt.pk).update(state="void", void_reason="left")

        who = {"employee_number": hire.employee_number, "password": PASSWORD}
        back = lost.post(SIGN_IN, {**who, "next": address("take", prompt.run)}, follow=True)

        assert b"is kept" not in back.content
