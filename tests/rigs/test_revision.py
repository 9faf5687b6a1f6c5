"""One revision of a layout, and its workbook."""

from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook

from drills.engine.workbook import read_workbook
from drills.people.models import Person
from drills.rigs.actions import import_layout
from drills.rigs.models import Rig
from drills.rigs.reading import layout_of
from tests.layouts import practice_rig
from tests.rigs.conftest import NOW, ClientOf

URL = reverse("rigs:revision", args=["practice-rig", 1])


def export_url(kind: str, number: int = 1) -> str:
    return reverse("rigs:export", args=["practice-rig", number, kind])


def test_draws_it(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    response = client_of(hire).get(URL)

    assert response.status_code == 200
    assert "open=S1" in response.content.decode()


def test_a_draft_is_for_its_keeper(client_of: ClientOf, hire: Person, keeper: Person) -> None:
    import_layout(practice_rig(), by=keeper, now=NOW)

    assert client_of(hire).get(URL).status_code == 403
    assert client_of(keeper).get(URL).status_code == 200


def test_knows_no_other_number(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    other = reverse("rigs:revision", args=["practice-rig", 7])

    assert client_of(hire).get(other).status_code == 404


def test_is_closed_while_an_assessed_prompt_is_open(
    client_of: ClientOf, assessed_hire: Person, rig: Rig
) -> None:
    assert client_of(assessed_hire).get(URL).status_code == 403


@pytest.mark.parametrize("kind", ["xlsx", "zip"])
def test_its_workbook_says_the_same(
    client_of: ClientOf, keeper: Person, rig: Rig, kind: str
) -> None:
    response = client_of(keeper).get(export_url(kind))

    parsed = read_workbook(response.content, name=f"a.{kind}")
    assert parsed.layout == layout_of(rig.revision)
    assert f'filename="practice-rig-rev-1.{kind}"' in response["Content-Disposition"]


def test_its_workbook_is_a_spreadsheet(client_of: ClientOf, keeper: Person, rig: Rig) -> None:
    response = client_of(keeper).get(export_url("xlsx"))

    assert "stock" in load_workbook(BytesIO(response.content), read_only=True).sheetnames


def test_its_workbook_is_for_keepers_alone(
    client_of: ClientOf, hire: Person, educator: Person, rig: Rig
) -> None:
    for person in (hire, educator):
        assert client_of(person).get(export_url("xlsx")).status_code == 403


def test_knows_no_other_kind_of_workbook(client_of: ClientOf, keeper: Person, rig: Rig) -> None:
    assert client_of(keeper).get(export_url("pdf")).status_code == 404


def test_is_only_read(client_of: ClientOf, keeper: Person, rig: Rig) -> None:
    assert client_of(keeper).post(URL).status_code == 405
    assert client_of(keeper).post(export_url("zip")).status_code == 405


def test_is_nothing_for_a_stranger(rig: Rig) -> None:
    assert Client().get(URL)["Location"].startswith(reverse("people:sign_in"))
