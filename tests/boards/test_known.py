"""What one person knows, thing by thing, and how good the numbers are."""

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.boards.known import AHEAD, LOOKED_AT, KnownBoard, Numbered, known_board, musts_numbered
from drills.boards.model import ModelBoard
from drills.competency.actions import HANDS_ON, record_evidence
from drills.competency.models import Evidence, Fit
from drills.competency.quality import newest_fit, said_beforehand
from drills.competency.refitting import refit
from drills.engine.facts import steps
from drills.engine.knowing.checking import checked
from drills.engine.knowing.history import history
from drills.engine.readying.call import OBSERVED_ENOUGH
from drills.engine.scoring import PARTLY, RIGHT, WRONG, Finding
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.scenarios.coverage import must_haves_on
from tests.boards.test_readiness import answered as answered_by
from tests.calls import bleeding_call
from tests.competency.test_actions import NOW, TOURNIQUET, circumstances
from tests.competency.test_actions import rig as rig
from tests.competency.test_refit import answered as answered
from tests.competency.test_refit import say
from tests.engine.knowing_answers import ability
from tests.layouts import practice_rig

pytestmark = pytest.mark.django_db
NIGHT, HOUR = NOW + timedelta(days=1), timedelta(hours=1)


@pytest.fixture
def page(client: Client, hire: Person, rig: Rig) -> Client:
    """The browser of a person who rides the rig."""
    pick_rig(hire, rig, now=NOW)
    client.force_login(hire)
    return client


def shown(page: Client, hire: Person) -> str:
    text: str = page.get(reverse("boards:known", args=[hire.employee_number])).content.decode()
    return text


def test_before_a_fit_there_is_not_enough_evidence(page: Client, hire: Person) -> None:
    assert "Not enough evidence: nothing is fitted yet by this release" in shown(page, hire)


@pytest.mark.usefixtures("answered")
def test_every_thing_of_the_rig_has_a_row(page: Client, hire: Person) -> None:
    """After the refit each thing stands there once, with an interval."""
    refit(now=lambda: NIGHT, say=say)
    text = shown(page, hire)
    rows = re.findall(r"<td><b>([^<]+)</b>", text)

    assert sorted(rows) == sorted(thing.name for thing in practice_rig().things.values())
    assert "Screen only" in text


@pytest.mark.usefixtures("answered")
def test_what_is_critical_and_least_known_stands_first_with_evidence_or_without(
    page: Client, hire: Person, rig: Rig
) -> None:
    """Of who was never asked none has a number there, and the drill asks for each of them."""
    Evidence.objects.filter(person=hire).delete()
    refit(now=lambda: NIGHT, say=say)
    board = known_board(hire, rig, now=NIGHT)
    critical = [row.thought for _, row in board.rows if row.thought.thing.critical]
    least = sorted(critical, key=lambda each: each.chance)[:LOOKED_AT]
    text = shown(page, hire)
    first = text[text.index("Look at first") : text.index("Start this drill")]

    assert [row.thought for row in board.weakest] == least
    assert not any(each.is_enough for each in least)
    assert first.count("never asked") == len(least) > 0
    assert "not enough evidence" not in text
    assert text.count('<span class="nw">never asked,</span>') == len(board.rows)
    beside = re.findall(r"\d+ to \d+,</span> <span class=\"nw\">never asked", first)
    assert len(beside) == len(least)
    asked = re.findall(r'name="ask" value="only:locate:([^:]+):', first)
    assert asked == [each.thing.key for each in least]


@pytest.mark.usefixtures("answered")
def test_what_no_crew_checked_and_no_rig_showed_stands_on_the_page(
    page: Client, hire: Person, rig: Rig, monkeypatch: pytest.MonkeyPatch
) -> None:
    refit(now=lambda: NIGHT, say=say)
    text = shown(page, hire)
    asked = [row for _, row in known_board(hire, rig, now=NIGHT).rows if row.thought.first_answers]

    assert f"Not yet checked against your crews:</b> 0 of {OBSERVED_ENOUGH} outcomes" in text
    assert text.count("screen only") == len(asked) > 0

    at_rig = replace(circumstances(hire, rig, "sheet"), modality=HANDS_ON)
    record_evidence([Finding(TOURNIQUET, RIGHT, "")], at_rig)
    monkeypatch.setattr("drills.boards.known.OBSERVED_ENOUGH", 1)
    text = shown(page, hire)

    assert "Not yet checked" not in text
    assert text.count("screen only") == len(asked) - 1


@pytest.mark.usefixtures("answered")
def test_what_was_missed_when_last_asked_says_so_whatever_its_number(
    hire: Person, rig: Rig
) -> None:
    """Once it is right again it does not."""
    refit(now=lambda: NIGHT, say=say)

    def missed(outcome: str, hours: int) -> list[str]:
        later = replace(circumstances(hire, rig, f"{outcome} {hours}"), at=NIGHT + hours * HOUR)
        record_evidence([Finding(TOURNIQUET, outcome, "")], later)
        board = known_board(hire, rig, now=NIGHT + timedelta(days=1))
        return [row.thought.thing.key for _, row in board.rows if "missed last" in row.words]

    before = set(missed(RIGHT, 1))

    assert set(missed(WRONG, 2)) - before == {TOURNIQUET.thing}
    assert set(missed(RIGHT, 3)) == before


@pytest.mark.usefixtures("answered")
def test_what_was_missed_and_shown_hours_ago_carries_no_number_and_is_looked_at_first(
    page: Client, hire: Person, rig: Rig
) -> None:
    """That it comes to mind minutes after it was shown would read as known; half a day later the
    chance is told again."""
    refit(now=lambda: NIGHT, say=say)
    later = replace(circumstances(hire, rig, "lately"), at=NIGHT)
    record_evidence([Finding(TOURNIQUET, WRONG, "")], later)

    def board(hours: int) -> KnownBoard:
        return known_board(hire, rig, now=NIGHT + hours * HOUR)

    def just_shown(hours: int) -> list[str]:
        return [e.thought.thing.key for _, e in board(hours).rows if e.is_just_shown]

    assert TOURNIQUET.thing in just_shown(11)
    assert TOURNIQUET.thing not in just_shown(13)
    assert board(11).weakest[0].is_just_shown
    row = next(e for _, e in board(13).rows if e.thought.thing.key == TOURNIQUET.thing)
    sure = replace(row.thought, chance=0.8, low=0.75, high=0.85, first_answers=25, lapses_in=30)
    known = replace(row, thought=sure, lapses_on=date(2026, 5, 4))
    assert (known.is_told, "lapses by 4 May" in known.words) == (True, True)
    just_missed = replace(known, is_just_shown=True)
    assert (just_missed.is_told, "lapses" in just_missed.words) == (False, False)
    everything = replace(board(13), rows=(("D", known), ("D", just_missed)))
    assert everything.numbered == 1
    assert "missed, then shown: no number for 12 hours" not in shown(page, hire)
    just_now = replace(circumstances(hire, rig, "just now"), at=timezone.now())
    record_evidence([Finding(TOURNIQUET, WRONG, "")], just_now)
    assert "missed, then shown: no number for 12 hours" in shown(page, hire)


@pytest.mark.usefixtures("answered")
def test_a_thing_in_a_bag_is_known_when_both_steps_are(hire: Person, rig: Rig) -> None:
    """The chance of a thing is no greater than that of each step to it alone, and the time to come
    only takes from it."""
    refit(now=lambda: NIGHT, say=say)
    board = known_board(hire, rig, now=NIGHT)
    by_name = {row.thought.thing.key: row.thought for _, row in board.rows}
    layout = practice_rig()
    inside = [each for each in layout.things.values() if len(each.places) == 1]
    two_steps = [each for each in inside if len(steps(layout, each.key, each.places[0])) == 2]

    assert two_steps
    for thing in two_steps:
        bag = steps(layout, thing.key, thing.places[0])[0]
        alone = [each for each in inside if steps(layout, each.key, each.places[0])[-1] == bag]
        assert by_name[thing.key].chance < 1.0
        assert all(by_name[thing.key].chance <= by_name[each.key].chance for each in alone)
    assert all(row.thought.lapses_in in (None, *AHEAD) for _, row in board.rows)


@pytest.mark.usefixtures("answered")
def test_who_is_right_less_often_knows_less(hire: Person, outsider: Person, rig: Rig) -> None:
    refit(now=lambda: NIGHT, say=say)
    means = []
    for person in (hire, outsider):
        told = [row.thought.chance for _, row in known_board(person, rig, now=NIGHT).rows]
        means.append(sum(told) / len(told))

    assert means[0] > means[1] + 0.2


def test_without_a_rig_there_is_none_to_know(client: Client, hire: Person) -> None:
    client.force_login(hire)

    assert "rides no rig today" in shown(client, hire)


@pytest.mark.usefixtures("answered")
def test_an_educator_reads_what_the_fit_holds(client: Client, educator: Person) -> None:
    """The page tells of how many answers it is, and each coefficient by name."""
    client.force_login(educator)
    assert "Nothing was fitted yet" in client.get(reverse("boards:model")).content.decode()

    refit(now=lambda: NIGHT, say=say)
    text = client.get(reverse("boards:model")).content.decode()

    assert "240 first answers, 2 people" in text
    assert "Longest gap bridged" in text
    assert f"0 of {OBSERVED_ENOUGH} outcomes seen at a rig" in text


@pytest.mark.usefixtures("answered")
def test_how_many_outcomes_check_it_is_the_number_that_the_words_go_by(
    client: Client, educator: Person, hire: Person, rig: Rig, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Counted as the words are: every outcome an officer saw, a retry as well."""
    monkeypatch.setattr("drills.boards.model.OBSERVED_ENOUGH", 2)
    refit(now=lambda: NIGHT, say=say)
    client.force_login(educator)
    for number, is_first in enumerate((True, False)):
        told = client.get(reverse("boards:model")).content.decode()
        assert f"{number} of 2 outcomes seen at a rig" in told
        asked = circumstances(hire, rig, f"sheet {number}")
        record_evidence(
            [Finding(TOURNIQUET, RIGHT, "")],
            replace(asked, modality=HANDS_ON, is_first=is_first),
        )

    told = client.get(reverse("boards:model")).content.decode()
    assert "2 outcomes were seen at a rig by now" in told
    assert "Not yet checked" not in told


@pytest.mark.usefixtures("answered")
@pytest.mark.parametrize("lost", ["coefficients", "past"])
def test_a_fit_of_another_release_is_told_as_one_that_is_not_used(
    client: Client, educator: Person, lost: str
) -> None:
    """Of other columns, or of a model with other figures: none of its numbers are shown."""
    refit(now=lambda: NIGHT, say=say)
    made = Fit.objects.get()
    other = {"coefficients": {"of another release": 1.0}} if lost == "coefficients" else {}
    kept = {name: value for name, value in made.figures.items() if name != lost}
    Fit.objects.create(
        made_at=NIGHT + timedelta(days=1),
        through=made.through,
        answers=240,
        people=2,
        seconds=1,
        figures=kept | other,
        quality={"days": 30, "gap": 0.01, "count": 999, "bins": []},
    )
    client.force_login(educator)
    text = client.get(reverse("boards:model")).content.decode()

    assert "of another release and is not used" in text
    assert "Longest gap bridged" not in text
    assert "Said, and what came" not in text
    assert refit(now=lambda: NIGHT + timedelta(days=2), say=say)
    assert "Longest gap bridged" in client.get(reverse("boards:model")).content.decode()


@pytest.mark.usefixtures("answered")
def test_what_was_said_before_answers_came_is_told_by_door(
    client: Client, educator: Person, hire: Person, rig: Rig
) -> None:
    """Answers at the rig stand apart; what nothing was said of, a retry and what was partly right
    are no part of it."""
    said = ((0.9, RIGHT), (0.7, RIGHT), (0.5, WRONG), (0.5, PARTLY), (None, WRONG))
    for number, (chance, outcome) in enumerate(said):
        asked = circumstances(hire, rig, f"sheet {number}")
        thought = {str(TOURNIQUET): chance} if chance else {}
        asked = replace(asked, modality=HANDS_ON, predictions=thought, predicted_by="fit 1")
        record_evidence([Finding(TOURNIQUET, outcome, "")], asked)
    record_evidence(
        [Finding(TOURNIQUET, WRONG, "")],
        replace(circumstances(hire, rig, "retry"), is_first=False, predicted_by="fit 1"),
    )
    (told,) = said_beforehand()

    assert (told.door, told.count) == ("hands-on, observed", 3)
    assert told.said == pytest.approx(0.7)
    assert told.came == pytest.approx(2 / 3)
    assert told.low < told.came < told.high

    refit(now=lambda: NIGHT, say=say)
    client.force_login(educator)
    text = client.get(reverse("boards:model")).content.decode()
    row = re.search(r"<b>Hands-on, observed</b>.*?</tr>", text)

    assert row
    assert re.findall(r"<td[^>]*>(\d[^<]*)<", row[0]) == ["70", "67", "32 to 89", "3"]


def test_the_latest_month_is_judged_by_what_came_before() -> None:
    """Chances of answers that follow the model are about what came; of few nothing is said."""
    answers, _ = ability(4, people=60, things=20, each=120)
    told = checked(answers, history(answers))

    assert told is not None
    assert told["count"] > 2000
    assert told["log_loss"] < told["plain"]
    assert told["gap"] < 0.05
    assert checked(answers.take(slice(0, 150)), history(answers.take(slice(0, 150)))) is None


def test_what_was_simulated_at_the_rig_checks_nothing(hire: Person, rig: Rig) -> None:
    """The page of the model counts what an officer saw, and nothing that was made up."""
    for is_simulated in (True, False):
        source = f"answer, simulated {is_simulated}"
        answered_by(
            hire,
            rig,
            RIGHT,
            "splint",
            times=1,
            modality="hands-on",
            is_simulated=is_simulated,
            source=source,
        )
    refit(now=lambda: NIGHT, say=say)
    fit = newest_fit()

    assert fit is not None
    assert fit.has_simulated
    assert 0 < ModelBoard(fit).observed == fit.answers / 2


@pytest.mark.usefixtures("answered")
def test_of_must_haves_that_carry_a_number_the_page_shows_as_many(
    hire: Person, outsider: Person, rig: Rig
) -> None:
    """Of who rides a rig, and of what a call asks for; as the rows of the page have it."""
    bleeding_call(rig.revision)
    assert musts_numbered([hire, outsider], now=NIGHT) == Numbered(0, 0, 0)
    pick_rig(hire, rig, now=NOW)
    refit(now=lambda: NIGHT, say=say)
    musts = must_haves_on(rig.revision)
    rows = [row.thought for _, row in known_board(hire, rig, now=NIGHT).rows]

    found = musts_numbered([hire, outsider], now=NIGHT)

    assert {"tourniquet", "splint"} <= musts
    assert found.people == 1
    assert found.things == len(musts)
    assert found.numbered == sum(e.is_enough for e in rows if e.thing.key in musts)
