"""What a kit, a category, a dose and a supply are judged by is in nothing sent before the answer.

One prompt is judged by other needs, criteria, another rule, strength, cylinder, certification or
slips each time; after masking what is random in every answer of the server, status, headers,
cookies and bytes may not differ, nor which prompt comes next. Leaks are planted to show that they
would be seen.
"""

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import Client

from drills.engine.choosing import ONE, SOME, Group
from drills.engine.dosing import judging
from drills.engine.prompts import Prompt
from drills.engine.recipes import (
    ALLOCATE,
    ARRIVE,
    DOSE,
    FIELD,
    NUMBER_KINDS,
    STAGE,
    SUPPLY,
    TRIAGE,
)
from drills.engine.scoring import RIGHT
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs import pages
from drills.runs.models import Presentation, PresentationState, Run
from drills.runs.numbers import syringes_of
from drills.scenarios.models import DrillPrompt, Mode
from drills.scenarios.tasks import figure_asked, problem_in
from tests.calls import MUSTS
from tests.runs.player import Player
from tests.runs.plays import (
    BESIDE,
    PAGE_ALONE,
    PLAYED,
    every,
    not_there,
    page,
    told_apart,
    unreadable,
)
from tests.runs.test_arriving import kit_prompt
from tests.runs.test_choosing import allocate_prompt, first_prompt
from tests.runs.test_dose import asked, dose_prompt
from tests.runs.test_field import field_prompt
from tests.runs.test_stage import line_of, opened, started
from tests.runs.test_supply import GIVEN, UNITS, supply_prompt
from tests.runs.test_triage import triage_prompt
from tests.runs.worlds import Forced, World
from tests.runs.worlds import forced as forced

pytestmark = pytest.mark.django_db

FIRST = "first"
KINDS = (ARRIVE, STAGE, TRIAGE, FIRST, FIELD, DOSE, SUPPLY, ALLOCATE)
DOSE_GIVEN: dict[str, Any] = {
    "kind": "dose",
    "weight": "44 lb",
    "per_weight": "0.1 mg/kg",
    "max": "3 mg",
    "concentration": {"amount": "10 mg", "in": "5 mL"},
    "syringes": [1, 3, 10],
}
OTHER_GROUPS = (
    Group("who", "", ONE, (), right=("1",)),
    Group("why", "", ONE, (), by=(("who:1", ("mind", "airway")),)),
)
OTHER_CRITERIA = (
    Group("risk", "", ONE, (), right=("yellow",)),
    Group("criterion", "", ONE, (), right=("fall", "death"), decides=False),
)
OTHER_KITS = (
    Group(
        "kit", "", SOME, (), right=("bag 2",), may=("bag 1", "bag 3"), one_of=(("bag 1", "bag 3"),)
    ),
)
OTHERWISE: dict[str, tuple[dict[str, Any], ...]] = {
    STAGE: ({}, {"wanted": []}, {"tied": []}, {"unconfirmed": ["splint"]}),
    DOSE: (
        {},
        {"problem": DOSE_GIVEN | {"per_weight": "0.35 mg/kg"}},
        {"problem": DOSE_GIVEN | {"concentration": {"amount": "1 mg", "in": "9 mL"}}},
        # What slips are told by: a maximum, other presentations and finer syringes aboard.
        {"problem": DOSE_GIVEN | {"max": "1 mg"}},
        {"problem": DOSE_GIVEN | {"others": [{"amount": "1 mg", "in": "1 mL"}]}},
        {"problem": DOSE_GIVEN | {"syringes": [60]}},
        {"level": "paramedic"},
        {"printed": "0.35 mg/kg", "source": "Another document"},
        {"grade": 3, "trap": "a cap"},
    ),
    TRIAGE: (
        {},
        {"category": "minor"},
        {"path": ["Walks.", "Minor (green)."]},
        {"category": "deceased", "path": []},
    ),
    FIRST: (
        {},
        {"groups": [each.answer() for each in OTHER_GROUPS]},
        {"rule": "Another rule", "source": "Another document", "why": []},
    ),
    FIELD: (
        {},
        {"groups": [each.answer() for each in OTHER_CRITERIA]},
        {"category": "neither", "groups": [each.answer() for each in OTHER_CRITERIA]},
        {"rule": "Another rule", "source": "Another document", "why": [], "sources": []},
    ),
    ARRIVE: (
        {},
        {"groups": [each.answer() for each in OTHER_KITS]},
        {"rule": "Another rule", "source": "Another document", "why": []},
    ),
    ALLOCATE: (
        {},
        {"groups": [Group("who", "", SOME, (), right=("2", "4")).answer()]},
        {"groups": [Group("who", "", SOME, (), right=("1",), may=("2", "3")).answer()]},
        {"rule": "Another rule", "source": "Another document", "why": []},
    ),
    SUPPLY: (
        {},
        {"problem": GIVEN | {"pressure": "2000 psi"}},
        {"problem": GIVEN | {"residual": "500 psi"}},
        {"problem": GIVEN | {"factor": "1.56 L/psi"}},
        {"problem": GIVEN | {"flow": ["10 L/min", "15 L/min"]}},
        {"printed": "another rule", "source": "Another document"},
        {"grade": 3, "trap": "two patients"},
    ),
}
# A kit and a dose have no place that they could be missing from.
PLAYS = {
    mode: (*(each for each in plays if each != not_there), unreadable)
    for mode, plays in PLAYED.items()
}


@dataclass
class CallWorld(World):
    """A run whose open prompt is a kit, a category, a dose or a supply."""

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
        """Right in part at least by some of what it is judged by, and wrong by the rest."""
        if self.kind in NUMBER_KINDS:
            unit = UNITS[0] if self.kind == SUPPLY else "mL"
            return {"amount": "2" if other else "1", "unit": unit}
        if self.kind == ARRIVE:
            return {"c-kit": self.run.token_for(f"kit:bag {2 if other else 1}")}
        if self.kind == ALLOCATE:
            return {"c-who": self.run.token_for(f"who:{2 if other else 1}")}
        if self.prompt.subject == FIELD:
            token = self.run.token_for
            risk, why = ("yellow", "fall") if other else ("red", "fast breathing")
            return {"c-risk": token(f"risk:{risk}"), "c-criterion": token(f"criterion:{why}")}
        if "groups" in self.prompt.shown:
            token = self.run.token_for
            who, why = ("1", "mind") if other else ("2", "circulation")
            return {"c-who": token(f"who:{who}"), "c-why": token(f"why:{why}")}
        if self.kind == TRIAGE:
            return {"category": self.run.token_for("minor" if other else "immediate")}
        brought = MUSTS[:1] if other else MUSTS
        return {f"n-{self.run.token_for(line_of(self.run, thing))}": "1" for thing in brought}


def run_of(kind: str, mode: str, hire: Person, rig: Rig) -> Run:
    """A run with the first of its two prompts open, and a spare."""
    if kind != STAGE:
        makers: dict[str, Callable[[], Prompt]] = {
            SUPPLY: supply_prompt,
            DOSE: dose_prompt,
            TRIAGE: triage_prompt,
            FIRST: first_prompt,
            FIELD: field_prompt,
            ARRIVE: kit_prompt,
            ALLOCATE: allocate_prompt,
        }
        of_kind = makers[kind]
        run = asked(hire, rig, of_kind(), mode).run
        for position, is_spare in ((1, False), (2, True)):
            another = of_kind()
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


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("mode", Mode.values)
def test_whatever_it_is_judged_by_the_browser_gets_the_same_bytes(
    hire: Person, rig: Rig, forced: Forced, kind: str, mode: str
) -> None:
    run = run_of(kind, mode, hire, rig)

    plays = [*PLAYS[mode], *BESIDE[mode]]
    apart = told_apart(OTHERWISE[kind], plays, worlds_of(run, forced, hire))

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

    found = told_apart(OTHERWISE[kind], plays, worlds_of(run, forced, hire), PAGE_ALONE)

    assert set(found) == every(plays, PAGE_ALONE)


def sentence_of_the_judge(get_response: Callable[[HttpRequest], HttpResponse]) -> Any:
    """A planted leak: what the judge says of something that cannot be read names what is right."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if response.status_code == 422 and request.POST.get("amount"):
            prompt = DrillPrompt.objects.get(position=0)
            problem, wanted = problem_in(prompt.answer), figure_asked(prompt.answer)
            right = problem.solve().results[wanted].answer
            for said in (b"is no number;", b"came in,"):
                response.content = response.content.replace(said, said + f" {right}".encode())
        return response

    return answer


@pytest.mark.parametrize("kind", NUMBER_KINDS)
def test_a_refusal_that_told_what_is_right_would_be_seen(
    hire: Person, rig: Rig, forced: Forced, settings: Any, kind: str
) -> None:
    settings.MIDDLEWARE = [*settings.MIDDLEWARE, f"{__name__}.sentence_of_the_judge"]
    run = run_of(kind, Mode.PRACTICE, hire, rig)

    found = told_apart(OTHERWISE[kind], [unreadable], worlds_of(run, forced, hire), PAGE_ALONE)

    assert found["unreadable", "page"] >= 2


def test_a_drawing_of_the_syringe_that_fits_would_be_seen(
    hire: Person, rig: Rig, forced: Forced, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of the syringes aboard all are drawn: the one that fits alone would tell how much it is."""

    def fitting_alone(prompt: DrillPrompt) -> Any:
        problem = problem_in(prompt.answer)
        size = problem.solve().results["volume"].exact.amount
        return [each for each in syringes_of(prompt.shown) if float(each.holds) >= size][:1]

    plain_context = pages._prompt_context

    def leaking(run: Run, presentation: Presentation, *rest: Any) -> dict[str, Any]:
        shown = plain_context(run, presentation, *rest)
        if presentation.prompt is None:
            return shown
        return shown | {"syringes": fitting_alone(presentation.prompt)}

    monkeypatch.setattr(pages, "_prompt_context", leaking)
    run = run_of(DOSE, Mode.PRACTICE, hire, rig)
    worlds: tuple[dict[str, Any], ...] = (
        {},
        {"problem": DOSE_GIVEN | {"per_weight": "0.15 mg/kg"}},
    )

    found = told_apart(worlds, [page], worlds_of(run, forced, hire), PAGE_ALONE)

    assert found == {("page", "page"): 1}


@pytest.mark.parametrize("kind", [DOSE, SUPPLY])
def test_no_time_goes_into_what_a_wrong_figure_came_from_while_it_is_assessed(
    hire: Person, rig: Rig, forced: Forced, monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    """Slips are searched for in wrong figures alone, so that the time taken would tell them."""
    run = run_of(kind, Mode.ASSESSED, hire, rig)
    browser = Client()
    browser.force_login(hire)
    world = CallWorld(run, Player(run, now=forced.now), browser, forced)
    sent = world.choice(other=True) | {"token": world.serve()}
    searched: list[str] = []

    def explained(*_: Any) -> tuple[tuple[()], tuple[()]]:
        searched.append("a slip")
        return (), ()

    monkeypatch.setattr(judging, "explained", explained)
    response = browser.post(world.url("answer"), sent, headers={"HX-Request": "true"})

    assert response.status_code == 200
    assert run.presentations.get(token=sent["token"]).outcome not in {"", RIGHT}
    assert searched == []
