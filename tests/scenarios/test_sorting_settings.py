"""How the service sorts patients: who sets it, what is kept of it, and what drills are made by."""

from dataclasses import replace
from html import unescape
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.timezone import localtime

from drills.demo.factories import PersonFactory
from drills.engine.callplan import plan
from drills.engine.incidents import Sorting
from drills.engine.triage import SALT_FAMILY
from drills.engine.triage.findings import REFILL
from drills.people.models import AuditEntry, Person, Role
from drills.scenarios.actions import SortingRefusedError, set_sorting
from drills.scenarios.models import SortingSettings
from drills.scenarios.reading import material_of, sorting_settings
from drills.scenarios.tasks import answer_of, shown_of
from tests.scenarios.conftest import NOW, ClientOf
from tests.scenarios.test_call_pages import said
from tests.scenarios.test_call_recipes import Made, stored
from tests.scenarios.test_call_recipes import made as made

URL = reverse("scenarios:sorting")
HTMX = {"HX-Request": "true"}
GIVEN = {
    "scheme": SALT_FAMILY,
    "perfusion": REFILL,
    "threshold": "5",
    "decided": "Di Rector, letter of 2 March",
}

pytestmark = pytest.mark.django_db


@pytest.fixture
def director() -> Person:
    return PersonFactory.create(roles=[Role.DIRECTOR], name="Di Rector")


def set_so(director: Person, **other: Any) -> SortingSettings:
    return set_sorting(**GIVEN | other, by=director, now=NOW)


def test_a_service_that_set_nothing_sorts_by_start_from_three_on() -> None:
    kept = sorting_settings()

    assert kept.sorting == Sorting()
    assert str(kept) == (
        "START, and JumpSTART for children, perfusion by the pulse at the wrist; "
        "from 3 patients on."
    )


def test_what_is_set_is_kept_in_one_row_with_a_line_in_the_audit(director: Person) -> None:
    set_so(director, threshold="4")
    set_so(director)

    kept = SortingSettings.objects.get()
    assert kept.sorting == Sorting(SALT_FAMILY, REFILL, 5)
    assert str(kept) == "SALT; from 5 patients on."
    last = AuditEntry.objects.filter(action="set sorting").latest("pk")
    assert (last.actor, last.at, last.subject) == (director, NOW, "triage")
    assert last.before == GIVEN | {"threshold": 4, "words": "SALT; from 4 patients on"}
    assert last.after == GIVEN | {"threshold": 5, "words": "SALT; from 5 patients on"}


@pytest.mark.parametrize("page", ["formulary:index", "boards:hire"])
def test_a_director_is_told_who_set_how_patients_are_sorted_until_seen(
    page: str, director: Person, client_of: ClientOf
) -> None:
    """What it was before is said, and what a director set is no news to them."""
    educator = PersonFactory.create(roles=[Role.EDUCATOR], name="Eddie Cator")
    set_so(educator)
    set_so(director, threshold="6")
    set_so(educator, threshold="7")
    client = client_of(director)
    told = date_format(localtime(NOW), "j M Y, H:i")

    words = said(client.get(reverse(page)).content)
    assert f"How patients are sorted was changed by Eddie Cator, {told}." in words
    assert "Now: SALT; from 5 patients on. Before: as it comes. Decided by: Di Rector," in words
    assert "Now: SALT; from 7 patients on. Before: SALT; from 6 patients on." in words
    assert "Now: SALT; from 6 patients on" not in words
    assert "was changed" not in said(client_of(educator).get(reverse("boards:hire")).content)
    client.post(reverse("formulary:settings_seen"))

    assert "was changed" not in said(client.get(reverse(page)).content)


@pytest.mark.parametrize(
    ("field", "sent", "names"),
    [
        ("scheme", "SIEVE", "Scheme: 'SIEVE' is none of START and JumpSTART, SALT."),
        ("perfusion", "colour", "Perfusion: 'colour' is none of radial, refill."),
        ("threshold", "1", "'1' came in; a whole number from 2 to 12 is accepted."),
        ("threshold", "13", "'13' came in"),
        ("threshold", "4.5", "'4.5' came in"),
        ("threshold", "", "'' came in"),
        ("decided", "  ", "Decided by: 0 letters came in"),
        ("decided", "x" * 1000, "Decided by: 1000 letters came in"),
    ],
)
def test_what_cannot_be_kept_is_named_and_changes_nothing(
    director: Person, field: str, sent: str, names: str
) -> None:
    with pytest.raises(SortingRefusedError) as refused:
        set_so(director, **{field: sent})

    assert names in str(refused.value)
    assert not SortingSettings.objects.exists()
    assert not AuditEntry.objects.filter(action="set sorting").exists()


@pytest.mark.parametrize("role", [Role.FTO, Role.KEEPER, None])
def test_nobody_else_sets_it(role: Role | None) -> None:
    person = PersonFactory.create(roles=[role] if role else [])

    with pytest.raises(PermissionDenied):
        set_so(person)


@pytest.mark.parametrize("role", [Role.EDUCATOR, Role.ADMIN, Role.DIRECTOR])
@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_who_may_sets_it_on_its_page(
    role: Role, headers: dict[str, str], client_of: ClientOf
) -> None:
    client = client_of(PersonFactory.create(roles=[role], name="Pressed Bythem"))

    done = client.post(URL, GIVEN, headers=headers)

    assert done.headers["HX-Redirect" if headers else "Location"] == URL
    content = unescape(client.get(URL).content.decode())
    assert "SALT; from 5 patients on." in content
    assert f" by Pressed Bythem. Decided by: {GIVEN['decided']}" in content
    assert 'value="SALT" checked' in content
    assert 'value="5"' in content


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_a_refused_setting_keeps_what_was_written(
    director: Person, headers: dict[str, str], client_of: ClientOf
) -> None:
    refused = client_of(director).post(URL, GIVEN | {"threshold": "40"}, headers=headers)

    content = refused.content.decode()
    assert refused.status_code == 422
    assert "Nothing is changed." in content
    assert 'value="40"' in content
    assert ("<html" in content) is not bool(headers)
    assert not SortingSettings.objects.exists()


def test_a_stranger_is_sent_to_sign_in() -> None:
    for answer in (Client().get(URL), Client().post(URL, GIVEN)):
        assert reverse("people:sign_in") in answer.headers["Location"]
    assert not SortingSettings.objects.exists()


@pytest.mark.parametrize("column", [{"number": 2}, {"number": 1, "threshold": 1}])
def test_there_is_one_row_with_a_number_that_can_be(column: dict[str, int]) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        SortingSettings.objects.create(**column, decided="x", changed_at=NOW)


def test_those_who_may_set_it_find_it_from_the_call_types(client_of: ClientOf) -> None:
    calls = reverse("scenarios:calls")
    for role, is_there in ((Role.EDUCATOR, True), (Role.FTO, False)):
        content = client_of(PersonFactory.create(roles=[role])).get(calls).content.decode()
        assert (URL in content) == is_there


@pytest.mark.parametrize("made", ["mesa-box"], indirect=True, scope="module")
def test_drills_are_made_by_it_and_keep_what_they_were_made_by(
    made: Made, director: Person
) -> None:
    """The chart and its sources are frozen with the answer; a later setting changes neither."""
    layout, _, specs = made
    revision = stored("mesa-box")

    def prompts() -> Any:
        material = material_of(revision, now=NOW, is_assessed=False)
        return plan(layout, specs["triage-first"], seed=3, material=material).prompts

    def charts(prompts: Any) -> set[str]:
        return {answer_of(each)["scheme"].split(",")[0].split(".")[0] for each in sorts(prompts)}

    def sorts(prompts: Any) -> Any:
        return [each for each in prompts if each.triage]

    by_start = prompts()
    set_so(director, threshold="2")
    by_salt = prompts()
    set_so(director, threshold="12")
    few = prompts()

    assert charts(by_start) <= {"START", "JumpSTART"}
    assert charts(by_salt) == {"SALT"}
    assert all(answer_of(each)["sources"] for each in sorts((*by_start, *by_salt)))
    assert len(shown_of(by_salt[0])["categories"]) == 5
    assert [each.name for each in few] == ["Who comes first, and why?"]
    assert [group["key"] for group in shown_of(few[0])["groups"]] == ["who", "why"]


@pytest.mark.parametrize("made", ["mesa-box"], indirect=True, scope="module")
def test_one_patient_alone_is_neither_sorted_nor_first(made: Made) -> None:
    """A drill of several kinds goes on without; one of triage alone draws two or more."""
    layout, material, specs = made
    spec = replace(specs["triage-first"], patients_least=None, patients_most=1, call_types=())
    mixed = replace(spec, kinds=(("triage", 0), ("stage", 1)))

    assert [each.kind for each in plan(layout, mixed, seed=1, material=material).prompts] == [
        "stage"
    ]
    for seed in range(5):
        alone = replace(spec, patients_most=2)
        found = plan(layout, alone, seed=seed, material=material).prompts
        assert [each.subject for each in found] == ["who first"]
