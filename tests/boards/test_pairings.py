"""Whom an FTO's page lists: the people paired with them now."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import PairingFactory, PersonFactory
from drills.people.models import Pairing, Person
from tests.runs.conftest import ClientOf

pytestmark = pytest.mark.django_db


def listed(client_of: ClientOf, fto: Person) -> str:
    return client_of(fto).get(reverse("boards:fto")).content.decode()


def test_one_whose_pairing_has_ended_is_listed_no_more(client_of: ClientOf, fto: Person) -> None:
    assert "Noor Hire" in listed(client_of, fto)

    Pairing.objects.update(ends_at=timezone.now() - timedelta(minutes=1))

    assert "Noor Hire" not in listed(client_of, fto)


def test_one_whose_pairing_ends_later_is_listed(client_of: ClientOf, fto: Person) -> None:
    Pairing.objects.update(ends_at=timezone.now() + timedelta(hours=1))

    assert "Noor Hire" in listed(client_of, fto)


def test_one_whose_pairing_begins_later_is_not_listed_yet(client_of: ClientOf, fto: Person) -> None:
    Pairing.objects.update(starts_at=timezone.now() + timedelta(hours=1))

    assert "Noor Hire" not in listed(client_of, fto)


def test_one_paired_with_another_is_not_listed(client_of: ClientOf, fto: Person) -> None:
    PairingFactory.create(crew=PersonFactory.create(name="Sol Other"))

    assert "Sol Other" not in listed(client_of, fto)
