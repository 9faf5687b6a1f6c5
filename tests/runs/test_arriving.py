"""The questions of arriving: asked from the dispatch alone, and told with their rule."""

from dataclasses import replace
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

from drills.boards.skills import skill_parts
from drills.competency.models import Evidence
from drills.engine.arriving.kit import RULE, SOURCE
from drills.engine.choosing import ONE, SOME, Choice, Choosing, Group
from drills.engine.facts import SKILL, Fact
from drills.engine.prompts import Prompt
from drills.engine.recipes import ARRIVE
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.models import Presentation
from drills.scenarios.models import Mode
from tests.runs.conftest import FRAGMENT, ClientOf
from tests.runs.test_choosing import SAFETY, first_prompt
from tests.runs.test_dose import asked, page, send

pytestmark = pytest.mark.django_db

BAGS = ("Response bag", "Collar bag", "Incident bag", "Child bag")


def kit_prompt() -> Prompt:
    """Of four bags the first has to come, and one of the next two."""
    kit = Group(
        "kit",
        "Which of these?",
        SOME,
        tuple(Choice(f"bag {at}", name) for at, name in enumerate(BAGS, 1)),
        right=("bag 1",),
        may=("bag 2", "bag 3"),
        one_of=(("bag 2", "bag 3"),),
    )
    return replace(
        first_prompt(),
        kind=ARRIVE,
        subject="kit",
        name="What goes to the door with you?",
        text="Bags come whole.",
        choosing=Choosing("kit", (kit,), RULE, SOURCE, why=("Response bag: Tourniquet.",)),
    )


def report_prompt() -> Prompt:
    """Nobody has to be asked for, and one more rig may be."""
    asks = Group("asks", "Who else?", SOME, (Choice("police", "Police"), Choice("bus", "A bus")))
    more = Group("more", "How many?", ONE, (Choice("0", "No more"), Choice("2", "2")), right=("0",))
    return replace(
        kit_prompt(), subject="report", choosing=Choosing("report", (asks, more), RULE, SOURCE)
    )


@pytest.fixture
def browser(client_of: ClientOf, hire: Person) -> Client:
    return client_of(hire)


@pytest.fixture
def arriving(hire: Person, rig: Rig) -> Presentation:
    return asked(hire, rig, kit_prompt())


def bags(presentation: Presentation, *numbers: int) -> dict[str, list[str]]:
    return {"c-kit": [presentation.run.token_for(f"kit:bag {each}") for each in numbers]}


@pytest.mark.parametrize("headers", [{}, FRAGMENT], ids=["plain", "htmx"])
def test_the_dispatch_is_shown_and_nobody_who_is_there(
    browser: Client, arriving: Presentation, headers: dict[str, str]
) -> None:
    content = unescape(page(browser, arriving, headers=headers).decode())

    assert "Two hurt at Tea Chest." in content
    assert "Thigh laid open" not in content
    assert "41-year-old" not in content
    assert content.count('type="checkbox" name="c-kit"') == len(BAGS)
    assert "Arrive" in content
    assert SAFETY in content
    assert RULE not in content
    assert not arriving.limit_seconds


@pytest.mark.parametrize(
    ("numbers", "outcome", "words"),
    [
        ((1, 2), "right", "Would have cost nothing: Incident bag."),
        ((1,), "wrong", "You missed: <b>Collar bag or Incident bag</b>."),
        ((2, 3), "wrong", "You missed: <b>Response bag</b>."),
        ((1, 3, 4), "partly", "Not wanted: <b>Child bag</b>."),
    ],
)
def test_one_of_two_is_enough_and_what_was_missed_is_told(
    browser: Client,
    arriving: Presentation,
    numbers: tuple[int, ...],
    outcome: str,
    words: str,
) -> None:
    told = unescape(send(browser, arriving, **bags(arriving, *numbers)).content.decode())

    assert arriving.outcome == outcome
    assert words in told
    assert RULE in told
    assert SOURCE in told
    assert "Response bag: Tourniquet." in told
    evidence = Evidence.objects.get()
    assert (evidence.outcome, evidence.fact.skill) == (outcome, "arrive kit")


def test_the_debrief_names_what_must_come_and_not_what_may(
    browser: Client, hire: Person, rig: Rig
) -> None:
    presentation = asked(hire, rig, kit_prompt(), Mode.ASSESSED)
    send(browser, presentation, **bags(presentation, 4))

    url = reverse("runs:debrief", args=[presentation.run_id])
    content = unescape(browser.get(url).content.decode())

    assert "You missed: <b>Response bag</b>; <b>Collar bag or Incident bag</b>." in content
    assert RULE in content


def test_to_ask_for_nobody_may_be_right(browser: Client, hire: Person, rig: Rig) -> None:
    presentation = asked(hire, rig, report_prompt())

    body = {"c-more": presentation.run.token_for("more:0")}
    told = unescape(send(browser, presentation, **body).content.decode())

    assert presentation.outcome == "right"
    assert "Nothing is needed." in told


def test_a_board_names_what_was_missed_of_arriving() -> None:
    assert skill_parts(Fact(SKILL, "arrive kit", ""), {}) == ("Arrive: first-in kit", "")
    assert skill_parts(Fact(SKILL, "arrive crew", ""), {}) == ("Arrive: first or second crew", "")
