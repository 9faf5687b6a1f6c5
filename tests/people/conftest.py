"""Clients of the named people."""

from collections.abc import Callable

import pytest
from django.test import Client

from drills.people.models import Person

ClientOf = Callable[[Person], Client]


@pytest.fixture
def client_of() -> ClientOf:
    """A browser in which a person is signed in."""

    def sign_in(person: Person) -> Client:
        client = Client()
        client.force_login(person)
        return client

    return sign_in
