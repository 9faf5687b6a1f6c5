"""Who may open what."""

from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.http import Http404
from django.utils import timezone

from drills.people.access import (
    ClosedWhileAssessedError,
    closed_while_assessed,
    may_see,
    require_role,
    visible_person,
)
from drills.people.models import Pairing, Person, Role


def test_one_of_the_roles_is_enough(keeper: Person) -> None:
    assert require_role(keeper, Role.ADMIN, Role.KEEPER) == keeper


def test_without_the_role_it_says_whose_page_it_is(hire: Person) -> None:
    with pytest.raises(PermissionDenied, match=r"This page is for the educator\."):
        require_role(hire, Role.EDUCATOR)


def test_closed_while_assessed_and_open_after(hire: Person) -> None:
    closed_while_assessed(hire)
    hire.assessed_prompt_until = timezone.now() + timedelta(minutes=10)

    with pytest.raises(ClosedWhileAssessedError):
        closed_while_assessed(hire)


class TestVisiblePerson:
    def test_everybody_sees_themselves(self, hire: Person) -> None:
        assert visible_person(hire, "HIRE") == hire

    def test_an_fto_sees_who_is_paired_with_them(self, fto: Person, hire: Person) -> None:
        assert visible_person(fto, "HIRE") == hire

    def test_an_educator_sees_everybody(self, educator: Person, hire: Person) -> None:
        assert visible_person(educator, "HIRE") == hire

    def test_others_are_not_there(
        self, fto: Person, outsider: Person, keeper: Person, admin: Person
    ) -> None:
        for viewer, number in (
            (outsider, "HIRE"),
            (fto, "OUTSIDER"),
            (keeper, "HIRE"),
            (admin, "HIRE"),
        ):
            with pytest.raises(Http404):
                visible_person(viewer, number)

    def test_one_who_does_not_exist_is_not_there_either(self, educator: Person) -> None:
        with pytest.raises(Http404):
            visible_person(educator, "NOBODY")

    def test_a_pairing_ends(self, fto: Person, hire: Person) -> None:
        Pairing.objects.update(ends_at=timezone.now() - timedelta(minutes=1))

        assert not may_see(fto, hire)

    def test_a_pairing_without_the_role_shows_nothing(self, outsider: Person, hire: Person) -> None:
        Pairing.objects.create(fto=outsider, crew=hire, starts_at=timezone.now())

        assert not may_see(outsider, hire)
