"""The quickest way to bring a kit, told after the answer beside the person's own."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from drills.engine.optimum import PatientPlace
from drills.engine.optimum import Rig as Walked
from drills.engine.optimum.kit import quickest_kit
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.bringing import as_good
from drills.runs.debriefing import debrief_context
from drills.runs.models import Presentation, Run
from drills.runs.records import record_of
from drills.runs.told import tell
from drills.scenarios.models import Mode
from drills.scenarios.reading import layout_asked
from drills.scenarios.tasks import wanted_in
from tests.calls import MUSTS
from tests.runs.conftest import ClientOf
from tests.runs.test_stage import answer, line_of, opened, sent, started

pytestmark = pytest.mark.django_db


@pytest.fixture
def run(hire: Person, rig: Rig) -> Run:
    return started(hire, rig, Mode.ASSESSED)


@pytest.fixture
def browser(client_of: ClientOf, hire: Person) -> Client:
    return client_of(hire)


def tokens(run: Run, *things: str) -> str:
    return " ".join(run.token_for(line_of(run, thing)) for thing in things)


def answered(browser: Client, run: Run, order: str | None, *things: str) -> Presentation:
    presentation = opened(run)
    body: dict[str, Any] = sent(run, presentation, *things)
    answer(browser, run, body if order is None else body | {"order": order})
    presentation.refresh_from_db()
    return presentation


def debrief(browser: Client, run: Run) -> str:
    return browser.get(reverse("runs:debrief", args=[run.pk])).content.decode()


@pytest.mark.parametrize(
    ("stands", "said"),
    [
        ({"side": "rear", "metres": 12.0}, "begins and ends at a patient 12 m off the rear."),
        ({"side": "curb", "metres": 4.0}, "begins and ends at a patient 4 m off the curb side."),
        (None, "begins and ends at a patient 6 m off the curb side."),
    ],
)
def test_the_way_is_to_where_the_prompt_says(
    browser: Client, run: Run, stands: dict[str, Any] | None, said: str
) -> None:
    """As it was frozen; a prompt from before there was any is 6 m off the curb side."""
    presentation = opened(run)
    assert presentation.prompt is not None
    prompt = presentation.prompt
    kept = {name: each for name, each in prompt.answer.items() if name != "stands"}
    prompt.answer = kept | ({"stands": stands} if stands else {})
    prompt.save()
    answered(browser, run, tokens(run, *reversed(MUSTS)), *MUSTS)
    run.refresh_from_db()

    content = debrief(browser, run)
    (bring,) = debrief_context(run)["brought"]

    asked = Walked(layout_asked(run.drill)).at(PatientPlace(**(stands or {})))
    quickest = quickest_kit(asked, wanted_in(prompt.answer))
    assert said in content
    assert quickest is not None
    assert bring.quickest.cs == quickest.cs


def test_both_ways_are_told_where_the_order_is_known(browser: Client, run: Run) -> None:
    """Stop by stop, and what is lost adds up to the whole."""
    presentation = answered(browser, run, tokens(run, *reversed(MUSTS)), *MUSTS)
    run.refresh_from_db()

    content = debrief(browser, run)
    (bring,) = debrief_context(run)["brought"]

    assert len(presentation.taken_order) == 2
    assert "Yours: dotted, square numbers" in content
    assert "Proved: nothing is quicker" in content
    assert "Modelled times: a yardstick for practice, no standard of care." in content
    assert bring.total.own_cs >= bring.total.quick_cs > 0
    assert abs(bring.total.quick_cs - bring.quickest.cs) <= 5
    assert f'Against the quickest: <span class="nw">{bring.total.lost_s} s</span>' in content
    lost_cs = bring.total.own_cs - bring.total.quick_cs
    assert lost_cs == sum(row.own_cs - row.quick_cs for row in bring.rows) > 0
    assert lost_cs == sum(line.cs for line in bring.lost)
    assert all(f">{line.seconds}</b>" in content for line in bring.lost)


@pytest.mark.parametrize(
    ("own_cs", "quick_cs", "is_so"),
    [
        (1_000, 1_000, True),
        (1_300, 1_000, True),
        (1_301, 1_000, False),
        (6_300, 6_000, True),
        (6_301, 6_000, False),
        (10_500, 10_000, True),
        (10_501, 10_000, False),
    ],
)
def test_within_3_s_or_5_in_100_a_way_is_as_good(
    own_cs: int, quick_cs: int, *, is_so: bool
) -> None:
    """From a minute on five in a hundred are the more."""
    assert as_good(own_cs, quick_cs) is is_so


@pytest.mark.parametrize(("things", "is_so"), [(MUSTS, True), ((*MUSTS, "traffic cone"), False)])
def test_the_debrief_says_which_way_is_as_good(
    browser: Client, run: Run, things: tuple[str, ...], *, is_so: bool
) -> None:
    """The must-haves alone lose 3.0 s on the quickest; with a cone as well it is 4.6 s."""
    answered(browser, run, tokens(run, *things), *things)
    run.refresh_from_db()
    (bring,) = debrief_context(run)["brought"]

    assert bring.is_as_good is is_so
    assert ("As good as the quickest: within 3 s or 5 %" in debrief(browser, run)) is is_so


def test_a_place_that_was_not_needed_is_told_with_its_cost(browser: Client, run: Run) -> None:
    """The drawer was opened for a tourniquet that lies in the bag on the shelf as well."""
    answered(browser, run, tokens(run, *MUSTS, "gauze roll"), *MUSTS, "gauze roll")

    content = debrief(browser, run)
    (bring,) = debrief_context(run)["brought"]

    assert "Useful, and left out of the quickest way: Gauze roll." in content
    assert {line.numbers for line in bring.lost} >= {(1,)}


def test_what_would_have_been_useful_is_told_with_its_reason(browser: Client, run: Run) -> None:
    """It costs nothing; what was brought is not in it."""
    answered(browser, run, None, *MUSTS)

    told = tell(run.presentations.get(), layout_asked(run.drill))

    assert told.kit is not None
    assert [(what, why) for what, why, *_ in told.kit.useful] == [("Gauze: 0 of 1", "gauze is why")]


def test_practice_shows_the_quickest_way_at_once(hire: Person, rig: Rig, browser: Client) -> None:
    """After the answer, with the reasons; an assessed run tells it in the debrief alone."""
    practice = started(hire, rig, Mode.PRACTICE)
    before = browser.get(reverse("runs:take", args=[practice.pk])).content.decode()

    answered(browser, practice, tokens(practice, *reversed(MUSTS)), *MUSTS)
    after = browser.get(reverse("runs:take", args=[practice.pk])).content.decode()

    assert "The quickest way to bring it" not in before
    assert "The quickest way to bring it" in after
    assert "Against the quickest" in after


def test_an_assessed_run_shows_it_in_its_debrief_alone(browser: Client, run: Run) -> None:
    """Whatever came of the answer."""
    presentation = opened(run)
    body = sent(run, presentation, *MUSTS) | {"order": tokens(run, *MUSTS)}

    content = answer(browser, run, body).content.decode()

    assert "quickest" not in content.casefold()


def test_two_share_a_kit_that_lies_apart(browser: Client, run: Run) -> None:
    """The person's share has more of what they opened; the later of both is the time."""
    answered(browser, run, tokens(run, *MUSTS), *MUSTS)

    content = debrief(browser, run)
    (bring,) = debrief_context(run)["brought"]

    if len(bring.shares) > 1:
        assert f"With a partner: {bring.with_partner_s} s" in content
        assert bring.with_partner_s in {share.seconds for share in bring.shares}
        assert bring.shares[0].places[0].split(" ")[0] in bring.presentation.taken_order
    else:
        assert "A partner saves nothing here." in content
    assert bring.with_partner.cs <= bring.quickest.cs


@pytest.mark.parametrize(
    "order", [None, "", "x" * 9000, "0 1 2", "é ☃", "splint tourniquet", "first alone"]
)
def test_an_order_that_is_none_costs_nothing(browser: Client, run: Run, order: str | None) -> None:
    """Without scripts, or made up, or of a part of the kit: the quickest alone is shown."""
    came = tokens(run, MUSTS[0]) if order == "first alone" else order
    presentation = answered(browser, run, came, *MUSTS)

    content = debrief(browser, run)

    assert (presentation.outcome, presentation.taken_order) == ("right", [])
    assert "is not known, so no other way is drawn" in content
    assert "square numbers" not in content


def test_what_was_put_back_is_no_part_of_the_order(browser: Client, run: Run) -> None:
    """A thing that was not sent was not taken, whatever the order says; twice is once."""
    order = tokens(run, "gauze roll", "splint", "tourniquet", "splint")
    presentation = answered(browser, run, order, *MUSTS)

    assert presentation.taken_order == [
        line_of(run, thing).split(" ")[0] for thing in ("splint", "tourniquet")
    ]


def test_the_order_is_never_marked_and_the_first_one_stands(browser: Client, run: Run) -> None:
    """The same answer sent again in another order changes nothing."""
    presentation = answered(browser, run, tokens(run, *MUSTS), *MUSTS)
    first = presentation.taken_order
    body = sent(run, presentation, *MUSTS) | {"order": tokens(run, *reversed(MUSTS))}

    answer(browser, run, body)

    presentation.refresh_from_db()
    assert (presentation.marks, presentation.taken_order) == (100, first)


def test_of_a_kit_that_lacks_a_must_have_it_is_said(browser: Client, run: Run) -> None:
    """It is quicker to bring less."""
    answered(browser, run, tokens(run, "splint"), "splint")

    content = debrief(browser, run)

    assert "That way brings less than was asked." in content
    assert "As good as the quickest" not in content
    assert content.index("Not brought") < content.index("The quickest way: ")


def test_nothing_of_it_is_told_before_the_answer(browser: Client, run: Run) -> None:
    """Nor in the page of the prompt, nor while the run is open."""
    opened(run)

    content = browser.get(reverse("runs:take", args=[run.pk])).content.decode()

    assert 'name="order"' in content
    assert "quickest" not in content.casefold().replace("/quickest", "")
    assert "ballb" not in content
    assert browser.get(reverse("runs:debrief", args=[run.pk])).status_code == 403


def test_another_who_reads_it_reads_of_them(
    client_of: ClientOf, browser: Client, run: Run, hire: Person, educator: Person
) -> None:
    """The educator sees the person's way as theirs."""
    answered(browser, run, tokens(run, *MUSTS), *MUSTS)

    content = debrief(client_of(educator), run)

    assert "Theirs: dotted, square numbers" in content
    assert "their way takes" in content


def test_a_record_gives_the_order_out_with_the_answer(
    browser: Client, run: Run, hire: Person
) -> None:
    """As the places were named."""
    presentation = answered(browser, run, tokens(run, *MUSTS), *MUSTS)

    (told,) = record_of(hire)["runs"]
    shown = [each for each in told["answers"] if "taken from, in order" in each]

    assert presentation.taken_order
    assert [each["taken from, in order"] for each in shown] == [presentation.taken_order]


def test_what_is_reported_missing_is_not_in_the_quickest_way(browser: Client, run: Run) -> None:
    """The drawer's tourniquet is held: the bag's is fetched."""
    presentation = answered(browser, run, tokens(run, *MUSTS), *MUSTS)
    drill = presentation.run.drill
    drill.held = [["tourniquet", "BAG-M"]]
    drill.save()
    run.refresh_from_db()

    (bring,) = debrief_context(Run.objects.get(pk=run.pk))["brought"]

    assert {leg.code for leg in bring.quickest.legs} == {"I1A", "S1A", ""}
