"""Signing in, with a full page each time."""

import pytest
from django.test import Client
from django.urls import reverse

from drills.demo.factories import PersonFactory
from drills.people.models import Person
from tests.cast import PASSWORD

URL = reverse("people:sign_in")
HOME = reverse("boards:home")
NOT_LET_IN = "That number and password do not go together."


def enter(client: Client, **given: str) -> tuple[int, str, str]:
    """Status, where it leads, and the page."""
    response = client.post(URL, {"employee_number": "HIRE", "password": PASSWORD, **given})
    return response.status_code, response.get("Location", ""), response.content.decode()


def test_asks_for_number_and_password(client: Client) -> None:
    found = client.get(URL).content.decode()

    assert 'name="employee_number"' in found
    assert 'autocomplete="current-password"' in found
    assert "Sign out" not in found


@pytest.mark.usefixtures("hire")
def test_lets_a_person_in(client: Client) -> None:
    assert enter(client)[:2] == (302, HOME)
    assert "_auth_user_id" in client.session


@pytest.mark.usefixtures("hire")
def test_leads_on_to_where_one_wanted_to_go(client: Client) -> None:
    assert enter(client, next="/rigs/?a=1")[1] == "/rigs/?a=1"


@pytest.mark.usefixtures("hire")
@pytest.mark.parametrize(
    "foreign", ["https://elsewhere.example/", "//elsewhere.example", "javascript:alert(1)", "\\\\a"]
)
def test_never_leads_to_another_host(client: Client, foreign: str) -> None:
    assert enter(client, next=foreign)[1] == HOME


@pytest.mark.usefixtures("hire")
def test_says_the_same_whichever_is_wrong(client: Client) -> None:
    answers = [
        enter(client, password="not this one"),
        enter(client, employee_number="NOBODY", password="not this one"),
    ]

    assert [status for status, _, _ in answers] == [422, 422]
    assert all(NOT_LET_IN in page for _, _, page in answers)
    assert "_auth_user_id" not in client.session


@pytest.mark.usefixtures("hire")
@pytest.mark.parametrize("written", ["hire", "Hire", " hIRE "])
def test_a_number_is_the_same_however_its_letters_are_written(client: Client, written: str) -> None:
    assert enter(client, employee_number=written)[0] == 302


def test_of_two_numbers_that_differ_in_capitals_alone_each_is_typed_as_it_is(
    client: Client, hire: Person
) -> None:
    other = PersonFactory.create(employee_number="hire", password="another four words here")

    assert enter(client, employee_number="Hire")[0] == 422
    assert enter(client, employee_number="hire")[0] == 422
    assert enter(client, employee_number="hire", password="another four words here")[0] == 302
    assert client.session["_auth_user_id"] == str(other.pk)


def test_nobody_is_let_in_by_the_number_of_one_who_left(client: Client, hire: Person) -> None:
    hire.is_active = False
    hire.save(update_fields=["is_active"])
    PersonFactory.create(employee_number="hire", password=PASSWORD)

    assert enter(client, employee_number="HIRE")[0] == 422


def test_one_who_has_left_is_not_let_in(client: Client, hire: Person) -> None:
    hire.is_active = False
    hire.save(update_fields=["is_active"])

    status, _, page = enter(client)

    assert status == 422
    assert NOT_LET_IN in page


@pytest.mark.django_db
def test_asks_for_both(client: Client) -> None:
    status, _, page = enter(client, password="")

    assert status == 422
    assert "Give both, the number and the password." in page


@pytest.mark.usefixtures("hire")
def test_a_password_is_never_shown_again(client: Client) -> None:
    assert "not this one" not in enter(client, password="not this one")[2]


def test_one_who_is_in_goes_on(client: Client, hire: Person) -> None:
    client.force_login(hire)

    assert client.get(URL, {"next": "/rigs/"})["Location"] == "/rigs/"


def test_takes_no_other_method(client: Client) -> None:
    assert client.put(URL).status_code == 405
