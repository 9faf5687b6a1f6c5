"""Not where the layout says, told from the debrief of a practice run."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from drills.demo.factories import RecipeFactory
from drills.engine.elsewhere import Elsewhere, on_rig
from drills.engine.recipes import LOCATE
from drills.people.models import Person
from drills.rigs.actions import (
    held_pairs,
    import_layout,
    put_back,
    report_absence,
    tell_difference,
)
from drills.rigs.models import Absence, Rig
from drills.runs.actions import start_run
from drills.runs.models import Presentation, PresentationState, Run
from drills.scenarios.models import Recipe
from tests.layouts import practice_rig
from tests.runs.conftest import FRAGMENT, NOW, SEED, ClientOf
from tests.runs.player import Player

pytestmark = pytest.mark.django_db

LATER = NOW + timedelta(hours=1)


@pytest.fixture
def finished(run: Run) -> Presentation:
    """A practice run that is over, and the first thing it asked for."""
    answered = Player(run).finish()
    return next(each for each in answered if each.prompt and each.prompt.kind == LOCATE)


@pytest.fixture
def browser(client_of: ClientOf, hire: Person) -> Client:
    return client_of(hire)


def debrief(run: Run) -> str:
    return reverse("runs:debrief", args=[run.pk])


def url(run: Run) -> str:
    return reverse("runs:report", args=[run.pk])


def test_tells_the_keeper_of_the_thing_on_the_rig_of_the_run(
    browser: Client, run: Run, hire: Person, finished: Presentation
) -> None:
    assert finished.prompt is not None
    option = f'<option value="{finished.token}">{finished.prompt.name}</option>'
    assert option in browser.get(debrief(run)).content.decode()

    page = browser.post(url(run), {"token": finished.token}, follow=True).content.decode()

    report = Absence.objects.get()
    assert report.item is not None
    assert (report.item.key, report.rig, report.reported_by) == (finished.subject, run.rig, hire)
    assert f"{finished.prompt.name}: reported to the layout keeper" in page


def test_the_mark_stands(browser: Client, run: Run, finished: Presentation) -> None:
    browser.post(url(run), {"token": finished.token})

    finished.refresh_from_db()
    assert (finished.state, finished.outcome) == (PresentationState.ANSWERED, "right")


def test_tells_htmx_where_to_go(browser: Client, run: Run, finished: Presentation) -> None:
    response = browser.post(url(run), {"token": finished.token}, headers=FRAGMENT)

    assert response["HX-Redirect"] == debrief(run)


def test_what_was_not_asked_in_it_is_not_reported(
    browser: Client, run: Run, finished: Presentation
) -> None:
    page = browser.post(url(run), {"token": "x"}, follow=True).content.decode()

    assert "Nothing was reported." in page
    assert not Absence.objects.exists()


def test_an_assessed_run_is_contested_instead(
    browser: Client, hire: Person, assessed_run: Run
) -> None:
    answered = Player(assessed_run).finish()

    assert "Tell the keeper" not in browser.get(debrief(assessed_run)).content.decode()
    browser.post(url(assessed_run), {"token": answered[-1].token})
    assert not Absence.objects.exists()


def test_a_run_that_goes_on_reports_from_its_prompts(browser: Client, run: Run) -> None:
    presentation = Player(run).past_warm_ups()

    browser.post(url(run), {"token": presentation.token})

    assert not Absence.objects.exists()


def test_what_was_asked_before_a_refit_is_not_told_of_the_rig(
    browser: Client, run: Run, keeper: Person, finished: Presentation
) -> None:
    new = on_rig(practice_rig(), [Elsewhere("splint", "S1A", "S1")])
    import_layout(new, by=keeper, now=NOW, publish=True)

    assert "Tell the keeper" not in browser.get(debrief(run)).content.decode()
    browser.post(url(run), {"token": finished.token})
    assert not Absence.objects.exists()


@pytest.fixture
def asked_splint(hire: Person, rig: Rig) -> Presentation:
    """The splint, asked for in a run of everything that is over."""
    everything = RecipeFactory.create(slug="find-all", kinds="locate:20")
    run = start_run(hire, recipe=everything, revision=rig.revision, rig=rig, now=NOW, seed=SEED)
    return next(each for each in Player(run).finish() if each.subject == "splint")


def test_what_was_told_of_the_rig_since_is_not_held_out_again(
    browser: Client, rig: Rig, keeper: Person, asked_splint: Presentation
) -> None:
    tell_difference(rig, thing="splint", place="", here="I1A", by=keeper, now=LATER)

    page = browser.post(
        url(asked_splint.run), {"token": asked_splint.token}, follow=True
    ).content.decode()

    assert "Splint: the keeper has looked since this run asked for it" in page
    assert not Absence.objects.exists()


def test_what_was_answered_since_is_not_reported_again(
    browser: Client, rig: Rig, fto: Person, keeper: Person, asked_splint: Presentation
) -> None:
    """Of another rider, who told of it first."""
    (report,) = report_absence(
        ["S1A"], thing="splint", rig=rig, revision=rig.revision, by=fto, now=NOW
    )
    put_back(report, by=keeper, now=LATER)

    browser.post(url(asked_splint.run), {"token": asked_splint.token})

    assert held_pairs(rig) == frozenset()


def test_what_was_answered_before_it_was_asked_or_of_another_thing_bars_nothing(
    browser: Client, rig: Rig, fto: Person, keeper: Person, asked_splint: Presentation
) -> None:
    for thing, answered in (("splint", NOW), ("neck collar", LATER)):
        (report,) = report_absence(
            ["S1A"], thing=thing, rig=rig, revision=rig.revision, by=fto, now=NOW
        )
        put_back(report, by=keeper, now=answered - timedelta(seconds=1))

    browser.post(url(asked_splint.run), {"token": asked_splint.token})

    assert held_pairs(rig) == {("splint", "S1A")}


def test_a_run_without_a_rig_has_nobody_to_tell(
    browser: Client, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    run = start_run(hire, recipe=recipe, revision=rig.revision, rig=None, now=NOW, seed=SEED)
    answered = Player(run).finish()

    assert "Tell the keeper" not in browser.get(debrief(run)).content.decode()
    browser.post(url(run), {"token": answered[-1].token})
    assert not Absence.objects.exists()


def test_an_fto_who_reads_it_has_no_form(
    client_of: ClientOf, fto: Person, run: Run, finished: Presentation
) -> None:
    page = client_of(fto).get(debrief(run)).content.decode()

    assert "Tell the keeper" not in page
    assert client_of(fto).post(url(run), {"token": finished.token}).status_code == 404
