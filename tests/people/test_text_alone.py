"""What no database of ours keeps is refused at the door."""

import pytest
from django.test import Client
from django.urls import reverse

from drills.people.models import Person

pytestmark = pytest.mark.django_db


@pytest.fixture
def browser(hire: Person) -> Client:
    client = Client()
    client.force_login(hire)
    return client


@pytest.mark.parametrize("sent", [{"recipe": "find\0ten"}, {"rec\0ipe": "find-ten"}])
def test_a_zero_in_a_form_is_refused(browser: Client, sent: dict[str, str]) -> None:
    response = browser.post(reverse("runs:start"), sent)

    assert response.status_code == 400
    assert b"That was not taken" in response.content


@pytest.mark.parametrize("address", ["/rigs/?find=a%00b", "/boards/people/a%00b/"])
def test_a_zero_in_an_address_is_refused(browser: Client, address: str) -> None:
    assert browser.get(address).status_code == 400


def test_any_other_sign_is_text(browser: Client) -> None:
    assert browser.get("/rigs/?find=%D9%A3%20%3Cb%3E%0A%7F").status_code == 200
