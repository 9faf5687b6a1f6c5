"""Who may open what: one table of addresses, objects and people, tried cell by cell."""

import csv
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl

import pytest
from django.apps import apps
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from drills.demo.factories import RecipeFactory, rig_on
from drills.people.models import Person
from drills.rigs.actions import import_layout, report_absence
from drills.rigs.models import Rig
from drills.runs.actions import start_run
from drills.runs.models import Run, RunState
from tests.layouts import practice_rig
from tests.runs.conftest import NOW, SEED

_FILE = Path(__file__).parent / "data" / "access.csv"
TABLE = list(csv.DictReader(_FILE.read_text().splitlines()))
PEOPLE = ("stranger", "outsider", "hire", "fto", "educator", "keeper", "admin")
CELLS = [(row, who) for row in TABLE for who in PEOPLE]
REFUSALS = {"sign-in", "refused", "none"}

pytestmark = pytest.mark.django_db


@pytest.fixture
def objects(hire: Person, keeper: Person) -> dict[str, str]:
    """One of each thing that an address names, all of them the hire's where they are anybody's."""
    rig = rig_on(practice_rig(), unit="11")
    recipe = RecipeFactory.create(slug="find-five", kinds="locate:5")
    run, finished = (_run(hire, rig, recipe) for _ in range(2))
    Run.objects.filter(pk=finished.pk).update(state=RunState.FINISHED, finished_at=NOW)
    (absence,) = report_absence(
        ["I1A"], thing="gauze roll", rig=rig, revision=rig.revision, by=hire, now=NOW
    )
    draft = practice_rig()
    import_layout(
        type(draft)(**{**_fields(draft), "notes": "a draft"}), by=keeper, now=NOW, publish=False
    )
    return {"RUN": str(run.pk), "FINISHED": str(finished.pk), "ABSENCE": str(absence.pk)}


def _run(person: Person, rig: Rig, recipe: Any) -> Run:
    return start_run(person, recipe=recipe, revision=rig.revision, rig=rig, now=NOW, seed=SEED)


def _fields(layout: Any) -> dict[str, Any]:
    return {name: getattr(layout, name) for name in layout.__dataclass_fields__}


@pytest.mark.parametrize(
    ("row", "who"),
    CELLS,
    ids=[
        f"{who}-{row['method']}-{row['address']}-{row['arguments']}".rstrip("-")
        for row, who in CELLS
    ],
)
def test_each_may_open_what_the_table_says(
    row: dict[str, str], who: str, objects: dict[str, str], request: pytest.FixtureRequest
) -> None:
    client = Client()
    if who != "stranger":
        client.force_login(request.getfixturevalue(who))
    before = counts()

    response = send(client, row, objects)

    assert outcome(response) == row[who]
    if row[who] in REFUSALS:
        assert counts() == before


@pytest.mark.parametrize("row", [row for row in TABLE if row["method"] == "POST"], ids=str)
def test_what_changes_something_answers_post_alone(
    row: dict[str, str], objects: dict[str, str], request: pytest.FixtureRequest
) -> None:
    if any(other["address"] == row["address"] and other["method"] == "GET" for other in TABLE):
        return
    client = Client()
    client.force_login(request.getfixturevalue("keeper"))

    assert client.get(address(row, objects)).status_code == 405


def test_the_table_has_every_address() -> None:
    assert {row["address"] for row in TABLE} == set(named(get_resolver().url_patterns))


def address(row: dict[str, str], objects: dict[str, str]) -> str:
    given = dict(pair.split("=") for pair in row["arguments"].split())
    return reverse(row["address"], kwargs={k: objects.get(v, v) for k, v in given.items()})


def send(client: Client, row: dict[str, str], objects: dict[str, str]) -> Any:
    url = address(row, objects)
    if row["method"] == "GET":
        return client.get(url)
    return client.post(url, dict(parse_qsl(row["posted"])))


def outcome(response: Any) -> str:
    """In the words of the table: ok, sign-in, refused or none."""
    if response.status_code == 302 and response["Location"].startswith(reverse("people:sign_in")):
        signed_out = response.wsgi_request.path == reverse("people:sign_out")
        return "ok" if signed_out and "next" not in response["Location"] else "sign-in"
    return {403: "refused", 404: "none"}.get(response.status_code, "ok")


def counts() -> dict[str, int]:
    """How many rows each table of ours has."""
    return {
        model._meta.label: model._default_manager.count()
        for model in apps.get_models()
        if model.__module__.startswith("drills.")
    }


def named(patterns: list[Any], space: str = "") -> Iterator[str]:
    for each in patterns:
        if isinstance(each, URLResolver):
            yield from named(each.url_patterns, f"{each.namespace}:" if each.namespace else space)
        elif isinstance(each, URLPattern) and each.name:
            yield f"{space}{each.name}"
