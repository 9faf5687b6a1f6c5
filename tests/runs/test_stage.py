"""A call is read and its kit is brought: in the page, in the marks, in the debrief."""

from dataclasses import replace
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from drills.competency.models import Evidence
from drills.demo.factories import RecipeFactory, rig_on
from drills.engine.staging import kit_keys
from drills.people.models import Person
from drills.rigs.models import ItemTerms, Need, Rig
from drills.rigs.reading import layout_of
from drills.runs.actions import AnswerError, begin, call_away, start_run
from drills.runs.models import Presentation, PresentationState, Run
from drills.scenarios.models import CallType, DrillPrompt, Mode
from drills.scenarios.reading import material_of
from tests.calls import FINDINGS, MUSTS, bleeding_call
from tests.layouts import practice_rig
from tests.runs.conftest import FRAGMENT, SEED, ClientOf
from tests.runs.player import Player, lately
from tests.runs.worlds import masked

pytestmark = pytest.mark.django_db


@pytest.fixture
def staging(hire: Person, rig: Rig) -> Run:
    """Untimed practice of one staging prompt, not begun."""
    return started(hire, rig, Mode.PRACTICE)


def started(hire: Person, rig: Rig, mode: str, *, kits: int = 1) -> Run:
    bleeding_call(rig.revision)
    recipe = RecipeFactory.create(
        slug="bring", kinds=f"stage:{kits}", call_types=["bleeding"], mode=mode
    )
    return start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=lately(), seed=SEED)


def opened(run: Run) -> Presentation:
    presentation = begin(run, device_class="phone", is_timed=False, now=lately()).presentation
    while presentation is not None and presentation.is_warm_up:
        player = Player(run, now=lately())
        player.answer(presentation, [presentation.subject], seconds=1.5)
        presentation = player.serve()
    assert presentation is not None
    return presentation


def line_of(run: Run, thing: str) -> str:
    code = layout_of(run.drill.revision).things[thing].places[0]
    return f"{code} {thing}"


def sent(run: Run, presentation: Presentation, *things: str, bag: str = "") -> dict[str, Any]:
    counts = {f"n-{run.token_for(line_of(run, thing))}": "1" for thing in things}
    bags = {"bag": run.token_for(bag)} if bag else {}
    return {"token": presentation.token, **counts, **bags}


def answer(client: Client, run: Run, body: dict[str, Any]) -> Any:
    return client.post(reverse("runs:answer", args=[run.pk]), body, headers=FRAGMENT)


@pytest.fixture
def browser(client_of: ClientOf, hire: Person) -> Client:
    return client_of(hire)


def test_a_call_of_a_kind_that_nobody_reviewed_says_so(
    browser: Client, staging: Run, hire: Person, rig: Rig
) -> None:
    """As its kind was when the drill was made."""
    unreviewed = "Nobody has reviewed this kind of call."
    opened(staging)
    take = reverse("runs:take", args=[staging.pk])
    assert unreviewed in browser.get(take).content.decode()

    CallType.objects.update(reviewed_by="Dr Example")
    assert unreviewed in browser.get(take).content.decode()
    recipe = staging.drill.recipe
    again = start_run(
        hire, recipe=recipe, revision=rig.revision, rig=rig, now=lately(), seed=SEED + 1
    )
    opened(again)
    content = browser.get(reverse("runs:take", args=[again.pk])).content.decode()
    assert FINDINGS in content
    assert unreviewed not in content


def test_shows_the_call_by_findings_and_the_whole_rig(browser: Client, staging: Run) -> None:
    opened(staging)

    content = browser.get(reverse("runs:take", args=[staging.pk])).content.decode()

    assert "Two hurt at Tea Chest." in content
    assert FINDINGS in content
    assert "Bleeding limb" not in content
    assert "Severe bleeding" not in content
    layout = layout_of(staging.drill.revision)
    for key in kit_keys(layout):
        assert staging.token_for(key) in content
    for line in layout.stock:
        assert line.item in content
        assert all(alias.casefold() in content for alias in line.aliases)


def test_the_must_haves_alone_are_right(browser: Client, staging: Run) -> None:
    presentation = opened(staging)

    response = answer(browser, staging, sent(staging, presentation, *MUSTS))

    presentation.refresh_from_db()
    assert presentation.outcome == "right"
    assert b"100 of 100 marks" in response.content
    (row,) = Evidence.objects.all()
    assert (row.fact.skill, row.outcome, row.need) == ("stage bleeding", "right", None)


@pytest.mark.parametrize("count", ["9" * 5_000, "\u0663", "1.5", "-1", "100", "1e1", " "])
def test_a_count_that_is_no_whole_number_is_refused(
    browser: Client, staging: Run, count: str
) -> None:
    presentation = opened(staging)
    body = sent(staging, presentation, *MUSTS)
    body[next(name for name in body if name.startswith("n-"))] = count

    response = answer(browser, staging, body)

    presentation.refresh_from_db()
    assert response.status_code == 422
    assert "a whole number up to 99 is accepted" in response.content.decode()
    assert presentation.state == PresentationState.OPEN


def test_a_rig_of_many_lines_sends_its_kit(browser: Client, staging: Run) -> None:
    """A field for each line, most of them empty; the greatest layouts have 5,000."""
    presentation = opened(staging)
    empty = {f"n-{number:020}": "" for number in range(5_000)}

    response = answer(browser, staging, empty | sent(staging, presentation, *MUSTS))

    presentation.refresh_from_db()
    assert (response.status_code, presentation.outcome) == (200, "right")


def test_a_bag_brought_for_nothing_is_told(browser: Client, hire: Person) -> None:
    """Of what lies in it one thing is tied, and nothing is asked for."""
    layout = practice_rig("rig-of-bags")
    lid = replace(layout.by_code["BAG-L"], carried="one-hand")
    others = [each for each in layout.compartments if each.code != "BAG-L"]
    rig = rig_on(replace(layout, compartments=(*others, lid)), unit="13")
    other = Need.objects.create(key="other", name_us="Other", name_intl="other", category="x")
    ItemTerms.objects.filter(item__key="oral airway set").update(need=other)
    run = started(hire, rig, Mode.PRACTICE)
    presentation = opened(run)

    content = answer(browser, run, sent(run, presentation, *MUSTS, bag="BAG-L")).content.decode()

    presentation.refresh_from_db()
    assert (presentation.outcome, presentation.marks) == ("partly", 95)
    assert "Lid pocket, whole, for nothing that was asked." in content


def test_more_than_twice_what_was_asked_for_is_told(browser: Client, staging: Run) -> None:
    presentation = opened(staging)
    in_the_bag, in_the_drawer = ("BAG-M tourniquet", "I1A tourniquet")
    body = sent(staging, presentation, *MUSTS)
    body |= {
        f"n-{staging.token_for(in_the_bag)}": "2",
        f"n-{staging.token_for(in_the_drawer)}": "1",
    }

    content = answer(browser, staging, body).content.decode()

    presentation.refresh_from_db()
    assert (presentation.outcome, presentation.marks) == ("partly", 95)
    assert "Tourniquet, more than twice what was asked for." in content


def test_each_reason_is_told(browser: Client, staging: Run) -> None:
    presentation = opened(staging)
    body = sent(staging, presentation, "splint", "neck collar", "gauze roll")

    content = answer(browser, staging, body).content.decode()

    presentation.refresh_from_db()
    assert presentation.outcome == "wrong"
    assert "Tourniquet-limb: 0 of 1." in content
    assert "tourniquet-limb is why." in content
    assert "Neck collar, brought for Board-splints." in content
    assert 'class="bal' in content


def test_says_beforehand_that_a_must_have_fails_it(browser: Client, staging: Run) -> None:
    opened(staging)

    content = browser.get(reverse("runs:take", args=[staging.pk])).content.decode()

    assert "A must-have that is not brought fails the kit" in content


def test_the_debrief_tells_the_call_and_what_came_of_asking_again(
    browser: Client, staging: Run
) -> None:
    body = sent(staging, opened(staging), "splint")
    answer(browser, staging, body)
    proceed = reverse("runs:proceed", args=[staging.pk])
    browser.post(proceed, headers=FRAGMENT)
    again = staging.presentations.get(state=PresentationState.OPEN)
    answer(browser, staging, sent(staging, again, *MUSTS))
    browser.post(proceed, headers=FRAGMENT)

    content = browser.get(reverse("runs:debrief", args=[staging.pk])).content.decode()

    assert again.is_retry
    assert "of 2 must-haves brought" in content
    assert "Two hurt at Tea Chest." in content
    assert FINDINGS in content
    assert "Asked again: right." in content


def test_a_bag_is_brought_whole(browser: Client, staging: Run) -> None:
    presentation = opened(staging)

    answer(browser, staging, sent(staging, presentation, "splint", bag="BAG"))

    presentation.refresh_from_db()
    assert presentation.outcome == "right"


def test_what_is_above_a_person_is_handed_over(browser: Client, staging: Run, hire: Person) -> None:
    presentation = opened(staging)

    content = answer(browser, staging, sent(staging, presentation, *MUSTS)).content.decode()

    is_paramedic = hire.certification is not None and hire.certification.key == "paramedic"
    assert ("handed over, since it is above your level" in content) is not is_paramedic


@pytest.mark.parametrize(
    ("count", "said"),
    [("99", "99 of one thing came in"), ("100", "a whole number up to 99"), ("-1", "whole number")],
)
def test_a_count_that_cannot_be_is_refused(
    browser: Client, staging: Run, count: str, said: str
) -> None:
    presentation = opened(staging)
    body = sent(staging, presentation)
    body[f"n-{staging.token_for(line_of(staging, 'splint'))}"] = count

    response = answer(browser, staging, body)

    presentation.refresh_from_db()
    assert response.status_code == 422
    assert said in response.content.decode()
    assert presentation.state == PresentationState.OPEN


def test_nothing_brought_is_no_answer_but_not_knowing_is(browser: Client, staging: Run) -> None:
    presentation = opened(staging)
    assert answer(browser, staging, {"token": presentation.token}).status_code == 422

    content = answer(browser, staging, {"token": presentation.token, "unknown": "1"}).content

    presentation.refresh_from_db()
    assert presentation.outcome == "wrong"
    assert b"You brought nothing." in content


def test_the_first_kit_counts(staging: Run) -> None:
    presentation = opened(staging)
    player = Player(staging, now=lately())
    kit = [line_of(staging, thing) for thing in MUSTS]
    player.answer(presentation, kit)

    assert player.answer(presentation, kit).outcome == "right"
    with pytest.raises(AnswerError, match="first one counts"):
        player.answer(presentation, kit[:1])


def test_staging_is_timed_and_not_judged_by_it(hire: Person, rig: Rig) -> None:
    run = started(hire, rig, Mode.ASSESSED)
    presentation = opened(run)

    player = Player(run, now=presentation.served_at)
    answered = player.answer(presentation, [line_of(run, "splint")])

    assert presentation.limit_seconds is None
    assert (answered.seconds, answered.time_verdict) == (4.0, "untimed")


def test_a_call_voided_by_a_real_one_is_replaced_by_another(staging: Run) -> None:
    presentation = opened(staging)
    call_away(staging, now=lately())

    following = opened(staging)

    assert following.prompt != presentation.prompt
    assert following.prompt is not None
    assert following.prompt.kind == "stage"


@pytest.mark.parametrize("headers", [{}, FRAGMENT], ids=["page", "fragment"])
@pytest.mark.parametrize("mode", Mode.values)
def test_whatever_the_call_asks_for_the_page_is_the_same(
    browser: Client, hire: Person, rig: Rig, mode: str, headers: dict[str, str]
) -> None:
    """The same call with every other need, and with none, byte for byte."""
    run = started(hire, rig, mode)
    presentation = opened(run)
    url = reverse("runs:take", args=[run.pk])
    prompt = presentation.prompt
    assert prompt is not None
    before = masked(browser.get(url, headers=headers).content)
    assert FINDINGS.encode() in before

    others: tuple[list[Any], ...] = ([], prompt.answer["wanted"][:1], prompt.answer["wanted"][::-1])
    for wanted in others:
        answers = prompt.answer | {"wanted": wanted, "tied": []}
        DrillPrompt.objects.filter(pk=prompt.pk).update(answer=answers)
        assert masked(browser.get(url, headers=headers).content) == before


def test_the_debrief_shows_what_was_missed_on_the_plan(browser: Client, staging: Run) -> None:
    player = Player(staging, now=lately())
    presentation: Presentation | None = opened(staging)
    while presentation is not None:
        player.answer(presentation, [line_of(staging, "splint")])
        presentation = player.serve()

    content = browser.get(reverse("runs:debrief", args=[staging.pk])).content.decode()

    assert "Tourniquet-limb: 0 of 1." in content
    assert 'class="bal' in content


@pytest.mark.parametrize("mode", Mode.values)
def test_a_tie_that_nobody_confirmed_serves_practice_alone_and_is_marked(
    browser: Client, hire: Person, rig: Rig, mode: str
) -> None:
    """A splint that is tied to nothing is likest the need of its name."""
    bleeding_call(rig.revision)
    ItemTerms.objects.filter(item__key="splint").update(need=None)
    category = ItemTerms.objects.get(item__key="splint").category
    Need.objects.filter(key="board-splints").update(name_us="Splints", category=category)
    recipe = RecipeFactory.create(slug="bring", kinds="stage:1", call_types=["bleeding"], mode=mode)

    run = start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=lately(), seed=SEED)

    prompt = run.drill.prompts.get(position=0)
    splints = next(each for each in prompt.answer["wanted"] if each["need"] == "board-splints")
    is_practice = mode == Mode.PRACTICE
    assert splints["things"] == (["splint"] if is_practice else [])
    assert splints["short"] == (0 if is_practice else 1)
    assert prompt.answer["unconfirmed"] == (["splint"] if is_practice else [])
    if is_practice:
        content = answer(browser, run, sent(run, opened(run), "splint")).content.decode()
        assert "has not confirmed: Splint." in content


def test_what_is_asked_for_is_named_in_one_spelling(hire: Person, rig: Rig) -> None:
    """That of the pages, whichever the rig's own words are in."""
    bleeding_call(rig.revision)
    Need.objects.filter(key="tourniquet-limb").update(name_us="Pediatric", name_intl="Paediatric")

    made = material_of(rig.revision, now=lately(), is_assessed=False)

    named = {need.name for call in made.call_types for need in call.needs}
    assert "Paediatric" in named
    assert "Pediatric" not in named
