"""A call type small enough to know by heart, on the practice rig, and browsers for its pages."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.utils import timezone

from drills.demo.factories import rig_on
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.scenarios.models import CallType
from tests.calls import bleeding_call
from tests.layouts import practice_rig

NOW = timezone.now()
ClientOf = Callable[[Person], Client]


@pytest.fixture
def rig(db: None) -> Rig:
    """A rig of the practice layout in service."""
    return rig_on(practice_rig(), unit="11")


@pytest.fixture
def bleeding(rig: Rig) -> CallType:
    """Severe bleeding: two patients, two must-haves, both aboard."""
    return bleeding_call(rig.revision)


@pytest.fixture
def client_of() -> ClientOf:
    """A browser in which a person is signed in."""

    def sign_in(person: Person) -> Client:
        client = Client()
        client.force_login(person)
        return client

    return sign_in
