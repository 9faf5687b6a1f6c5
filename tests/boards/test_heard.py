"""Who reported something hears what was done about it, until they have seen it."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.people.models import AuditEntry, Person
from drills.rigs.actions import (
    differs_here,
    end_difference,
    layout_is_wrong,
    pick_rig,
    publish_revision,
    put_back,
    refit_rig,
    report_absence,
    undo_step,
)
from drills.rigs.models import Absence, DraftStep, Reporting, Rig, RigDifference
from tests.boards.persons import export
from tests.runs.conftest import ClientOf

pytestmark = pytest.mark.django_db

TODAY, FTO = reverse("boards:hire"), reverse("boards:fto")


@pytest.fixture
def report(rig: Rig, hire: Person, fto: Person) -> Absence:
    """The splint, reported by both."""
    for by in (hire, fto):
        report_absence(
            ["S1A"], thing="splint", rig=rig, revision=rig.revision, by=by, now=timezone.now()
        )
    return Absence.objects.get()


@pytest.fixture
def browser(client_of: ClientOf, hire: Person, rig: Rig) -> Client:
    pick_rig(hire, rig, now=timezone.now())
    return client_of(hire)


def text(browser: Client, url: str = TODAY) -> str:
    return browser.get(url).content.decode()


def seen_url(report: Absence) -> str:
    return reverse("rigs:seen", args=[report.pk])


def test_nothing_is_heard_while_it_waits(browser: Client, report: Absence) -> None:
    assert "You reported" not in text(browser)


def test_says_what_was_done_when_by_whom_and_with_which_word(
    browser: Client, keeper: Person, report: Absence
) -> None:
    put_back(report, word="Was in the wash.", by=keeper, now=timezone.now())

    page = text(browser)

    day = timezone.localdate().strftime("%-d %b")
    assert "<b>Splint</b>, Rig 11" in page
    assert f"Put back, {day}, by {keeper.name}: “Was in the wash.”" in page


def test_says_where_it_is_on_a_rig_that_differs(
    browser: Client, keeper: Person, report: Absence
) -> None:
    differs_here(report, thing="splint", place="", here="I1A", by=keeper, now=timezone.now())

    assert "Differs on this rig: it is in I1 Wall cabinet › Upper drawer, " in text(browser)


def test_says_that_the_layout_is_being_changed(
    browser: Client, keeper: Person, report: Absence
) -> None:
    layout_is_wrong(report, thing="splint", place="", here="", by=keeper, now=timezone.now())

    assert "The layout is wrong and is being changed; on this rig it is not aboard" in text(browser)


def test_says_until_when_a_rig_differed_that_is_as_the_layout_again(
    browser: Client, keeper: Person, report: Absence
) -> None:
    differs_here(report, thing="splint", place="", here="I1A", by=keeper, now=timezone.now())

    end_difference(RigDifference.objects.get(), by=keeper, now=timezone.now())

    page = text(browser)
    assert f"Differed on this rig until {timezone.localdate().strftime('%-d %b %Y')}" in page
    assert "it is in" not in page


def test_says_when_the_layout_is_changed(browser: Client, keeper: Person, report: Absence) -> None:
    """While this rig is not refitted it still differs."""
    layout_is_wrong(report, thing="splint", place="", here="I1A", by=keeper, now=timezone.now())
    draft = report.rig.layout.draft
    assert draft is not None

    publish_revision(draft, by=keeper, now=timezone.now(), refitted=[])

    said = "The layout was wrong and is changed; on this rig it is in I1 Wall cabinet"
    assert said in text(browser)
    refit_rig(report.rig, by=keeper, now=timezone.now())
    assert "The layout was wrong and is changed; this rig differed until " in text(browser)


def test_says_when_the_layout_is_not_changed_after_all(
    browser: Client, keeper: Person, report: Absence
) -> None:
    layout_is_wrong(report, thing="splint", place="", here="I1A", by=keeper, now=timezone.now())
    step = DraftStep.objects.get()

    undo_step(report.rig.layout, step.number, by=keeper, now=timezone.now())

    assert "The layout was to be changed, and is not; on this rig it is in" in text(browser)


def test_seen_it_is_gone_and_only_for_who_has_seen_it(
    browser: Client, client_of: ClientOf, keeper: Person, fto: Person, report: Absence
) -> None:
    put_back(report, by=keeper, now=timezone.now())

    browser.post(seen_url(report))
    browser.post(seen_url(report))

    assert "You reported" not in text(browser)
    assert "You reported" in text(client_of(fto), FTO)
    assert AuditEntry.objects.filter(action="see answer").count() == 1


def test_what_waits_is_not_seen_beforehand(
    browser: Client, keeper: Person, report: Absence
) -> None:
    browser.post(seen_url(report))
    put_back(report, by=keeper, now=timezone.now())

    assert "You reported" in text(browser)


def test_nobody_sees_it_for_another(client_of: ClientOf, outsider: Person, report: Absence) -> None:
    assert client_of(outsider).post(seen_url(report)).status_code == 404
    assert not Reporting.objects.exclude(seen_at=None).exists()


@pytest.mark.parametrize(("days", "is_heard"), [(13, True), (15, False)])
def test_after_two_weeks_it_is_told_no_more(
    browser: Client, keeper: Person, report: Absence, days: int, is_heard: bool
) -> None:
    put_back(report, by=keeper, now=timezone.now() - timedelta(days=days))

    assert ("You reported" in text(browser)) == is_heard


def test_nothing_is_told_while_an_assessed_prompt_is_open(
    browser: Client, keeper: Person, hire: Person, report: Absence
) -> None:
    differs_here(report, thing="splint", place="", here="I1A", by=keeper, now=timezone.now())
    Person.objects.filter(pk=hire.pk).update(
        assessed_prompt_until=timezone.now() + timedelta(minutes=5)
    )

    page = text(browser)

    assert "You reported" not in page
    assert "Upper drawer" not in page


def test_the_export_of_a_person_says_what_they_heard(keeper: Person, report: Absence) -> None:
    put_back(report, word="Was in the wash.", by=keeper, now=timezone.now())

    (told,) = export()["reports of what is not in its place"]

    assert (told["answer"], told["word"], told["seen"]) == ("put back", "Was in the wash.", None)
