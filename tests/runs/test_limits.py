"""Limits: whose tapping they are made from, what lengthens them, and what a cut-off goes by."""

from datetime import datetime, timedelta

import pytest

from drills.competency.models import Evidence
from drills.engine.timing import CUT_OFF, IN_TIME, LATE, VERIFIED, Claim
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.actions import answer_prompt, begin, start_run
from drills.runs.models import Presentation, Run
from drills.scenarios.models import Recipe
from tests.runs.conftest import NOW, SEED, ClientOf
from tests.runs.player import Player, right

TAPPING, OVER = 1.5, 10.0
pytestmark = pytest.mark.django_db


def started(hire: Person, rig: Rig, recipe: Recipe, now: datetime = NOW) -> Run:
    return start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=now, seed=SEED)


def first_of(run: Run, *, device: str = "phone", now: datetime = NOW) -> Presentation:
    presentation = begin(run, device_class=device, is_timed=True, now=now).presentation
    assert presentation is not None
    return presentation


@pytest.mark.parametrize("allowance", [1, 1.5, 2])
def test_an_allowance_multiplies_the_limit_and_is_kept_with_the_evidence(
    hire: Person, rig: Rig, assessed: Recipe, allowance: float
) -> None:
    Person.objects.filter(pk=hire.pk).update(time_allowance=allowance)
    hire.refresh_from_db()
    run = started(hire, rig, assessed)
    player = Player(run)
    presentation = player.past_warm_ups()

    # Later than the plain limit by more than half a second, and within the longer ones.
    answered = player.answer(presentation, right(presentation), seconds=14.0)

    limit = (TAPPING + OVER) * allowance
    assert presentation.limit_seconds == limit
    assert answered.time_verdict == (LATE if allowance == 1 else IN_TIME)
    kept = Evidence.objects.filter(person=hire)
    assert {(row.allowance, row.limit_seconds) for row in kept} == {(allowance, limit)}


def test_the_allowance_of_the_start_is_said_before_the_first_prompt(
    client_of: ClientOf, hire: Person, rig: Rig, assessed: Recipe
) -> None:
    Person.objects.filter(pk=hire.pk).update(time_allowance=1.5)
    hire.refresh_from_db()
    run = started(hire, rig, assessed)

    content = client_of(hire).get(f"/runs/{run.pk}/").content.decode()

    assert "Your limits are multiplied by 1.5." in content


def test_tapping_on_another_kind_of_device_is_measured_anew(
    hire: Person, rig: Rig, assessed: Recipe
) -> None:
    Player(started(hire, rig, assessed)).past_warm_ups()

    on_phone = first_of(started(hire, rig, assessed))
    on_desk = first_of(started(hire, rig, assessed), device="desk")

    assert not on_phone.is_warm_up
    assert on_phone.limit_seconds == TAPPING + OVER
    assert on_desk.is_warm_up


def test_each_kind_of_device_keeps_its_own_tapping(
    hire: Person, rig: Rig, assessed: Recipe
) -> None:
    Player(started(hire, rig, assessed)).past_warm_ups()
    on_desk = Player(started(hire, rig, assessed))
    presentation = first_of(on_desk.run, device="desk")
    while presentation.is_warm_up:
        on_desk.answer(presentation, right(presentation), seconds=3.0)
        presentation = on_desk.serve() or presentation

    assert presentation.limit_seconds == 3.0 + OVER
    assert first_of(started(hire, rig, assessed)).limit_seconds == TAPPING + OVER


@pytest.mark.parametrize(("days", "is_measured_anew"), [(1, False), (89, False), (91, True)])
def test_tapping_is_measured_again_after_ninety_days(
    hire: Person, rig: Rig, assessed: Recipe, days: int, is_measured_anew: bool
) -> None:
    Player(started(hire, rig, assessed)).past_warm_ups()
    later = NOW + timedelta(days=days)

    presentation = first_of(started(hire, rig, assessed, later), now=later)

    assert presentation.is_warm_up == is_measured_anew


@pytest.mark.parametrize("over", [5.0, 25.0])
def test_a_recipe_says_how_long_finding_may_take(
    client_of: ClientOf, hire: Person, rig: Rig, assessed: Recipe, over: float
) -> None:
    Recipe.objects.filter(pk=assessed.pk).update(limit_over_baseline_s=over)
    assessed.refresh_from_db()
    run = started(hire, rig, assessed)
    content = client_of(hire).get(f"/runs/{run.pk}/").content.decode()

    presentation = Player(run).past_warm_ups()

    assert f"your own tapping time plus {over:g} s" in content
    assert presentation.limit_seconds == TAPPING + over


def test_without_a_word_of_the_recipe_finding_may_take_ten_seconds(
    hire: Person, rig: Rig, assessed: Recipe
) -> None:
    Recipe.objects.filter(pk=assessed.pk).update(limit_over_baseline_s=None)
    assessed.refresh_from_db()

    presentation = Player(started(hire, rig, assessed)).past_warm_ups()

    assert presentation.limit_seconds == TAPPING + OVER


class TestCutOff:
    """Thirty seconds, by the server's clock."""

    @pytest.fixture
    def asked(self, hire: Person, rig: Rig, assessed: Recipe) -> Presentation:
        Recipe.objects.filter(pk=assessed.pk).update(cut_off_s=30)
        assessed.refresh_from_db()
        return Player(started(hire, rig, assessed)).past_warm_ups()

    def answer(self, asked: Presentation, claim: Claim | None, server: float) -> Presentation:
        return answer_prompt(
            asked.run,
            token=asked.token,
            tokens=[asked.run.token_for(right(asked)[0])],
            claim=claim,
            now=asked.served_at + timedelta(seconds=server),
        )

    def test_is_the_servers_whatever_the_browser_says(self, asked: Presentation) -> None:
        """The claim is possible, so its seconds count; the prompt was closed all the same."""
        answered = self.answer(asked, Claim(elapsed=4.0, gap=0.1, hidden=35.0), 40.0)

        assert (answered.seconds, answered.time_state) == (4.0, VERIFIED)
        assert answered.time_verdict == CUT_OFF

    def test_comes_half_a_second_after_its_moment(self, asked: Presentation) -> None:
        assert self.answer(asked, None, 30.4).time_verdict == LATE

    def test_cuts_off_what_comes_later(self, asked: Presentation) -> None:
        assert self.answer(asked, None, 30.6).time_verdict == CUT_OFF
