"""What a page gives the phone to ask by, before presses that it keeps are left behind."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from drills.people.models import Person
from tests.runs.conftest import ClientOf
from tests.runs.conftest import client_of as client_of

pytestmark = pytest.mark.django_db

OWNER = re.compile(r'data-owner="([0-9a-f]{16})"')


def owner(client: Client) -> str:
    found = OWNER.search(client.get(reverse("boards:guide")).content.decode())
    assert found
    return found[1]


def test_the_mark_of_a_person_is_theirs_in_every_session_and_nobody_elses(
    hire: Person, fto: Person, client_of: ClientOf
) -> None:
    assert owner(client_of(hire)) == owner(client_of(hire)) != owner(client_of(fto))


def test_a_stranger_has_none() -> None:
    assert not OWNER.search(Client().get(reverse("people:sign_in")).content.decode())


def test_signing_out_and_in_and_handing_on_ask_first(hire: Person, client_of: ClientOf) -> None:
    own = client_of(hire)
    assert 'data-leaves="Sign out' in own.get(reverse("boards:guide")).content.decode()
    assert 'data-leaves="Sign in"' in Client().get(reverse("people:sign_in")).content.decode()
    page = own.get(reverse("people:take_over")).content.decode()
    assert 'data-leaves="Take over' in page or "Not from here" in page
