"""Promises of the run engine."""

from dataclasses import replace
from datetime import timedelta

import pytest

from drills.competency.models import Evidence
from drills.engine.moves import MoveError
from drills.engine.recipes import CONTENTS, LOCATE
from drills.engine.scoring import RIGHT, WRONG
from drills.engine.timing import IN_TIME, LATE, UNTIMED, UNVERIFIED, VERIFIED, Claim
from drills.people.models import Person
from drills.rigs.actions import import_layout, report_absence
from drills.rigs.models import Absence, Rig
from drills.runs.actions import (
    AnsweredOtherwiseError,
    AnswerError,
    NotOpenError,
    answer_prompt,
    call_away,
    report_not_there,
    start_run,
)
from drills.runs.actions.serving import slots_of
from drills.runs.models import (
    LEFT_ALONE_AFTER,
    Presentation,
    PresentationState,
    Run,
    RunState,
    TappingBaseline,
    VoidReason,
)
from drills.runs.served import record_of
from drills.scenarios.models import Recipe
from tests.layouts import practice_rig
from tests.runs.conftest import NOW, SEED
from tests.runs.player import Player, right, wrong

pytestmark = pytest.mark.django_db


def test_begins_with_three_warm_ups_and_keeps_their_middle(run: Run, hire: Person) -> None:
    player = Player(run)

    presentation = player.begin()
    for seconds in (1.0, 4.0, 2.0):
        assert presentation.is_warm_up
        player.answer(presentation, [presentation.subject], seconds=seconds)
        presentation = player.serve() or presentation

    assert not presentation.is_warm_up
    assert TappingBaseline.objects.get(person=hire, device_class="phone").seconds == 2.0


def test_measures_tapping_once_for_a_kind_of_device(run: Run, hire: Person, rig: Rig) -> None:
    Player(run).finish()

    again = start_run(
        hire, recipe=run.drill.recipe, revision=rig.revision, rig=rig, now=NOW, seed=SEED
    )

    assert not Player(again).begin().is_warm_up


def test_untimed_practice_has_no_warm_ups_and_no_limits(run: Run) -> None:
    player = Player(run)

    presentation = player.begin(is_timed=False)

    assert not presentation.is_warm_up
    assert presentation.limit_seconds is None


def test_a_new_thing_is_untimed_until_found_right_once(run: Run, hire: Person, rig: Rig) -> None:
    first = Player(run).finish()
    assert {each.time_verdict for each in first} == {UNTIMED}

    again = start_run(
        hire, recipe=run.drill.recipe, revision=rig.revision, rig=rig, now=NOW, seed=SEED
    )
    player = Player(again, now=NOW + timedelta(hours=1))
    presentation = player.begin()

    # Tapping took 1.5 s; ten seconds are for finding.
    assert presentation.limit_seconds == 11.5


def test_an_assessed_run_is_timed_from_the_first(assessed_run: Run) -> None:
    presentation = Player(assessed_run).past_warm_ups()

    assert presentation.limit_seconds == 11.5


def test_late_is_judged_apart_from_right(assessed_run: Run) -> None:
    player = Player(assessed_run)
    presentation = player.past_warm_ups()

    answered = player.answer(presentation, right(presentation), seconds=12.1)

    assert (answered.outcome, answered.time_verdict) == (RIGHT, LATE)


def test_half_a_second_over_is_not_late(assessed_run: Run) -> None:
    player = Player(assessed_run)
    presentation = player.past_warm_ups()

    answered = player.answer(presentation, right(presentation), seconds=12.0)

    assert answered.time_verdict == IN_TIME


def test_an_allowance_lengthens_the_limit(hire: Person, rig: Rig, assessed: Recipe) -> None:
    hire.time_allowance = 2
    hire.save()
    run = start_run(hire, recipe=assessed, revision=rig.revision, rig=rig, now=NOW, seed=SEED)

    presentation = Player(run).past_warm_ups()

    assert presentation.limit_seconds == 23.0


def test_an_impossible_claim_leaves_the_servers_time(run: Run) -> None:
    presentation = Player(run).past_warm_ups()

    answered = answer_prompt(
        run,
        token=presentation.token,
        tokens=[run.token_for(right(presentation)[0])],
        claim=Claim(elapsed=1e9, gap=0.0, hidden=0.0),
        now=presentation.served_at + timedelta(seconds=9),
    )

    assert (answered.seconds, answered.time_state) == (9.0, UNVERIFIED)
    assert answered.client_elapsed == 1e9


def test_all_four_times_are_kept(run: Run) -> None:
    player = Player(run)

    answered = player.answer(player.past_warm_ups(), ["S1"], seconds=3.0)

    assert answered.received_at == player.now
    assert answered.server_seconds == pytest.approx(3.2)
    assert (answered.client_elapsed, answered.client_gap, answered.client_hidden) == (3.0, 0.1, 0.0)
    assert (answered.seconds, answered.time_state) == (3.0, VERIFIED)


def test_the_same_answer_sent_twice_is_one_answer(run: Run) -> None:
    player = Player(run)
    presentation = player.past_warm_ups()

    first = player.answer(presentation, right(presentation))
    second = player.answer(presentation, right(presentation))

    assert second.pk == first.pk
    assert second.received_at == first.received_at
    assert Evidence.objects.filter(source=f"answer {first.token}").count() > 0
    assert (
        run.presentations.filter(state=PresentationState.ANSWERED, prompt__isnull=False).count()
        == 1
    )


def test_another_answer_to_the_same_prompt_is_refused(run: Run) -> None:
    player = Player(run)
    presentation = player.past_warm_ups()
    first = player.answer(presentation, right(presentation))

    with pytest.raises(AnsweredOtherwiseError):
        player.answer(presentation, wrong(presentation))

    first.refresh_from_db()
    assert first.outcome == RIGHT


def test_what_is_not_on_the_page_is_refused(run: Run) -> None:
    presentation = Player(run).past_warm_ups()

    with pytest.raises(AnswerError, match="Not on this page"):
        answer_prompt(run, token=presentation.token, tokens=["S1"], claim=None, now=NOW)

    presentation.refresh_from_db()
    assert presentation.state == PresentationState.OPEN


def test_two_places_are_refused(run: Run) -> None:
    player = Player(run)
    presentation = player.past_warm_ups()
    assert presentation.prompt is not None
    while presentation.prompt.kind != LOCATE:
        player.answer(presentation, right(presentation))
        presentation = player.serve() or presentation

    with pytest.raises(AnswerError, match="2 places came in"):
        player.answer(presentation, ["S1", "I1"])


def test_i_do_not_know_is_a_wrong_answer_of_its_own(run: Run) -> None:
    player = Player(run)

    answered = player.answer(player.past_warm_ups(), [])

    assert (answered.outcome, answered.near, answered.answer) == (WRONG, "", [])


def test_called_away_voids_the_open_prompt_and_keeps_the_rest(run: Run) -> None:
    player = Player(run)
    first = player.past_warm_ups()

    call_away(run, now=player.now)

    first.refresh_from_db()
    run.refresh_from_db()
    assert (first.state, first.void_reason) == (PresentationState.VOID, VoidReason.CALLED_AWAY)
    assert run.state == RunState.AWAY
    assert Evidence.objects.count() == 0


def test_a_run_resumes_on_another_day_with_a_fresh_prompt(run: Run) -> None:
    player = Player(run)
    first = player.past_warm_ups()
    call_away(run, now=player.now)
    player.now += timedelta(days=3)

    fresh = player.serve()

    assert fresh is not None
    assert fresh.prompt != first.prompt
    assert fresh.served_at == player.now


def test_an_answer_to_a_void_prompt_is_refused(run: Run) -> None:
    player = Player(run)
    first = player.past_warm_ups()
    call_away(run, now=player.now)

    with pytest.raises(NotOpenError):
        player.answer(first, right(first))

    assert Evidence.objects.count() == 0


def test_called_away_still_gives_the_whole_number_of_answers(run: Run) -> None:
    """The practice rig has seven things for five prompts, so a spare is there."""
    player = Player(run)
    player.past_warm_ups()
    call_away(run, now=player.now)

    player.finish()

    answered = run.presentations.filter(
        state=PresentationState.ANSWERED, is_retry=False, prompt__isnull=False
    )
    assert answered.count() == run.drill.prompts.filter(is_spare=False).count()


def test_a_prompt_left_open_is_void_and_another_comes(run: Run) -> None:
    player = Player(run)
    first = player.past_warm_ups()

    player.now += LEFT_ALONE_AFTER
    same = player.serve()
    player.now += timedelta(seconds=1)
    fresh = player.serve()

    first.refresh_from_db()
    assert same == first
    assert fresh != first
    assert first.void_reason == VoidReason.LEFT


def test_a_missed_thing_is_asked_again_and_counts_as_practice(run: Run) -> None:
    missed: list[str] = []

    def choose(presentation: Presentation) -> list[str]:
        if presentation.prompt and not missed and presentation.prompt.kind == LOCATE:
            missed.append(presentation.prompt.subject)
            return wrong(presentation)
        return right(presentation)

    answered = Player(run).finish(choose)

    asked = [each for each in answered if each.prompt and each.prompt.subject == missed[0]]
    assert [each.is_retry for each in asked] == [False, True]
    assert asked[1].order - asked[0].order == 4
    retry = Evidence.objects.filter(source=f"answer {asked[1].token}")
    assert {(row.chosen_by, row.is_first) for row in retry} == {("retry", False)}


def test_not_where_the_layout_says_voids_and_tells_and_holds(run: Run, hire: Person) -> None:
    player = Player(run)
    presentation = player.past_warm_ups()
    prompt = presentation.prompt
    assert prompt is not None

    report_not_there(run, token=presentation.token, by=hire, now=player.now)
    held = start_run(
        hire,
        recipe=run.drill.recipe,
        revision=run.drill.revision,
        rig=run.rig,
        now=player.now,
        seed=SEED,
    )

    report = Absence.objects.first()
    assert report is not None
    assert (report.rig, report.reported_by, report.reported_at) == (run.rig, hire, player.now)
    if prompt.kind == LOCATE:
        assert prompt.subject not in held.drill.prompts.values_list("subject", flat=True)
    else:
        assert not held.drill.prompts.filter(kind=CONTENTS, subject=prompt.subject).exists()


def test_reporting_after_the_answer_voids_its_evidence(run: Run, hire: Person) -> None:
    player = Player(run)
    presentation = player.past_warm_ups()
    player.answer(presentation, wrong(presentation))
    presentation.refresh_from_db()

    report_not_there(run, token=presentation.token, by=hire, now=player.now)

    assert Evidence.objects.exists()
    assert not Evidence.objects.standing().exists()
    assert Evidence.objects.first().voided_by == VoidReason.NOT_IN_PLACE  # type: ignore[union-attr]  # there is one


def test_an_assessed_prompt_open_is_marked_on_the_person(assessed_run: Run, hire: Person) -> None:
    player = Player(assessed_run)
    presentation = player.past_warm_ups()
    hire.refresh_from_db()
    assert hire.has_assessed_prompt_at(player.now)

    call_away(assessed_run, now=player.now)
    hire.refresh_from_db()
    assert not hire.has_assessed_prompt_at(player.now)

    assert presentation.limit_seconds is not None
    player.finish()
    hire.refresh_from_db()
    assert not hire.has_assessed_prompt_at(player.now)


def test_a_practice_prompt_closes_nothing(run: Run, hire: Person) -> None:
    player = Player(run)
    player.past_warm_ups()

    hire.refresh_from_db()
    assert not hire.has_assessed_prompt_at(player.now)


def test_evidence_is_kept_in_full(run: Run, hire: Person, rig: Rig) -> None:
    player = Player(run)
    presentation = player.past_warm_ups()

    answered = player.answer(presentation, right(presentation))

    prompt = answered.prompt
    assert prompt is not None
    rows = list(Evidence.objects.filter(source=f"answer {answered.token}"))
    assert rows
    for row in rows:
        assert row.person == hire
        assert (row.rig, row.revision) == (rig, rig.revision)
        assert (row.kind, row.outcome, row.at) == (prompt.kind, RIGHT, answered.received_at)
        assert row.choices_offered >= 2
        assert (row.seconds, row.time_state, row.time_verdict) == (4.0, VERIFIED, UNTIMED)
        assert (row.modality, row.device_class) == ("screen", "phone")
        assert row.chosen_by in {"probe", "focus"}
        assert not row.is_simulated
        assert row.is_first
        assert (row.prediction, row.predicted_by) == (0.5, "faded counts 1")


def test_the_next_drill_asks_more_for_what_was_missed(run: Run, hire: Person, rig: Rig) -> None:
    Player(run).finish(lambda each: right(each) if each.is_retry else wrong(each))

    again = start_run(
        hire, recipe=run.drill.recipe, revision=rig.revision, rig=rig, now=NOW, seed=SEED
    )

    assert again.drill.weights
    assert max(again.drill.weights.values()) > 0.9


def test_the_limit_of_contents_tells_nothing_of_how_many_are_right(
    hire: Person, rig: Rig, assessed: Recipe
) -> None:
    """Served anew with one right answer and with all of them, the limit is the same."""
    assessed.kinds = "contents:1"
    assessed.save()
    limits = set()
    for count in (1, 2):
        run = start_run(hire, recipe=assessed, revision=rig.revision, rig=rig, now=NOW, seed=SEED)
        prompt = run.drill.prompts.get(position=0)
        prompt.answer = prompt.choices[:count]
        prompt.save()
        limits.add(Player(run).past_warm_ups().limit_seconds)

    assert len(limits) == 1
    assert None not in limits


def test_an_assessed_answer_cannot_be_reported_away(assessed_run: Run, hire: Person) -> None:
    player = Player(assessed_run)
    first = player.past_warm_ups()
    player.answer(first, wrong(first))

    assert report_not_there(assessed_run, token=first.token, by=hire, now=player.now) is None
    player.serve()
    assert report_not_there(assessed_run, token=first.token, by=hire, now=player.now) is None

    first.refresh_from_db()
    assert first.outcome == WRONG
    assert Evidence.objects.standing().exists()


def test_an_older_answer_of_practice_cannot_be_reported_away(run: Run, hire: Person) -> None:
    player = Player(run)
    first = player.past_warm_ups()
    player.answer(first, wrong(first))
    player.serve()

    assert report_not_there(run, token=first.token, by=hire, now=player.now) is None


def test_a_retry_reported_without_a_rig_is_not_asked_again(
    hire: Person, rig: Rig, recipe: Recipe
) -> None:
    """Nobody holds the line out of drills on no rig; the run itself lets go of it."""
    run = start_run(hire, recipe=recipe, revision=rig.revision, rig=None, now=NOW, seed=SEED)
    player = Player(run)
    presentation: Presentation | None = player.past_warm_ups()
    while presentation is not None and not presentation.is_retry:
        player.answer(presentation, wrong(presentation))
        presentation = player.serve()
    assert presentation is not None
    reported = presentation.prompt

    assert report_not_there(run, token=presentation.token, by=hire, now=player.now) == 0

    served = []
    while (presentation := player.serve()) is not None:
        served.append(presentation.prompt)
        player.answer(presentation, wrong(presentation))
    assert served
    assert reported not in served


def test_a_second_report_of_the_same_prompt_adds_nothing(run: Run, hire: Person) -> None:
    player = Player(run)
    presentation = player.past_warm_ups()

    report_not_there(run, token=presentation.token, by=hire, now=player.now)
    before = Absence.objects.count()
    again = report_not_there(run, token=presentation.token, by=hire, now=player.now)

    assert again is None
    assert Absence.objects.count() == before > 0


def test_a_report_names_places_of_the_revision_that_was_asked(run: Run, hire: Person) -> None:
    player = Player(run)
    presentation = player.past_warm_ups()
    rig = practice_rig()
    renamed = tuple(
        replace(
            each, code=f"N-{each.code}", inside=each.inside and f"N-{each.inside}", place=each.code
        )
        for each in rig.compartments
    )
    stock = tuple(replace(line, compartment=f"N-{line.compartment}") for line in rig.stock)
    points = tuple(
        replace(point, serves=tuple(f"N-{code}" for code in point.serves))
        for point in rig.points
        if point.kind == "outlet"
    )
    import_layout(
        replace(rig, compartments=renamed, stock=stock, points=points),
        by=None,
        now=NOW,
        publish=True,
    )

    reported = report_not_there(run, token=presentation.token, by=hire, now=player.now)

    assert reported
    assert {row.revision for row in Absence.objects.all()} == {run.drill.revision}


def test_a_place_reported_as_a_whole_holds_what_lies_in_it(run: Run, hire: Person) -> None:
    prompt = run.drill.prompts.filter(kind=LOCATE).first()
    assert prompt is not None
    assert run.rig is not None
    report_absence(
        prompt.answer, thing="", rig=run.rig, revision=run.drill.revision, by=hire, now=NOW
    )

    blocked = {slot.position for slot in slots_of(run, record_of(run)) if slot.blocked}

    assert prompt.position in blocked


@pytest.mark.parametrize("keys", [[], ["I1"]], ids=["i-do-not-know", "another-door"])
def test_a_warm_up_takes_only_the_door_it_names(run: Run, keys: list[str]) -> None:
    player = Player(run)
    presentation = player.begin()
    keys = [key if key != presentation.subject else "S1" for key in keys]

    with pytest.raises(AnswerError, match="A warm-up: tap"):
        player.answer(presentation, keys)

    presentation.refresh_from_db()
    assert presentation.state == PresentationState.OPEN


def test_slow_taps_make_no_long_limits(run: Run, hire: Person) -> None:
    player = Player(run)
    presentation = player.begin()
    while presentation.is_warm_up:
        player.answer(presentation, right(presentation), seconds=120)
        presentation = player.serve() or presentation

    assert TappingBaseline.objects.get(person=hire).seconds == 10.0


def test_a_run_that_is_over_is_not_called_away(run: Run) -> None:
    stale = Run.objects.get(pk=run.pk)
    Player(run).finish()

    with pytest.raises(
        MoveError, match="This drill is finished: you cannot say that you are called away"
    ):
        call_away(stale, now=NOW)

    run.refresh_from_db()
    assert run.state == RunState.FINISHED
