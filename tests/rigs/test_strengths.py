"""Ties of a medicine in another strength: told, asked for twice, marked, and never for doses."""

import re
from dataclasses import replace

import pytest
from django.test import Client
from django.urls import reverse

from drills.engine.layout import StockLine
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import import_layout
from drills.rigs.carried import carried_by
from drills.rigs.models import Item, Need, Revision, TieDecision
from drills.rigs.photographed import controlled_items
from drills.rigs.ties import need_ties
from drills.rigs.views.ties import WAITING_SHOWN
from tests.layouts import MEDICINES, practice_rig
from tests.rigs.conftest import NOW, ClientOf

pytestmark = pytest.mark.django_db

URL = reverse("rigs:ties", args=["practice-rig"])
APART = "1 mg/mL here, 0.1 mg/mL there"
EPI = "Epinephrine 1 mg / 1 mL ampoule"


@pytest.fixture
def needs(db: None) -> dict[str, Need]:
    rows = [
        ("epinephrine-syringe", "Epinephrine, cardiac syringe", "1 mg / 10 mL", "epinephrine"),
        ("midazolam", "Midazolam", "10 mg / 2 mL", "midazolam"),
        ("saline-1000", "Normal saline", "1000 mL", "normal-saline"),
    ]
    return {
        key: Need.objects.create(
            key=key,
            name_us=name,
            name_intl=name,
            category=MEDICINES,
            size=size,
            medicine=medicine,
            is_controlled=key == "midazolam",
        )
        for key, name, size, medicine in rows
    }


def line(name: str, presentation: str = "", par: int = 2) -> StockLine:
    return StockLine("I1A", name, par, "vial", MEDICINES, presentation=presentation)


def imported(*stock: StockLine, publish: bool = True) -> Revision:
    layout = replace(practice_rig(), stock=stock)
    return import_layout(layout, by=None, now=NOW, publish=publish)


@pytest.fixture
def ampoules(needs: dict[str, Need]) -> Revision:
    """A rig with an ampoule whose need is packed otherwise."""
    return imported(line(EPI, "1 mg / 1 mL"))


@pytest.fixture
def desk(client_of: ClientOf, keeper: Person) -> Client:
    return client_of(keeper)


def field(kind: str = "tie", name: str = EPI) -> str:
    return f"{kind}-{Item.objects.get(name=name).pk}"


def shown(desk: Client) -> str:
    return desk.get(URL).content.decode()


def across(desk: Client) -> None:
    desk.post(URL, {field("need"): "epinephrine-syringe", field("across"): APART})


def test_another_strength_is_told_and_never_suggested(ampoules: Revision, desk: Client) -> None:
    page = shown(desk)

    assert "The same medicine, another strength" in page
    assert f"Epinephrine, cardiac syringe: {APART}" in page
    assert f'name="{field()}" value="*own epinephrine"' in page
    assert f'name="{field()}" value="epinephrine-syringe"' not in page
    assert "No need is alike enough" not in page
    assert need_ties(ampoules) == {}


def test_its_own_strength_is_no_need_and_counts_for_doses(ampoules: Revision, desk: Client) -> None:
    assert carried_by(ampoules).of_medicine("epinephrine") == ()

    desk.post(URL, {field(): "*own epinephrine"})

    decided = TieDecision.objects.get()
    assert (decided.need, decided.medicine, decided.strengths) == (None, "epinephrine", "")
    (found,) = carried_by(ampoules).of_medicine("epinephrine")
    assert (found.item, found.count) == (EPI.casefold(), 2)
    assert AuditEntry.objects.get(action="tie item").after == {
        "need": "",
        "medicine": "epinephrine",
    }
    page = shown(desk)
    assert "epinephrine, its own strength" in page
    assert "Nothing waits." in page


def test_a_tie_across_strengths_is_asked_for_twice(ampoules: Revision, desk: Client) -> None:
    once = desk.post(URL, {field("need"): "Epinephrine, cardiac syringe"})

    page = once.content.decode()
    assert once.status_code == 422
    assert "1 answer ties a medicine to another strength. Nothing is stored yet" in page
    assert f"Epinephrine, cardiac syringe is of another strength: {APART}." in page
    assert f'type="checkbox" name="{field("across")}" value="{APART}"' in page
    assert 'value="Epinephrine, cardiac syringe"' in page
    assert not TieDecision.objects.exists()
    assert not AuditEntry.objects.filter(action="tie item").exists()

    twice = desk.post(URL, {field("need"): "Epinephrine, cardiac syringe", field("across"): APART})

    assert twice.status_code == 302
    assert need_ties(ampoules)[EPI.casefold()].need == "epinephrine-syringe"
    assert AuditEntry.objects.get(action="tie item").after == {
        "need": "epinephrine-syringe",
        "strengths": APART,
    }


@pytest.mark.parametrize("said", ["", "yes", "on", "0.1 mg/mL here, 1 mg/mL there"])
def test_nothing_but_both_strengths_confirms(ampoules: Revision, desk: Client, said: str) -> None:
    response = desk.post(URL, {field("need"): "epinephrine-syringe", field("across"): said})

    assert response.status_code == 422
    assert not TieDecision.objects.exists()


def test_what_else_came_in_waits_with_it(needs: dict[str, Need], desk: Client) -> None:
    imported(line(EPI, "1 mg / 1 mL"), line("Odd vial"))

    page = desk.post(
        URL, {field("need"): "epinephrine-syringe", field(name="Odd vial"): "*none"}
    ).content.decode()

    assert f'name="{field(name="Odd vial")}" value="*none" checked' in page
    assert not TieDecision.objects.exists()


def test_it_is_marked_ever_after_and_serves_no_dose(ampoules: Revision, desk: Client) -> None:
    across(desk)

    page = shown(desk)
    assert "Tied across strengths <span>1 item</span>" in page
    assert f"another strength: {APART}; never for doses" in page
    assert "nobody has confirmed" not in page
    found = carried_by(ampoules)
    assert found.of_medicine("epinephrine") == found.of_need("epinephrine-syringe") == ()
    assert [each.need for each in found.for_kits_alone("epinephrine")] == ["epinephrine-syringe"]


def test_a_strength_that_changes_later_is_marked_as_confirmed_by_nobody(
    ampoules: Revision, desk: Client
) -> None:
    across(desk)

    imported(line(EPI, "2 mg / 1 mL"), publish=False)

    page = shown(desk)
    assert "2 mg/mL here, 0.1 mg/mL there; nobody has confirmed these two" in page


def test_a_need_column_across_strengths_is_marked_too(needs: dict[str, Need], desk: Client) -> None:
    revision = imported(replace(line(EPI, "1 mg / 1 mL"), need="epinephrine-syringe"))

    page = shown(desk)

    assert f"{APART}; tied by key, nobody was asked" in page
    assert carried_by(revision).of_medicine("epinephrine") == ()


def test_the_same_strength_in_another_volume_is_offered_and_serves_doses(
    needs: dict[str, Need], desk: Client
) -> None:
    revision = imported(line("Midazolam", "50 mg / 10 mL"))
    page = shown(desk)
    assert "packed otherwise: 5 mg/mL in 10 mL here, 5 mg/mL in 2 mL there" in page
    assert need_ties(revision) == {}

    response = desk.post(URL, {field(name="Midazolam"): "midazolam"})

    assert response.status_code == 302
    assert "as strong, another volume: 10 mL here, 2 mL there" in shown(desk)
    assert "Tied across strengths" not in shown(desk)
    assert len(carried_by(revision).of_need("midazolam")) == 1


def test_a_medicine_of_no_written_strength_is_told_so(needs: dict[str, Need], desk: Client) -> None:
    imported(line("Midazolam"))

    page = shown(desk)

    assert "no strength is written here" in page
    assert "Midazolam: 5 mg/mL there" in page
    assert "*own" not in page


@pytest.mark.parametrize(
    ("name", "choice", "said"),
    [
        (EPI, "*own no-such-medicine", "“no-such-medicine” came in."),
        (EPI, "*own ", "“” came in."),
        ("Odd vial", "*own epinephrine", "No strength is written for this item."),
    ],
)
def test_a_strength_of_its_own_is_of_a_known_medicine_and_written(
    needs: dict[str, Need], desk: Client, name: str, choice: str, said: str
) -> None:
    imported(line(EPI, "1 mg / 1 mL"), line("Odd vial"))

    response = desk.post(URL, {field(name=name): choice})

    assert response.status_code == 422
    assert said in response.content.decode()
    assert not TieDecision.objects.exists()


def test_what_is_controlled_is_so_in_a_strength_of_its_own(
    needs: dict[str, Need], desk: Client
) -> None:
    """By its need, not by its name, which here says nothing of it."""
    revision = imported(line("House vial M", "5 mg / 5 mL"))
    key = "house vial m"
    assert controlled_items(revision, {key}) == set()

    desk.post(URL, {field(name="House vial M"): "*own midazolam"})

    assert controlled_items(revision, {key}) == {key}


def test_a_decision_across_strengths_can_be_taken_again(ampoules: Revision, desk: Client) -> None:
    across(desk)
    number = field().removeprefix("tie-")

    page = desk.get(URL, {"again": number}).content.decode()
    assert "Leave it as it is: Epinephrine, cardiac syringe" in page
    desk.post(URL, {field(): "*own epinephrine"})

    decided = TieDecision.objects.get()
    assert (decided.need, decided.medicine, decided.strengths) == (None, "epinephrine", "")
    again = desk.get(URL, {"again": number}).content.decode()
    assert "Leave it as it is: epinephrine in its own strength" in again


def test_a_stranger_to_the_page_cannot_confirm_for_another_item(
    ampoules: Revision, desk: Client
) -> None:
    response = desk.post(URL, {"across-0": APART, field(): "*none"})

    assert response.status_code == 422
    assert re.search("“across-0” came in", response.content.decode())
    assert not TieDecision.objects.exists()


def test_what_is_not_kept_stands_before_all_that_waits(
    needs: dict[str, Need], desk: Client
) -> None:
    """However many wait: what asks to be confirmed is in sight."""
    many = (line(f"Thing {each}") for each in range(WAITING_SHOWN + 5))
    imported(*many, line("Zeta epinephrine", "1 mg / 1 mL"))

    page = desk.post(URL, {field("need", "Zeta epinephrine"): "epinephrine-syringe"})

    assert field("across", "Zeta epinephrine") in page.content.decode()
