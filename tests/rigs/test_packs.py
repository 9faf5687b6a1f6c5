"""How many of a need one counted unit of an item is: said on the ties page, and remembered."""

from dataclasses import replace

import pytest
from django.test import Client
from django.urls import reverse

from drills.engine.layout import StockLine
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import import_layout
from drills.rigs.models import Item, Need, PackFactor, Revision
from drills.rigs.ties import need_ties
from tests.layouts import BLEEDING, practice_rig
from tests.rigs.conftest import NOW, ClientOf

pytestmark = pytest.mark.django_db

URL = reverse("rigs:ties", args=["practice-rig"])
FLUSH = StockLine("I1A", "Saline flush", 2, "Box", BLEEDING)


def imported(*stock: StockLine, publish: bool = True) -> Revision:
    layout = replace(practice_rig(), stock=stock or (FLUSH,))
    return import_layout(layout, by=None, now=NOW, publish=publish)


@pytest.fixture
def flushes(db: None) -> Revision:
    Need.objects.create(
        key="saline-flush", name_us="Saline flush", name_intl="Flush", category=BLEEDING
    )
    return imported()


@pytest.fixture
def desk(flushes: Revision, client_of: ClientOf, keeper: Person) -> Client:
    return client_of(keeper)


def said(holds: str = "30", **other: str) -> dict[str, str]:
    item = str(Item.objects.get(key="saline flush").pk)
    return {"pack": item, "of": "saline-flush", "unit": "Box", "holds": holds} | other


def holds(revision: Revision) -> int:
    return need_ties(revision)["saline flush"].holds


def test_a_pack_is_said_and_shown(desk: Client, flushes: Revision) -> None:
    assert "1 Box is 1" in desk.get(URL).content.decode()
    number = said()["pack"]
    asked = desk.get(URL, {"pack": number}).content.decode()
    assert "How many in one Box? 1 to 200" in asked
    assert 'name="holds"' in asked

    response = desk.post(URL, said(), follow=True)

    assert response.redirect_chain == [(f"{URL}#pack-{number}", 302)]
    page = response.content.decode()
    assert "One Box of Saline flush is 30, on every layout." in page
    assert "1 Box is <b>30</b>" in page
    assert holds(flushes) == 30


def test_the_audit_says_what_it_was_before(desk: Client, keeper: Person) -> None:
    for number in ("30", "30", "25", "1"):
        assert desk.post(URL, said(number)).status_code == 302

    told = {"need": "saline-flush", "unit": "Box"}
    lines = AuditEntry.objects.filter(action="count pack").order_by("id")
    assert list(lines.values_list("subject", "actor", "before", "after")) == [
        ("Saline flush", keeper.pk, told | {"holds": before}, told | {"holds": after})
        for before, after in ((1, 30), (30, 25), (25, 1))
    ]


@pytest.mark.parametrize("number", ["0", "201", "", "-3", "2.5", "ten", "٣", "9" * 400])
def test_a_number_that_is_none_is_named_and_nothing_is_stored(desk: Client, number: str) -> None:
    response = desk.post(URL, said(number))

    page = response.content.decode()
    assert response.status_code == 422
    assert f"“{number[:40]}” came in for Saline flush. A whole number from 1 to 200" in page
    assert 'name="holds"' in page
    assert not PackFactor.objects.exists()


@pytest.mark.parametrize(
    "other", [{"pack": "0"}, {"pack": "x"}, {"of": "other-need"}, {"unit": "each"}]
)
def test_what_is_not_tied_or_counted_so_is_refused(desk: Client, other: dict[str, str]) -> None:
    assert desk.post(URL, said(**other)).status_code == 422
    assert not PackFactor.objects.exists()


def test_it_is_remembered_at_the_next_import_in_that_unit_alone(desk: Client) -> None:
    desk.post(URL, said())

    assert holds(imported(replace(FLUSH, par=5), publish=False)) == 30
    assert holds(imported(replace(FLUSH, unit="each"), publish=False)) == 1
    page = desk.get(URL).content.decode()
    assert "1 piece is 1" in page
    assert "30 was said of one box" in page


def test_a_revision_in_force_is_counted_by_it_as_well(desk: Client, flushes: Revision) -> None:
    imported(replace(FLUSH, notes="next"), publish=False)
    desk.post(URL, said())

    assert holds(Revision.objects.get(pk=flushes.pk)) == 30


def test_what_is_tied_to_nothing_is_no_pack(client_of: ClientOf, keeper: Person) -> None:
    imported()
    desk = client_of(keeper)
    desk.post(URL, {f"tie-{said()['pack']}": "*none"})

    assert "no standard need" in desk.get(URL).content.decode()
    assert desk.post(URL, said(of="")).status_code == 422
