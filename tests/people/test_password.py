"""One's own password: changed with the present one, and every other browser is out."""

import pytest
from django.test import Client
from django.urls import reverse

from drills.people.actions.signing_in import FREE_TRIES
from drills.people.models import AuditEntry, Person
from tests.cast import PASSWORD
from tests.people.conftest import ClientOf

URL, SIGN_IN = reverse("people:password"), reverse("people:sign_in")
OWN = "gravel under slow wheels"


def change(client: Client, present: str = PASSWORD, new: str = OWN) -> tuple[int, str]:
    sent = {"password": present, "new_password": new, "again": new}
    response = client.post(URL, sent)
    return response.status_code, response.text


def test_another_password_takes_the_place_of_the_present_one(
    client_of: ClientOf, hire: Person
) -> None:
    client = client_of(hire)

    assert change(client)[0] == 302

    assert client.get("/rigs/").status_code == 200
    assert Client().login(username="HIRE", password=OWN)
    assert not Client().login(username="HIRE", password=PASSWORD)
    assert AuditEntry.objects.get().action == "change password"


def test_every_other_browser_is_out(client_of: ClientOf, hire: Person) -> None:
    other = client_of(hire)

    change(client_of(hire))

    assert other.get("/rigs/")["Location"].startswith(SIGN_IN)


@pytest.mark.parametrize(
    ("present", "new", "said"),
    [
        ("not this one at all", OWN, "That is not your present password."),
        (PASSWORD, "too short", "at least 15 characters"),
        ("", OWN, "A field is empty: password."),
    ],
)
def test_what_will_not_do_says_why_and_changes_nothing(
    client_of: ClientOf, hire: Person, present: str, new: str, said: str
) -> None:
    status, page = change(client_of(hire), present, new)

    assert status == 422
    assert said in page
    assert Client().login(username="HIRE", password=PASSWORD)


def test_guessing_the_present_one_is_slowed(client_of: ClientOf, hire: Person) -> None:
    """A browser left signed in is no place to try passwords at."""
    client = client_of(hire)
    for _ in range(FREE_TRIES):
        assert change(client, "not this one at all")[0] == 422

    status, page = change(client)

    assert status == 429
    assert "Wait 10 seconds, then try again." in page


def test_it_is_reached_from_every_sheet(client_of: ClientOf, hire: Person) -> None:
    assert f'href="{URL}"' in client_of(hire).get("/rigs/").text
