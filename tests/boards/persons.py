"""A person with a trace in every room, and the eyes that look for it."""

import json
from collections.abc import Iterator
from datetime import date
from io import StringIO
from typing import Any

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import models
from django.utils import timezone

from drills.demo.factories import StationFactory
from drills.engine.editing import remove_line
from drills.engine.layout import Layout
from drills.people.actions import Changes, change_person, pair, unpair
from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.actions import edit_draft, end_difference, report_absence, tell_difference
from drills.rigs.models import Absence, Item, Posting, Rig, TieDecision
from drills.runs.actions import contest, decide_contest, make_feed, set_reminders
from drills.runs.models import Run, Verdict
from tests.runs.conftest import ClientOf
from tests.runs.player import Player, wrong


@pytest.fixture
def history(run: Run, rig: Rig, hire: Person, fto: Person, client_of: ClientOf) -> Run:
    """A hire who has left a trace in every room."""
    now = timezone.now()
    answered = Player(run).finish(wrong)
    made = contest(run, token=answered[0].token, because="The clamp is in both.", now=now)
    decide_contest(made, verdict=Verdict.VOIDED, answer="So it is.", by=fto, now=now)
    report_absence(["I1A"], thing="tourniquet", rig=rig, revision=rig.revision, by=hire, now=now)
    Posting.objects.create(person=hire, station=StationFactory.create(), starts_on=date(2026, 1, 5))
    Absence.objects.update(answered_by=hire, answered_at=now)
    make_feed(hire, now=now)
    set_reminders(hire, "hire@agency.example", now=now)
    tied = Item.objects.get(key="tourniquet")
    TieDecision.objects.create(item=tied, need=None, decided_by=hire, decided_at=now)
    told = tell_difference(rig, thing="gauze roll", place="", here="S1A", by=hire, now=now)
    end_difference(told, by=hire, now=now)
    edit_draft(rig.layout, _without_splints, what="no splints", by=hire, now=now)
    unpair("FTO", "HIRE", by=None, now=now)
    pair("FTO", "HIRE", until=None, by=fto, now=now)
    change_person("HIRE", Changes(extra_time="1.5"), by=fto, now=now)
    record("import roster", "2 people", by=hire, now=now, after={"Noor Hire": ["HIRE", "HIRE-2"]})
    client_of(hire)
    return run


def _without_splints(layout: Layout) -> Layout:
    return remove_line(layout, "splint", "S1A")


def export(number: str = "HIRE", *more: str) -> dict[str, Any]:
    out = StringIO()
    call_command("export_person", number, *more, stdout=out, stderr=StringIO())
    found: dict[str, Any] = json.loads(out.getvalue())
    return found


def texts(value: Any) -> Iterator[str]:
    """Every text in a value as JSON keeps it, keys as well."""
    if isinstance(value, dict):
        value = [*value, *value.values()]
    if isinstance(value, list):
        for each in value:
            yield from texts(each)
    if isinstance(value, str):
        yield value


def said_anywhere() -> Iterator[tuple[str, str]]:
    """Every text of the whole database, with the column it stands in."""
    for model in apps.get_models(include_auto_created=True):
        for field in model._meta.concrete_fields:
            if isinstance(field, (models.CharField, models.TextField, models.JSONField)):
                for value in model._base_manager.values_list(field.attname, flat=True):
                    for text in texts(value):
                        yield f"{model._meta.label}.{field.name}", text


def keys_to_people() -> Iterator[tuple[str, type[models.Model], str]]:
    for model in apps.get_models(include_auto_created=True):
        for field in model._meta.concrete_fields:
            if field.related_model is Person:
                yield f"{model._meta.label}.{field.name}", model, field.attname
