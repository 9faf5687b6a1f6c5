"""Counts of a thousand and more carry a comma on the boards."""

from datetime import UTC, datetime

import pytest
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from drills.competency.models import Fit
from drills.competency.past.taking import IMPORT
from drills.competency.past.taking_back import File
from drills.competency.refitting import refit
from drills.engine.cohort import Tally
from drills.engine.scoring import RIGHT, WRONG
from drills.people.models import AuditEntry, Person
from drills.rigs.models import Rig
from tests.boards.test_readiness import answered
from tests.runs.conftest import ClientOf


def test_answers_of_many_have_commas() -> None:
    tally = Tally(12_345, 1_000, 999, 0, 0.5, 0.45, 0.55, has_simulated=False)

    told = render_to_string("boards/_missed.html", {"row": {"tally": tally}})

    assert "12,345" in told
    assert "999 of 1,000" in told


def test_records_have_commas_and_numbers_that_name_and_years_have_none() -> None:
    after = {"records": 8_012, "file": "12345678"}
    at = datetime(2026, 11, 30, tzinfo=UTC)
    line = AuditEntry(pk=5_678, action=IMPORT, at=at, after=after)

    told = render_to_string("boards/_past_file.html", {"file": File(line, 8_012, 40)})

    assert "8,012 records of 40 people" in told
    assert "Take back 8,012 records" in told
    assert 'id="file-5678"' in told
    assert "5678-12345678" in told
    assert "30 Nov 2026" in told


@pytest.mark.django_db
def test_what_the_model_is_made_of_has_commas(
    rig: Rig, hire: Person, educator: Person, client_of: ClientOf
) -> None:
    for outcome, thing in ((RIGHT, "tourniquet"), (WRONG, "splint")):
        answered(hire, rig, outcome, thing, times=6)
    assert refit(now=timezone.now, say=lambda _: None) is not None
    Fit.objects.update(answers=36_778)

    told = client_of(educator).get(reverse("boards:model")).content.decode()

    assert "36,778 first answers" in told
