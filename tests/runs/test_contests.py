"""Contesting the mark of an answer, and what a decision does to it."""

import re
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from drills.competency.models import Evidence
from drills.competency.reports import knowledge_of
from drills.engine.standards import Standard
from drills.people.models import AuditEntry, Person
from drills.rigs.models import Rig
from drills.runs.actions import ContestError, contest, decide_contest
from drills.runs.actions.serving import source_of
from drills.runs.models import Contest, Presentation, Run, Verdict
from drills.runs.reports import results_of, tally_of
from drills.scenarios.models import Recipe
from tests.runs.assignments import GIVEN, given, standing, taken
from tests.runs.conftest import NOW, ClientOf
from tests.runs.player import Player, wrong

pytestmark = pytest.mark.django_db


@pytest.fixture
def missed(assessed_run: Run) -> Presentation:
    """The first answer of a finished assessed run in which everything was missed."""
    return Player(assessed_run).finish(wrong)[0]


@pytest.fixture
def contested(missed: Presentation) -> Contest:
    return contest(missed.run, token=missed.token, because="It hangs there today", now=NOW)


def decided(found: Contest, verdict: Verdict, by: Person) -> Presentation:
    decide_contest(found, verdict=verdict, answer="I looked", by=by, now=NOW)
    found.presentation.refresh_from_db()
    return found.presentation


def test_upheld_changes_nothing(contested: Contest, fto: Person) -> None:
    before = list(Evidence.objects.values())

    answered = decided(contested, Verdict.UPHELD, fto)

    assert (answered.state, answered.outcome) == ("answered", "wrong")
    assert list(Evidence.objects.values()) == before


def test_voided_counts_for_nothing_and_the_estimate_recomputes(
    contested: Contest, hire: Person, fto: Person, rig: Rig
) -> None:
    run = contested.presentation.run
    before = knowledge_of(hire, layout=rig.layout, now=NOW)

    answered = decided(contested, Verdict.VOIDED, fto)

    after = knowledge_of(hire, layout=rig.layout, now=NOW)
    assert (answered.state, answered.void_reason) == ("void", "contested")
    lost = sum(map(len, before.observations.values())) - sum(map(len, after.observations.values()))
    assert lost == Evidence.objects.exclude(voided_at=None).count() > 0
    tally = tally_of(run)
    assert (tally.planned, tally.answered, tally.is_complete) == (4, 4, True)
    assert results_of([run])[run.pk].planned == 4


def test_what_it_was_stays_in_the_audit(contested: Contest, fto: Person) -> None:
    decided(contested, Verdict.VOIDED, fto)

    told = AuditEntry.objects.get(action="decide contest")
    assert told.actor == fto
    assert told.before == {"outcome": "wrong", "marks": 0}
    assert told.after == {"verdict": "voided", "answer": "I looked"}
    assert AuditEntry.objects.filter(action="contest answer").count() == 1


def test_what_came_of_asking_again_is_void_with_the_mark(
    run: Run, hire: Person, fto: Person, client_of: ClientOf
) -> None:
    first = Player(run).finish(wrong)[0]
    retries = run.presentations.filter(prompt=first.prompt, is_retry=True)
    asked_again = retries.count()
    other = run.presentations.filter(is_retry=True).exclude(prompt=first.prompt)
    found = contest(run, token=first.token, because="It hangs there today", now=NOW)

    decided(found, Verdict.VOIDED, fto)

    assert asked_again > 0
    assert {each.state for each in retries} == {"void"}
    assert {each.state for each in other} == {"answered"}
    sources = [source_of(each.token) for each in (first, *retries)]
    assert not Evidence.objects.standing().filter(source__in=sources).exists()
    told = AuditEntry.objects.filter(action="void retry")
    assert told.count() == asked_again
    assert [(each.before or {})["outcome"] for each in told] == ["wrong"] * asked_again
    debrief = client_of(hire).get(reverse("runs:debrief", args=[run.pk])).content.decode()
    assert debrief.count("It hangs there today") == 1


def test_upheld_leaves_what_came_of_asking_again(run: Run, fto: Person) -> None:
    first = Player(run).finish(wrong)[0]
    found = contest(run, token=first.token, because="It hangs there today", now=NOW)

    decided(found, Verdict.UPHELD, fto)

    assert not run.presentations.filter(is_retry=True, state="void").exists()


def test_the_first_decision_stands(contested: Contest, fto: Person, educator: Person) -> None:
    decided(contested, Verdict.UPHELD, fto)

    with pytest.raises(ContestError, match="first decision stands"):
        decided(contested, Verdict.VOIDED, educator)
    assert not Evidence.objects.exclude(voided_at=None).exists()


def test_nobody_decides_on_an_answer_of_their_own(contested: Contest, hire: Person) -> None:
    with pytest.raises(ContestError, match="of their own"):
        decided(contested, Verdict.VOIDED, hire)


def test_an_answer_is_contested_once_and_with_a_reason(
    missed: Presentation, contested: Contest
) -> None:
    with pytest.raises(ContestError, match="contested before"):
        contest(missed.run, token=missed.token, because="Again", now=NOW)
    with pytest.raises(ContestError, match="No reason"):
        contest(missed.run, token=missed.token, because="  ", now=NOW)
    assert Contest.objects.count() == 1


def test_nothing_is_contested_before_the_run_is_over(run: Run) -> None:
    player = Player(run)
    first = player.past_warm_ups()
    player.answer(first, wrong(first))

    with pytest.raises(ContestError, match="is open: you cannot contest"):
        contest(run, token=first.token, because="No", now=NOW)


def test_a_warm_up_or_a_stranger_is_no_answer(missed: Presentation) -> None:
    warm_up = missed.run.presentations.filter(prompt=None).first()
    assert warm_up is not None

    for token in (warm_up.token, "none"):
        with pytest.raises(ContestError, match="no answer of this run"):
            contest(missed.run, token=token, because="No", now=NOW)


def post(client: Client, name: str, *arguments: Any, **body: str) -> Any:
    return client.post(reverse(name, args=arguments), body)


def test_from_the_debrief_to_the_decision_and_back(
    client_of: ClientOf, hire: Person, fto: Person, missed: Presentation
) -> None:
    own, officer = client_of(hire), client_of(fto)
    post(own, "runs:contest", missed.run_id, token=missed.token, because="It hangs there today")
    waits = officer.get(reverse("runs:contests")).content.decode()
    found = Contest.objects.get()
    refused = post(officer, "runs:decide", found.pk, answer="", void="1")
    post(officer, "runs:decide", found.pk, answer="You were right", void="1")

    debrief = own.get(reverse("runs:debrief", args=[missed.run_id])).content.decode()

    assert "It hangs there today" in waits
    assert "Noor Hire" in waits
    assert refused.status_code == 422
    assert "No answer came in" in refused.content.decode()
    assert "Voided after a contest" in debrief
    assert "You were right" in debrief
    assert "Nothing waits" in officer.get(reverse("runs:contests")).content.decode()


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({}, "No verdict came in, so nothing was decided."),
        ({"vold": "1"}, "No verdict came in, so nothing was decided."),
        ({"uphold": "1", "void": "1"}, "Both uphold and void came in, so nothing was decided."),
    ],
)
def test_what_is_not_one_verdict_decides_nothing(
    client_of: ClientOf, fto: Person, contested: Contest, sent: dict[str, str], words: str
) -> None:
    response = post(client_of(fto), "runs:decide", contested.pk, answer="I looked", **sent)

    contested.refresh_from_db()
    content = response.content.decode()
    assert response.status_code == 422
    assert words in content
    assert ">I looked</textarea>" in content
    assert contested.decided_at is None
    assert not AuditEntry.objects.filter(action="decide contest").exists()


@pytest.mark.parametrize("verdict", Verdict)
def test_each_button_of_the_page_gives_its_verdict(
    client_of: ClientOf, fto: Person, contested: Contest, verdict: Verdict
) -> None:
    label = {Verdict.UPHELD: "Uphold the mark", Verdict.VOIDED: "Void the answer"}[verdict]
    page = client_of(fto).get(reverse("runs:contests")).content.decode()
    pressed = re.search(rf'name="(\w+)" value="1">{label}<', page)
    assert pressed is not None

    post(client_of(fto), "runs:decide", contested.pk, answer="I looked", **{pressed[1]: "1"})

    contested.refresh_from_db()
    assert contested.verdict == verdict


def test_enter_in_the_answer_is_a_line_and_no_decision(
    client_of: ClientOf, fto: Person, contested: Contest
) -> None:
    """In a field of one line, Enter presses the first button of the form."""
    page = client_of(fto).get(reverse("runs:contests")).content.decode()
    form = page[page.index(reverse("runs:decide", args=[contested.pk])) :].split("</form>")[0]

    assert '<textarea id="answer-' in form
    assert set(re.findall(r'<input[^>]* type="?(\w+)', form)) <= {"hidden"}
    assert form.count("<input") == 1


def test_without_a_reason_the_debrief_says_so(
    client_of: ClientOf, hire: Person, missed: Presentation
) -> None:
    response = post(client_of(hire), "runs:contest", missed.run_id, token=missed.token)

    assert response.status_code == 422
    assert "No reason came in" in response.content.decode()


def test_with_scripts_one_answer_of_the_debrief_is_drawn_again(
    client_of: ClientOf, hire: Person, missed: Presentation
) -> None:
    url, part = reverse("runs:contest", args=[missed.run_id]), {"HX-Request": "true"}
    browser = client_of(hire)
    refused = browser.post(url, {"token": missed.token}, headers=part)
    done = browser.post(url, {"token": missed.token, "because": "Moved today"}, headers=part)
    stranger = browser.post(url, {"token": "x", "because": "Moved today"}, headers=part)

    assert refused.status_code == 422
    assert "No reason came in" in refused.content.decode()
    content = done.content.decode()
    assert content.lstrip().startswith('<details class="sec miss fold" open>')
    assert content.count("</summary><div id=") == 1
    assert "Moved today" in content
    assert "<h1" not in content
    assert stranger["HX-Redirect"] == reverse("runs:debrief", args=[missed.run_id])


def test_without_scripts_the_debrief_comes_back_at_the_answer(
    client_of: ClientOf, hire: Person, missed: Presentation
) -> None:
    """A browser keeps what follows the # of a form's address through the way back."""
    assert missed.prompt is not None
    page = client_of(hire).get(reverse("runs:debrief", args=[missed.run_id])).content.decode()
    place = f"#prompt-{missed.prompt.position}"

    assert f'action="{reverse("runs:contest", args=[missed.run_id])}{place}"' in page
    assert f'id="{place[1:]}"' in page


def all_voided(run: Run, by: Person) -> None:
    for each in run.presentations.filter(state="answered").exclude(prompt=None):
        decided(contest(run, token=each.token, because="No", now=NOW), Verdict.VOIDED, by)


def test_where_every_answer_was_voided_nothing_is_met_and_nothing_failed(
    client_of: ClientOf, hire: Person, fto: Person, rig: Rig, assessed: Recipe
) -> None:
    made = given(assessed, [hire], by=fto, standard=Standard(marks=80))
    all_voided(taken(hire, assessed, rig, now=GIVEN, choose=wrong), fto)

    found = standing(made, hire)

    assert (found.state, found.is_to_do) == ("not started", True)
    assert found.attempts[0].shortfalls == ("every answer was voided",)
    assert found.shown == found.attempts[0]
    run_id = found.attempts[0].run.pk
    debrief = client_of(hire).get(reverse("runs:debrief", args=[run_id])).content.decode()
    assert "Every answer was voided." in debrief
    assert "neither met nor failed" in debrief
    assert "not met:" not in debrief
    assert "0 of 0" not in debrief


def test_a_voided_attempt_hides_neither_a_failed_nor_a_met_one(
    hire: Person, fto: Person, rig: Rig, assessed: Recipe
) -> None:
    made = given(assessed, [hire], by=fto, standard=Standard(marks=80))
    failed = taken(hire, assessed, rig, now=GIVEN, choose=wrong)
    all_voided(taken(hire, assessed, rig, now=GIVEN + timedelta(hours=1), choose=wrong), fto)
    before = standing(made, hire)
    met = taken(hire, assessed, rig, now=GIVEN + timedelta(hours=2))
    after = standing(made, hire)

    assert before.shown is not None
    assert after.shown is not None
    assert (before.state, before.shown.run) == ("not met yet", failed)
    assert (after.state, after.shown.run) == ("met", met)


def test_of_people_not_paired_with_them_an_fto_sees_none(
    client_of: ClientOf, fto: Person, contested: Contest, hire: Person
) -> None:
    hire.trainers.all().delete()

    page = client_of(fto).get(reverse("runs:contests")).content.decode()
    assert "Nothing waits" in page
    assert "Nothing was decided yet" in page
    assert post(client_of(fto), "runs:decide", contested.pk, answer="x").status_code == 404


def test_an_officer_is_offered_no_contest_of_their_trainee(
    client_of: ClientOf, hire: Person, fto: Person, missed: Presentation
) -> None:
    url = reverse("runs:debrief", args=[missed.run_id])

    assert "Contest this mark" in client_of(hire).get(url).content.decode()
    assert "Contest this mark" not in client_of(fto).get(url).content.decode()
