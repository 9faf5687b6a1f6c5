"""Signing out, day and night, and gloves: each by a form, without scripts."""

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from drills.people.models import Person
from tests.people.conftest import ClientOf

SIGN_IN, SIGN_OUT = reverse("people:sign_in"), reverse("people:sign_out")
MOOD, GLOVES = reverse("people:mood"), reverse("people:gloves")


class TestSignOut:
    def test_forgets_the_person(self, client_of: ClientOf, hire: Person) -> None:
        client = client_of(hire)

        assert client.post(SIGN_OUT)["Location"] == SIGN_IN
        assert "_auth_user_id" not in client.session

    def test_is_no_link(self, client_of: ClientOf, hire: Person) -> None:
        assert client_of(hire).get(SIGN_OUT).status_code == 405

    @pytest.mark.django_db
    def test_a_stranger_is_out_already(self, client: Client) -> None:
        assert client.post(SIGN_OUT)["Location"].startswith(SIGN_IN)


class TestMood:
    @pytest.mark.parametrize("mood", ["day", "night"])
    def test_is_kept_on_the_device(self, client: Client, mood: str) -> None:
        response = client.post(MOOD, {"mood": mood, "next": SIGN_IN})

        assert response["Location"] == SIGN_IN
        assert f'data-mood="{mood}"' in client.get(SIGN_IN).content.decode()

    def test_follows_the_system_at_first(self, client: Client) -> None:
        assert "data-mood" not in client.get(SIGN_IN).content.decode()

    def test_follows_the_system_again(self, client: Client) -> None:
        client.post(MOOD, {"mood": "night"})
        client.post(MOOD, {"mood": "system"})

        assert "data-mood" not in client.get(SIGN_IN).content.decode()

    def test_a_cookie_of_nonsense_changes_nothing(self, client: Client) -> None:
        client.cookies["mood"] = '"><b>'

        assert "data-mood" not in client.get(SIGN_IN).content.decode()

    def test_takes_three_words(self, client: Client) -> None:
        response = client.post(MOOD, {"mood": "<dusk>"})

        assert response.status_code == 422
        assert response["Content-Type"].startswith("text/plain")
        assert "it takes day, night, system" in response.content.decode()

    def test_never_leads_to_another_host(self, client: Client) -> None:
        response = client.post(MOOD, {"mood": "day", "next": "https://elsewhere.example/"})

        assert response["Location"] == reverse("boards:home")

    def test_is_no_link(self, client: Client) -> None:
        assert client.get(MOOD).status_code == 405


@pytest.mark.django_db
@pytest.mark.parametrize(("url", "sent"), [(MOOD, {"mood": "night"}), (GLOVES, {"gloves": "on"})])
def test_with_scripts_the_page_stays_as_it_is(
    client: Client, url: str, sent: dict[str, str]
) -> None:
    response = client.post(url, {**sent, "next": SIGN_IN}, headers={"HX-Request": "true"})

    assert (response.status_code, response.content) == (204, b"")
    assert set(response.cookies) == set(sent)


class TestGloves:
    def test_are_kept_on_the_device(self, client: Client) -> None:
        client.post(GLOVES, {"gloves": "on"})

        assert 'class="glove ' in client.get(SIGN_IN).content.decode()

    def test_come_off_again(self, client: Client) -> None:
        client.post(GLOVES, {"gloves": "on"})
        client.post(GLOVES, {"gloves": "off"})

        assert 'class="glove ' not in client.get(SIGN_IN).content.decode()

    def test_the_cookie_is_the_servers_alone(self, client: Client) -> None:
        response: HttpResponse = client.post(GLOVES, {"gloves": "on"})  # type: ignore[assignment]  # of the test client

        assert response.cookies["gloves"]["httponly"]
        assert response.cookies["gloves"]["samesite"] == "Lax"

    def test_is_no_link(self, client: Client) -> None:
        assert client.get(GLOVES).status_code == 405
