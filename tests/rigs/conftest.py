"""A rig known by heart, and clients of the named people."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from drills.demo.factories import rig_on
from drills.people.models import Person
from drills.rigs.models import Rig
from tests.layouts import practice_rig

NOW = datetime(2026, 11, 25, 5, 40, tzinfo=UTC)
FRAGMENT = {"HX-Request": "true"}

ClientOf = Callable[[Person], Client]
NumQueries = Callable[[int], AbstractContextManager[object]]


@pytest.fixture
def rig(db: None) -> Rig:
    return rig_on(practice_rig(), unit="11")


@pytest.fixture
def client_of() -> ClientOf:
    """A browser in which a person is signed in."""

    def sign_in(person: Person) -> Client:
        client = Client()
        client.force_login(person)
        return client

    return sign_in


@pytest.fixture
def assessed_hire(hire: Person) -> Person:
    """The hire with an assessed prompt open."""
    hire.assessed_prompt_until = timezone.now() + timedelta(minutes=10)
    hire.save(update_fields=["assessed_prompt_until"])
    return hire
