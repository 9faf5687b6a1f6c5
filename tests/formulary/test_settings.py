"""How the service works doses out: who sets it, what is kept of it, and what it reaches."""

from fractions import Fraction
from html import unescape
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from drills.demo.factories import PersonFactory, rig_on
from drills.engine.dosing.treatment import USUAL, Settings
from drills.formulary.actions import SettingRefusedError, set_dosing
from drills.formulary.models import DosingSettings, FormularyRevision
from drills.formulary.reports import dosing_settings
from drills.people.models import AuditEntry, Person, Role
from tests.formulary.conftest import NOW, ClientOf
from tests.layouts import demo_layout

URL = reverse("formulary:settings")
HTMX = {"HX-Request": "true"}
GIVEN = {
    "pounds": "exact",
    "rounding": "never up",
    "refused_from": "5",
    "decided": "Di Rector, letter of 2 March",
}

pytestmark = pytest.mark.django_db


def set_so(director: Person, **other: Any) -> DosingSettings:
    return set_dosing(**GIVEN | other, by=director, now=NOW)


def test_a_service_that_set_nothing_works_by_the_printed_tables() -> None:
    kept = dosing_settings()

    assert kept.settings == USUAL == Settings()
    assert str(kept) == (
        "Pounds divided by 2.2; a child's dose rounded half up; a draw refused from 10% off."
    )


def test_what_is_set_is_kept_in_one_row_with_a_line_in_the_audit(director: Person) -> None:
    set_so(director, pounds="2.2")
    set_so(director)

    kept = DosingSettings.objects.get()
    assert kept.settings == Settings(
        is_exact_pounds=True, is_never_up_for_children=True, refused_from=Fraction(1, 20)
    )
    last = AuditEntry.objects.filter(action="set dosing").latest("pk")
    assert (last.actor, last.at, last.subject) == (director, NOW, "formulary")
    assert last.before == GIVEN | {"pounds": "2.2"}
    assert last.after == GIVEN


@pytest.mark.parametrize(
    ("field", "sent", "names"),
    [
        ("pounds", "0.45", "Pounds: '0.45' is none of 2.2, exact."),
        ("rounding", "up", "Rounding: 'up' is none of half up, never up."),
        ("refused_from", "0", "Refused from: '0' is none of 1, 2, 3, 4, 5, 6, 7, 8, 9, 10."),
        ("refused_from", "11", "Refused from: '11' is none of 1, 2,"),
        ("refused_from", "2.5", "Refused from: '2.5' is none of 1, 2,"),
        ("refused_from", "", "Refused from: '' is none of 1, 2,"),
        ("decided", "  ", "Decided by: 0 letters came in"),
        ("decided", "x" * 1000, "Decided by: 1000 letters came in"),
    ],
)
def test_what_cannot_be_kept_is_named_and_changes_nothing(
    director: Person, field: str, sent: str, names: str
) -> None:
    with pytest.raises(SettingRefusedError, match=names.replace(".", r"\.")):
        set_so(director, **{field: sent})

    assert not DosingSettings.objects.exists()
    assert not AuditEntry.objects.filter(action="set dosing").exists()


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
    assert (
        "Pounds exactly, 0.45359237 kg each; a child's dose never rounded up; a draw refused"
        in content
    )
    assert "refused from 5% off." in content
    assert f" by Pressed Bythem. Decided by: {GIVEN['decided']}" in content
    assert 'value="exact" checked' in content
    assert 'value="never up" checked' in content
    assert 'name="refused_from" inputmode="numeric" required maxlength="2"' in content
    assert 'autocomplete="off" value="5"' in content


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_a_refused_setting_keeps_what_was_chosen_on_the_page(
    director: Person, headers: dict[str, str], client_of: ClientOf
) -> None:
    refused = client_of(director).post(URL, GIVEN | {"decided": ""}, headers=headers)

    content = refused.content.decode()
    assert refused.status_code == 422
    assert "Nothing is changed." in content
    assert 'value="exact" checked' in content
    assert ("<html" in content) is not bool(headers)
    assert not DosingSettings.objects.exists()


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_a_stranger_is_sent_to_sign_in(headers: dict[str, str]) -> None:
    for answer in (Client().get(URL, headers=headers), Client().post(URL, GIVEN, headers=headers)):
        assert reverse("people:sign_in") in (
            answer.headers.get("HX-Redirect") or answer.headers["Location"]
        )
    assert not DosingSettings.objects.exists()


def test_there_is_never_a_second_row(director: Person) -> None:
    set_so(director)

    with pytest.raises(IntegrityError), transaction.atomic():
        DosingSettings.objects.create(number=2, decided="x", changed_at=NOW)


@pytest.mark.parametrize("share", [0, 11])
def test_no_share_of_nothing_or_past_a_tenth_is_kept(share: int) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        DosingSettings.objects.create(refused_from=share, decided="x", changed_at=NOW)


@pytest.mark.usefixtures("demo", "demonstration")
class TestWorkedForAPatient:
    """5 years and 44 lb: 20 kg by the tables, a little less exactly."""

    @pytest.fixture(autouse=True)
    def box(self, demo: FormularyRevision) -> None:
        """A rig whose things are tied as its workbook says."""
        rig_on(demo_layout("mesa-box"), unit="201")

    def worked(self, hire: Person, client_of: ClientOf, **chosen: str) -> str:
        given = {"age": "5", "counted": "years", "weight": "44", "weighed": "lb"}
        address = reverse("formulary:rule", args=[0, "D002"])
        page = client_of(hire).get(address, given | {"on": "rig:201"} | chosen)
        return unescape(page.content.decode())

    def test_it_is_worked_as_the_service_sets_it(
        self, director: Person, hire: Person, client_of: ClientOf
    ) -> None:
        assert "44 lb / 2.2 = 20 kg" in self.worked(hire, client_of)

        set_so(director)

        said = self.worked(hire, client_of)
        assert "44 lb x 0.45359237 ≈ 19.9581 kg" in said
        assert '<option value="exact" selected>' in said
        assert '<option value="never up" selected>' in said

    def test_another_way_is_chosen_for_one_working(
        self, director: Person, hire: Person, client_of: ClientOf
    ) -> None:
        set_so(director)

        said = self.worked(hire, client_of, pounds="2.2", rounding="half up")

        assert "44 lb / 2.2 = 20 kg" in said
        assert '<details class="more wide" open>' in said
