"""The demonstration formulary, one of one's own and a medical director."""

from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.test import Client, override_settings
from django.utils.text import slugify

from drills.demo.factories import PersonFactory
from drills.formulary.actions import approve, submit
from drills.formulary.flagged import flagged_of
from drills.formulary.models import (
    NO_PAGE,
    Container,
    DoseRule,
    FormularyRevision,
    Medicine,
    Presentation,
)
from drills.people.models import Person, Role
from tests.reference import load_reference

NOW = datetime(2026, 11, 25, 5, 40, tzinfo=UTC)
TODAY = date(2026, 11, 25)
DOCUMENT = "Patient care protocols, edition 7"

ClientOf = Callable[[Person], Client]


@pytest.fixture
def demo(db: None) -> FormularyRevision:
    """The reference data, loaded as a service loads it."""
    load_reference()
    return FormularyRevision.objects.get(is_demo=True)


@pytest.fixture
def demonstration() -> Iterator[None]:
    """A site that says it is one."""
    with override_settings(READINESS_DEMO=True):
        yield


@pytest.fixture
def own(db: None) -> FormularyRevision:
    """A draft of the agency's own, of one rule."""
    revision = FormularyRevision.objects.create(number=1)
    make_rule(revision)
    return revision


@pytest.fixture
def director(db: None) -> Person:
    return PersonFactory.create(employee_number="DIRECTOR", name="Di Rector", roles=[Role.DIRECTOR])


@pytest.fixture
def client_of() -> ClientOf:
    """A browser in which a person is signed in."""

    def sign_in(person: Person) -> Client:
        client = Client()
        client.force_login(person)
        return client

    return sign_in


def put_in_force(
    revision: FormularyRevision, *, by: Person, document: str = DOCUMENT, now: datetime = NOW
) -> FormularyRevision:
    """A draft submitted by an educator, approved, and all its changes meant."""
    hand_in(revision, now=now)
    meant = [flag.key for each in flagged_of(revision) for flag in each.flags]
    return approve(revision, by=by, document=document, meant=meant, now=now)


def hand_in(revision: FormularyRevision, *, now: datetime = NOW) -> FormularyRevision:
    """A draft submitted by an educator, read anew."""
    submit(revision, by=PersonFactory.create(roles=[Role.EDUCATOR]), now=now)
    revision.refresh_from_db()
    return revision


def make_rule(
    revision: FormularyRevision,
    code: str = "A1",
    *,
    presentation: str = "10 mg / 2 mL vial",
    **fields: Any,
) -> DoseRule:
    """A rule that can be drilled and approved; what is named differs."""
    medicine, _ = Medicine.objects.get_or_create(key="test-medicine", name="Test medicine")
    given = {
        "medicine": medicine,
        "level": "paramedic",
        "indication": "seizure",
        "problems": [{"problem": "seizure", "severities": [2, 3]}],
        "route": "IM",
        "basis": "per kg",
        "dose": "0.2 mg/kg",
        "maximum": "10 mg",
        "source": "Patient care protocols",
        "version": "7",
        "page": NO_PAGE,
        "date": TODAY,
        "status": "confirmed",
    }
    if presentation:
        given["presentations"] = [make_presentation(revision, presentation, medicine).key]
    return DoseRule.objects.create(revision=revision, code=code, **(given | fields))


def make_presentation(
    revision: FormularyRevision, printed: str, medicine: Medicine
) -> Presentation:
    """How the medicine comes, from words whose last is a container."""
    strength, _, container = printed.rpartition(" ")
    made, _ = Presentation.objects.get_or_create(
        revision=revision,
        medicine=medicine,
        key=slugify(printed),
        defaults={"strength": strength, "container": Container(container)},
    )
    return made
