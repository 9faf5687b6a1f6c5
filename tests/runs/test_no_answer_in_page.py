"""The right answer is nowhere in a page before the person's is in.

A prompt is rendered again with another right answer, all else equal; after masking what is
random in every answer of the server, not one byte may differ.
"""

import re
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.engine.recipes import CONTENTS, LOCATE
from drills.people.models import Person
from drills.rigs.reading import layout_of
from drills.runs.models import Presentation, PresentationState, Run
from drills.scenarios.models import DrillPrompt, Mode
from tests.runs.conftest import FRAGMENT, ClientOf
from tests.runs.player import Player, right

pytestmark = pytest.mark.django_db

MASKED = (
    rb'name="csrfmiddlewaretoken" value="[^"]*"',
    rb'"x-csrftoken": "[^"]*"',
    rb'data-gone="[^"]*"',
)


def masked(content: bytes) -> bytes:
    for pattern in MASKED:
        content = re.sub(pattern, b"", content)
    return content


@contextmanager
def answered_by(prompt: DrillPrompt, answer: list[str]) -> Iterator[None]:
    """The same prompt with another right answer."""
    kept = prompt.answer
    DrillPrompt.objects.filter(pk=prompt.pk).update(answer=answer)
    yield
    DrillPrompt.objects.filter(pk=prompt.pk).update(answer=kept)


def until(run: Run, kind: str) -> Presentation:
    """The first open prompt of a kind."""
    player = Player(run)
    presentation = player.past_warm_ups()
    while presentation.prompt is None or presentation.prompt.kind != kind:
        player.answer(presentation, right(presentation))
        following = player.serve()
        assert following is not None
        presentation = following
    # The page is asked for by the clock of the machine; just served, it is not left alone.
    Presentation.objects.filter(pk=presentation.pk).update(served_at=timezone.now())
    return presentation


def others(presentation: Presentation) -> list[list[str]]:
    """Every other single right answer the prompt could have had."""
    prompt = presentation.prompt
    assert prompt is not None
    layout = layout_of(presentation.run.drill.revision)
    keys = list(layout.by_code) if prompt.kind == LOCATE else prompt.choices
    return [[key] for key in keys if [key] != prompt.answer]


@pytest.mark.parametrize("headers", [{}, FRAGMENT], ids=["page", "fragment"])
@pytest.mark.parametrize("kind", [LOCATE, CONTENTS])
@pytest.mark.parametrize("mode", Mode.values)
def test_another_right_answer_gives_the_same_bytes(
    client_of: ClientOf, hire: Person, run: Run, kind: str, mode: str, headers: dict[str, str]
) -> None:
    Run.objects.filter(pk=run.pk).update(mode=mode)
    run.refresh_from_db()
    presentation = until(run, kind)
    browser, url = client_of(hire), reverse("runs:take", args=[run.pk])
    prompt = presentation.prompt
    assert prompt is not None
    before = masked(browser.get(url, headers=headers).content)
    assert presentation.token.encode() in before

    for answer in others(presentation):
        with answered_by(prompt, answer):
            assert masked(browser.get(url, headers=headers).content) == before


def test_the_mask_hides_no_token_of_a_place(client_of: ClientOf, run: Run, hire: Person) -> None:
    """What was masked above is random for everybody; the tokens of the places were compared."""
    presentation = until(run, LOCATE)
    content = client_of(hire).get(reverse("runs:take", args=[run.pk])).content

    for code in layout_of(run.drill.revision).by_code:
        assert run.token_for(code).encode() in masked(content)
    assert presentation.token.encode() in masked(content)


def test_tokens_differ_from_run_to_run(run: Run, assessed_run: Run) -> None:
    codes = layout_of(run.drill.revision).by_code

    assert not {run.token_for(code) for code in codes} & {
        assessed_run.token_for(code) for code in codes
    }


def test_no_key_of_a_place_or_thing_is_in_the_page(
    client_of: ClientOf, run: Run, hire: Person
) -> None:
    """Codes and printed names may show; ids of rows, need and place keys may not."""
    presentation = until(run, CONTENTS)
    content = client_of(hire).get(reverse("runs:take", args=[run.pk])).content.decode()

    values = re.findall(r'value="([^"]*)"', content)
    layout = layout_of(run.drill.revision)
    keys = {each.key for each in layout.compartments} | set(layout.things)
    assert not keys & set(values)
    assert str(presentation.pk) not in values


def test_an_answer_of_an_assessed_run_tells_nothing(
    client_of: ClientOf, assessed_run: Run, hire: Person
) -> None:
    """The page after an answer is the same whether it was right or wrong."""
    player = Player(assessed_run)
    first = player.past_warm_ups()
    player.answer(first, right(first))
    player.now = timezone.now()
    player.serve()
    browser, url = client_of(hire), reverse("runs:take", args=[assessed_run.pk])
    after_right = masked(browser.get(url).content)
    assert b"2 of 5" in after_right

    Presentation.objects.filter(pk=first.pk, state=PresentationState.ANSWERED).update(
        outcome="wrong", near="elsewhere", missed=["x"]
    )

    assert masked(browser.get(url).content) == after_right
