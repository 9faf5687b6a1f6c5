"""The sheet every page is drawn on, and the pages for when something is wrong."""

import json
import re

import pytest
from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.test import Client, RequestFactory, override_settings
from django.urls import reverse

from drills.people.context import Sheet
from drills.people.models import Person
from tests.people.conftest import ClientOf

SIGN_IN = reverse("people:sign_in")


def asked(path: str, person: Person | None, method: str = "get") -> HttpRequest:
    request: HttpRequest = getattr(RequestFactory(), method)(path)
    request.user = person or AnonymousUser()
    return request


class TestSheet:
    def test_one_sheet_is_the_current_one(self, hire: Person) -> None:
        entries = Sheet(asked("/rigs/some-rig/walk/", hire)).entries

        assert [entry.name for entry in entries if entry.is_current] == ["Rigs"]
        assert "Today" in [entry.name for entry in entries]

    def test_the_top_is_current_on_the_top_alone(self, hire: Person) -> None:
        assert [e.name for e in Sheet(asked("/", hire)).entries if e.is_current] == ["Today"]

    def test_a_stranger_sees_no_sheets(self) -> None:
        assert Sheet(asked("/", None)).entries == ()
        assert Sheet(HttpRequest()).entries == ()

    def test_sheets_that_do_not_exist_are_left_out(self, hire: Person) -> None:
        with override_settings(SHEETS=(("Moon", "moon:index", ()),)):
            assert Sheet(asked("/", hire)).entries == ()

    def test_sheets_of_other_roles_are_left_out(self, hire: Person, keeper: Person) -> None:
        with override_settings(SHEETS=(("Import", "rigs:import", ("keeper",)),)):
            assert Sheet(asked("/", hire)).entries == ()
            assert [entry.name for entry in Sheet(asked("/", keeper)).entries] == ["Import"]

    def test_a_page_that_answers_post_alone_is_not_gone_back_to(self) -> None:
        assert Sheet(asked("/a/?b=1", None)).here == "/a/?b=1"
        assert Sheet(asked("/a/", None, "post")).here == ""


class TestBase:
    def test_has_one_main_and_empty_regions_to_speak_in(self, client: Client) -> None:
        found = client.get(SIGN_IN).content.decode()

        assert found.count("<main") == 1
        assert '<div id="status" class="says" role="status" aria-atomic="true"></div>' in found
        assert '<div id="alert" class="says" role="alert"></div>' in found
        assert 'href="#main"' in found

    def test_keeps_htmx_within_the_policy(self, client: Client) -> None:
        found = client.get(SIGN_IN).content.decode()

        (content,) = re.findall(r"<meta name=\"htmx-config\" content='([^']*)'>", found)
        said = json.loads(content)
        assert (
            said["allowEval"] is said["allowScriptTags"] is said["includeIndicatorStyles"] is False
        )
        assert said["historyCacheSize"] == 0
        assert {"code": "422", "swap": True} in said["responseHandling"]

    def test_carries_the_token_of_forms(self, client: Client) -> None:
        found = client.get(SIGN_IN).content.decode()

        assert re.search(r"hx-headers='{\"x-csrftoken\": \"\w{64}\"}'", found)

    @pytest.mark.parametrize("demo", [True, False])
    def test_says_when_it_is_a_demonstration(self, client: Client, demo: bool) -> None:
        with override_settings(READINESS_DEMO=demo):
            found = client.get(SIGN_IN).content.decode()

        assert demo == ("Not for patient care." in found)


class TestWrong:
    def test_an_unknown_address_is_told_in_plain_words(
        self, client_of: ClientOf, hire: Person
    ) -> None:
        response = client_of(hire).get("/rigs/no-such/layout/at/all/")

        assert response.status_code == 404
        assert "There is no such page" in response.content.decode()

    def test_a_page_of_another_role_says_whose_it_is(
        self, client_of: ClientOf, hire: Person
    ) -> None:
        found = client_of(hire).get(reverse("rigs:import")).content.decode()

        assert "This page is for the layout keeper or administrator." in found

    def test_a_fault_of_ours_needs_nothing_to_be_told(self) -> None:
        assert "Something broke on our side" in render_to_string("500.html")
