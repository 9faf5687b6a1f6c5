"""What a kit and a dose are judged by is nowhere in what the server sends before the answer is in.

One prompt is judged by other needs, another rule, strength or certification each time; after
masking what is random in every answer of the server, status, headers, cookies and bytes may not
differ, nor which prompt comes next. A leak is planted to show that it would be seen.
"""

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import Client

from drills.engine.recipes import DOSE, STAGE
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.models import Presentation, PresentationState, Run
from drills.scenarios.models import DrillPrompt, Mode
from tests.calls import MUSTS
from tests.runs.player import Player
from tests.runs.plays import HEADERS, PLAYED, not_there, told_apart
from tests.runs.test_dose import asked, dose_prompt
from tests.runs.test_stage import line_of, opened, started
from tests.runs.worlds import Forced, World
from tests.runs.worlds import forced as forced

pytestmark = pytest.mark.django_db

KINDS = (STAGE, DOSE)
OTHERWISE: dict[str, tuple[dict[str, Any], ...]] = {
    STAGE: ({}, {"wanted": []}, {"tied": []}, {"unconfirmed": ["splint"]}),
    DOSE: ({}, {"dose": "7 mg"}, {"level": "paramedic"}, {"presentation": "1 mg / 9 mL"}),
}
# A kit and a dose have no place that they could be missing from.
PLAYS = {mode: tuple(each for each in plays if each != not_there) for mode, plays in PLAYED.items()}


@dataclass
class CallWorld(World):
    """A run whose open prompt is a kit or a dose of a call."""

    @property
    def kind(self) -> str:
        return self.prompt.kind

    @property
    def prompt(self) -> DrillPrompt:
        return self.run.drill.prompts.get(position=0)

    @property
    def answer(self) -> list[str]:
        return [json.dumps(self.prompt.answer)]

    def serve(self) -> str:
        presentation = Presentation.objects.get(run=self.run, state=PresentationState.OPEN)
        assert presentation.prompt == self.prompt
        return presentation.token

    def choice(self, *, other: bool = False) -> dict[str, Any]:
        """Right by some of what it is judged by, and wrong by the rest."""
        if self.kind == DOSE:
            return {"amount": "2" if other else "1", "unit": "mL"}
        brought = MUSTS[:1] if other else MUSTS
        return {f"n-{self.run.token_for(line_of(self.run, thing))}": "1" for thing in brought}


def run_of(kind: str, mode: str, hire: Person, rig: Rig) -> Run:
    """A run with the first of its two prompts open, and a spare."""
    if kind == DOSE:
        run = asked(hire, rig, dose_prompt(), mode).run
        for position, is_spare in ((1, False), (2, True)):
            another = dose_prompt()
            made = DrillPrompt.from_engine(
                another, drill=run.drill, position=position, is_spare=is_spare
            )
            made.save()
        return run
    run = started(hire, rig, mode, kits=2)
    opened(run)
    return run


def worlds_of(run: Run, forced: Forced, hire: Person) -> Callable[[dict[str, Any]], World]:
    def world_on(otherwise: dict[str, Any]) -> World:
        for prompt in run.drill.prompts.all():
            prompt.answer = prompt.answer | otherwise
            prompt.save()
        browser = Client()
        browser.force_login(hire)
        return CallWorld(run, Player(run, now=forced.now), browser, forced)

    return world_on


@pytest.mark.parametrize("headers", HEADERS.values(), ids=HEADERS)
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("mode", Mode.values)
def test_whatever_it_is_judged_by_the_browser_gets_the_same_bytes(
    hire: Person, rig: Rig, forced: Forced, kind: str, mode: str, headers: dict[str, str]
) -> None:
    run = run_of(kind, mode, hire, rig)

    apart = told_apart(OTHERWISE[kind], PLAYS[mode], worlds_of(run, forced, hire), headers=headers)

    assert apart == {}


def length_of_the_answer(get_response: Callable[[HttpRequest], HttpResponse]) -> Any:
    """A planted leak: how much there is to be judged by."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        prompts = DrillPrompt.objects.filter(position=0)
        response["X-Weight"] = f"{[len(json.dumps(each.answer)) for each in prompts]}"
        return response

    return answer


@pytest.mark.parametrize("kind", KINDS)
def test_a_header_made_from_the_answer_would_be_seen(
    hire: Person, rig: Rig, forced: Forced, settings: Any, kind: str
) -> None:
    settings.MIDDLEWARE = [*settings.MIDDLEWARE, f"{__name__}.length_of_the_answer"]
    run, plays = run_of(kind, Mode.ASSESSED, hire, rig), PLAYS[Mode.ASSESSED]

    found = told_apart(OTHERWISE[kind], plays, worlds_of(run, forced, hire), headers={})

    assert set(found) == {play.__name__ for play in plays}
