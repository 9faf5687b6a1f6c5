"""A drill answered with the labels of the rig: one scan, one press, one answer."""

import re
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.competency.models import Evidence
from drills.demo.factories import RecipeFactory, rig_on
from drills.engine.scoring import RIGHT, WRONG
from drills.people.models import Person
from drills.rigs.actions import make_labels, pick_rig
from drills.rigs.models import Place, PlaceLabel, Rig
from drills.rigs.reading import layout_of
from drills.runs.actions import answer_by_label, begin, call_away, serve_next, start_run
from drills.runs.actions.answering import BY_SCAN, AnswerError, NotOpenError
from drills.runs.labelled import NOT_PLACES, NOT_PRACTICE, no_scan_because
from drills.runs.models import LEFT_ALONE_AFTER, Presentation, PresentationState, Run
from drills.scenarios.models import Mode, Recipe
from tests.layouts import practice_rig
from tests.runs.conftest import NOW, SEED, ClientOf
from tests.runs.player import right, wrong

pytestmark = pytest.mark.django_db


@pytest.fixture
def places(db: None) -> Recipe:
    return RecipeFactory.create(slug="places", kinds="locate:4")


@pytest.fixture
def labels(rig: Rig, keeper: Person) -> dict[str, PlaceLabel]:
    """A label at every place of the rig, by the code of the place."""
    made = make_labels(rig, list(Place.objects.filter(layout=rig.layout)), by=keeper, now=NOW)
    codes = {each.key: each.code for each in layout_of(rig.revision).compartments}
    return {codes[each.place.key]: each for each in made}


@pytest.fixture
def scanned(hire: Person, rig: Rig, places: Recipe, labels: dict[str, PlaceLabel]) -> Run:
    """A run by scan with its first prompt open."""
    pick_rig(hire, rig, now=timezone.now())
    run = started(hire, rig, places)
    begin(run, device_class="phone", is_timed=True, by_scan=True, now=timezone.now())
    run.refresh_from_db()
    return run


def started(person: Person, rig: Rig, recipe: Recipe) -> Run:
    now = timezone.now()
    return start_run(person, recipe=recipe, revision=rig.revision, rig=rig, now=now, seed=SEED)


def open_prompt(run: Run) -> Presentation:
    return run.presentations.get(state=PresentationState.OPEN)


def page_of(label: PlaceLabel) -> str:
    return reverse("rigs:label", args=[label.token])


def scan(client: Client, label: PlaceLabel) -> str:
    """Press the one button of a label's page, and read where that leads."""
    response = client.post(reverse("runs:scan", args=[label.token]), follow=True)
    assert response.status_code == 200
    return response.text


def test_a_label_answers_by_its_place_and_is_kept_as_a_scan(
    scanned: Run, hire: Person, labels: dict[str, PlaceLabel], client_of: ClientOf
) -> None:
    waiting = open_prompt(scanned)

    said = scan(client_of(hire), labels[right(waiting)[0]])

    waiting.refresh_from_db()
    assert (waiting.outcome, waiting.limit_seconds) == (RIGHT, None)
    assert waiting.server_seconds is not None
    assert str(waiting.prompt and waiting.prompt.name) in said
    kept = Evidence.objects.filter(person=hire)
    assert {row.get_modality_display() for row in kept} == {"scan alone"}


def test_a_label_of_another_place_is_wrong(
    scanned: Run, hire: Person, labels: dict[str, PlaceLabel]
) -> None:
    waiting = open_prompt(scanned)
    answered = answer_by_label(hire, labels[wrong(waiting)[0]], now=timezone.now())
    assert answered.outcome == WRONG


def test_while_a_prompt_waits_the_page_of_a_label_names_nothing_and_takes_no_answer_by_itself(
    scanned: Run, hire: Person, labels: dict[str, PlaceLabel], client_of: ClientOf
) -> None:
    """The same page for every label, but for where its button leads."""
    layout, waiting = layout_of(scanned.drill.revision), open_prompt(scanned)
    client = client_of(hire)

    pages = {code: client.get(page_of(label)).text for code, label in labels.items()}

    for code, text in pages.items():
        place = layout.by_code[code]
        assert f"{code} {place.name}" not in text
        for line in layout.lines_in.get(code, ()):
            assert line.item not in text
    keys = re.compile(r"[A-Za-z0-9]{64}")
    plain = {keys.sub("", text.replace(labels[code].token, "")) for code, text in pages.items()}
    assert len(plain) == 1
    assert open_prompt(scanned) == waiting


def test_after_the_answer_a_label_tells_again_what_belongs_there(
    scanned: Run, hire: Person, labels: dict[str, PlaceLabel], client_of: ClientOf
) -> None:
    client, label = client_of(hire), labels["S1"]
    assert "You have scanned a label" in client.get(page_of(label)).text

    scan(client, label)

    assert "S1 " in client.get(page_of(label)).text


def test_a_prompt_left_alone_or_called_away_from_keeps_no_label_silent(
    scanned: Run, hire: Person
) -> None:
    now = timezone.now()
    hire.refresh_from_db()
    assert hire.has_scan_prompt_at(now)
    assert not hire.has_scan_prompt_at(now + LEFT_ALONE_AFTER)

    call_away(scanned, now=now)

    hire.refresh_from_db()
    assert not hire.has_scan_prompt_at(now)


def test_two_presses_are_one_answer(
    scanned: Run, hire: Person, labels: dict[str, PlaceLabel], client_of: ClientOf
) -> None:
    client, label = client_of(hire), labels[right(open_prompt(scanned))[0]]
    scan(client, label)

    said = scan(client, label)

    assert "Nothing was taken" in said
    assert scanned.presentations.filter(state=PresentationState.ANSWERED).count() == 1
    with pytest.raises(NotOpenError):
        answer_by_label(hire, label, now=timezone.now())


def test_a_label_of_another_rig_is_refused_and_the_prompt_waits(
    scanned: Run, hire: Person, keeper: Person
) -> None:
    other = rig_on(practice_rig(), unit="12")
    (label,) = make_labels(other, [Place.objects.get(key="S1")], by=keeper, now=NOW)

    with pytest.raises(AnswerError, match="A label of rig 12 came in; this drill is on rig 11"):
        answer_by_label(hire, label, now=timezone.now())

    assert scanned.presentations.filter(state=PresentationState.OPEN).exists()


def test_a_run_by_scan_takes_no_place_that_was_only_chosen_and_says_why(
    scanned: Run, hire: Person, client_of: ClientOf
) -> None:
    waiting, client = open_prompt(scanned), client_of(hire)
    place = scanned.token_for(right(waiting)[0])

    response = client.post(
        reverse("runs:answer", args=[scanned.pk]), {"token": waiting.token, "place": place}
    )

    assert response.status_code == 422
    assert BY_SCAN in response.text
    assert open_prompt(scanned).pk == waiting.pk


def test_who_does_not_know_says_so_without_a_label(
    scanned: Run, hire: Person, client_of: ClientOf
) -> None:
    waiting = open_prompt(scanned)
    client_of(hire).post(
        reverse("runs:answer", args=[scanned.pk]), {"token": waiting.token, "unknown": "1"}
    )
    waiting.refresh_from_db()
    assert waiting.state == PresentationState.ANSWERED
    assert waiting.answer == []


def test_one_prompt_alone_waits_for_a_scan(scanned: Run, hire: Person, places: Recipe) -> None:
    """Two drills by scan at once: a label answers the one that was asked last."""
    first, rig = open_prompt(scanned), scanned.rig
    assert rig is not None
    second = started(hire, rig, places)

    begin(second, device_class="phone", is_timed=True, by_scan=True, now=timezone.now())

    first.refresh_from_db()
    assert first.state == PresentationState.VOID
    hire.refresh_from_db()
    assert hire.has_scan_prompt_at(timezone.now())
    served = serve_next(scanned, now=timezone.now() + timedelta(seconds=1))
    assert served is not None
    assert not second.presentations.filter(state=PresentationState.OPEN).exists()


def test_labels_answer_practice_of_places_where_every_place_bears_one(
    hire: Person, rig: Rig, places: Recipe, assessed: Recipe, recipe: Recipe, keeper: Person
) -> None:
    assert no_scan_because(started(hire, rig, assessed)) == NOT_PRACTICE
    assert no_scan_because(started(hire, rig, recipe)) == NOT_PLACES
    run = started(hire, rig, places)
    assert no_scan_because(run).startswith("Rig 11 has no label at ")
    with pytest.raises(ValueError, match="Rig 11 has no label at"):
        begin(run, device_class="phone", is_timed=True, by_scan=True, now=timezone.now())
    assert not run.presentations.exists()

    make_labels(rig, list(Place.objects.filter(layout=rig.layout)), by=keeper, now=NOW)

    assert no_scan_because(run) == ""


def test_no_run_by_scan_is_assessed_or_timed(
    hire: Person, rig: Rig, places: Recipe, assessed: Recipe
) -> None:
    for run in (started(hire, rig, assessed), started(hire, rig, places)):
        assert run.is_timed
        with pytest.raises(IntegrityError), transaction.atomic():
            Run.objects.filter(pk=run.pk).update(by_scan=True)
    assert Run.objects.filter(mode=Mode.ASSESSED).count() == 1


@pytest.mark.parametrize("labelled", [False, True])
def test_the_brief_offers_labels_where_the_rig_bears_them_and_says_where_not(
    hire: Person, rig: Rig, places: Recipe, keeper: Person, client_of: ClientOf, labelled: bool
) -> None:
    if labelled:
        make_labels(rig, list(Place.objects.filter(layout=rig.layout)), by=keeper, now=NOW)
    run = started(hire, rig, places)

    said = client_of(hire).get(reverse("runs:take", args=[run.pk])).text

    assert ("Begin with labels" in said) is labelled
    assert ("labels cannot answer here" in said) is not labelled


def test_a_stranger_to_the_drill_answers_nothing(
    scanned: Run, fto: Person, labels: dict[str, PlaceLabel], client_of: ClientOf
) -> None:
    said = scan(client_of(fto), labels["S1"])
    assert "No prompt of yours waits for a scan" in said
    assert scanned.presentations.filter(state=PresentationState.OPEN).exists()
