"""Whoever is signed out is led to sign in and back to a page, and told when something was lost."""

from urllib.parse import parse_qs, urlsplit
from uuid import UUID

import pytest
from django.test import Client
from django.urls import reverse

from drills.people.models import Person
from tests.cast import PASSWORD

SIGN_IN = reverse("people:sign_in")
TAKE, ANSWER = (reverse(f"runs:{name}", args=[UUID(int=7)]) for name in ("take", "answer"))
LOST = "You were signed out; the answer, or whatever else you sent, was not taken."
HTMX = {"HX-Request": "true"}

pytestmark = pytest.mark.django_db


def leads_to(location: str) -> tuple[str, dict[str, list[str]]]:
    parts = urlsplit(location)
    return parts.path, parse_qs(parts.query)


class TestPlain:
    def test_a_page_is_come_back_to(self, client: Client) -> None:
        response = client.get("/rigs/?a=1")

        assert leads_to(response["Location"]) == (SIGN_IN, {"next": ["/rigs/?a=1"]})

    def test_what_was_sent_leads_back_to_the_page_it_was_sent_from(self, client: Client) -> None:
        response = client.post(ANSWER, headers={"Referer": f"http://testserver{TAKE}"})

        assert response.status_code == 302
        assert leads_to(response["Location"]) == (SIGN_IN, {"next": [TAKE], "lost": ["1"]})

    @pytest.mark.parametrize(
        "referer",
        [
            "",
            f"https://elsewhere.example{TAKE}",
            f"http://testserver{ANSWER}",
            "http://testserver/no/such/page/",
            "http://testserver//elsewhere.example/",
        ],
        ids=["none", "another host", "takes forms alone", "no page", "disguised host"],
    )
    def test_without_a_page_of_ours_it_leads_to_the_first(
        self, client: Client, referer: str
    ) -> None:
        response = client.post(ANSWER, headers={"Referer": referer})

        assert leads_to(response["Location"])[1] == {"next": ["/"], "lost": ["1"]}

    def test_signing_out_twice_loses_nothing(self, client: Client) -> None:
        response = client.post(reverse("people:sign_out"))

        assert leads_to(response["Location"]) == (SIGN_IN, {"next": ["/"]})


class TestHtmx:
    def test_the_whole_page_goes_to_sign_in_and_not_the_question(self, client: Client) -> None:
        seen = f"http://testserver{TAKE}"

        response = client.post(ANSWER, headers={**HTMX, "HX-Current-URL": seen})

        assert (response.status_code, response.content) == (200, b"")
        assert leads_to(response["HX-Redirect"]) == (SIGN_IN, {"next": [TAKE], "lost": ["1"]})

    def test_a_search_loses_nothing(self, client: Client) -> None:
        headers = {**HTMX, "HX-Current-URL": "http://testserver/rigs/some-rig/?find=gauze"}

        response = client.get("/rigs/some-rig/", headers=headers)

        found = leads_to(response["HX-Redirect"])
        assert found == (SIGN_IN, {"next": ["/rigs/some-rig/?find=gauze"]})

    @pytest.mark.parametrize("seen", ["", f"https://elsewhere.example{TAKE}", ANSWER])
    def test_without_a_page_of_ours_it_leads_to_the_first(self, client: Client, seen: str) -> None:
        response = client.post(ANSWER, headers={**HTMX, "HX-Current-URL": seen})

        assert leads_to(response["HX-Redirect"])[1]["next"] == ["/"]


class TestSignInPage:
    def test_says_what_was_lost(self, client: Client) -> None:
        response = client.post(ANSWER, headers={"Referer": f"http://testserver{TAKE}"}, follow=True)

        assert LOST in response.content.decode()
        assert f'value="{TAKE}"' in response.content.decode()

    def test_says_nothing_when_nothing_was(self, client: Client) -> None:
        assert LOST not in client.get("/rigs/", follow=True).content.decode()

    def test_leads_back_after_signing_in(self, client: Client, hire: Person) -> None:
        sent = {"employee_number": "HIRE", "password": PASSWORD, "next": TAKE}

        response = client.post(f"{SIGN_IN}?next=/&lost=1", sent)

        assert response["Location"] == TAKE


def test_a_form_older_than_the_sign_in_says_so_and_what_to_do(hire: Person) -> None:
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(hire)

    response = strict.post(ANSWER)

    assert response.status_code == 403
    assert "older than your sign-in" in response.content.decode()
