"""The pages on which a keeper chooses, makes, renews and prints labels."""

import re
from dataclasses import replace
from typing import Any
from unittest.mock import patch
from urllib.parse import parse_qs, urlsplit

import pytest
from django.test import Client
from django.urls import reverse

from drills.engine.labels import FORMATS
from drills.engine.layout import Compartment
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import import_layout, make_labels
from drills.rigs.labels import Code, code_of, label_lines, level_for
from drills.rigs.models import Place, PlaceLabel, Rig
from tests.layouts import demo_layout, practice_rig
from tests.rigs.conftest import FRAGMENT, NOW, ClientOf

DESK, MAKE, RENEW, SHEETS = (
    reverse(f"rigs:{name}", args=["11"])
    for name in ("labels", "make_labels", "renew_labels", "label_sheets")
)
ALL: dict[str, Any] = {"sheet": "a4-2x7", "which": "all", "skip": "0"}
LABEL = re.compile(r"<g transform")
LONG_HOST = "https://readiness.saltbrush-basin-ambulance.example"


@pytest.fixture
def client(rig: Rig, keeper: Person, client_of: ClientOf) -> Client:
    return client_of(keeper)


def sheets_of(client: Client, given: dict[str, Any]) -> str:
    made = client.post(MAKE, given)
    assert made.status_code == 302, made.content.decode()
    return client.get(made["Location"]).content.decode()


@pytest.mark.parametrize(
    ("which", "codes"),
    [
        ("doors", ["S1", "I1", "P1"]),
        ("outer", ["S1", "S1A", "BAG", "I1", "I1A", "I1B", "P1"]),
        ("all", ["S1", "S1A", "BAG", "BAG-L", "BAG-M", "I1", "I1A", "I1B", "P1"]),
    ],
)
def test_prints_the_places_that_were_chosen_in_the_order_of_the_workbook(
    client: Client, rig: Rig, which: str, codes: list[str]
) -> None:
    found = sheets_of(client, ALL | {"which": which})

    assert re.findall(r'<text class="code"[^>]*>([^<]+)<', found) == codes
    assert rig.labels.open().count() == len(codes)
    assert found.count(">Rig 11</text>") == len(codes)


def test_prints_those_that_are_ticked(client: Client, rig: Rig) -> None:
    found = sheets_of(client, ALL | {"which": "ticked", "place": ["I1A", "BAG"]})

    assert re.findall(r'<text class="code"[^>]*>([^<]+)<', found) == ["BAG", "I1A"]
    assert {label.place.key for label in rig.labels.open()} == {"BAG", "I1A"}


def test_a_place_behind_a_lock_gets_no_label_and_is_named_nowhere(
    client: Client, rig: Rig, keeper: Person, hire: Person, client_of: ClientOf
) -> None:
    """What it is called says what is in it. A label from before there was a lock names the lock."""
    drawn = practice_rig()
    tray = Compartment("I1T", "Morphine tray", inside="I1B")
    layout = replace(drawn, compartments=(*drawn.compartments, tray))
    rig.revision = import_layout(layout, by=None, now=NOW, publish=True)
    rig.save()
    (old,) = make_labels(rig, [Place.objects.get(key="I1T")], by=keeper, now=NOW)
    around = PlaceLabel.objects.create(rig=rig, place=Place.objects.get(key="I1"), made_at=NOW)

    refused = client.post(MAKE, ALL | {"which": "ticked", "place": ["I1T"]})
    assert refused.status_code == 422
    assert "Morphine tray" not in refused.content.decode()
    assert "I1T is no place of this rig that gets a label." in refused.content.decode()
    sheets = sheets_of(client, ALL)
    assert "Locked drawer" in sheets
    assert "Morphine tray" not in sheets
    for label in (old, around):
        told = client_of(hire).get(reverse("rigs:label", args=[label.token])).content.decode()
        assert "Locked" in told
        assert "Morphine tray" not in told
        assert "I1T" not in told


def test_a_second_print_makes_no_other_labels(client: Client, rig: Rig) -> None:
    first = sheets_of(client, ALL)
    tokens = set(rig.labels.values_list("token", flat=True))

    again = sheets_of(client, ALL | {"sheet": "letter-2x5"})

    assert set(rig.labels.values_list("token", flat=True)) == tokens
    assert "9 new labels made" in first
    assert "new label" not in again


def test_looking_at_sheets_makes_no_label(client: Client, rig: Rig) -> None:
    sheets_of(client, ALL | {"which": "doors"})

    found = client.get(SHEETS, ALL).content.decode()

    assert rig.labels.count() == 3
    assert "6 of the chosen places have no label yet" in found
    assert len(LABEL.findall(found)) == 3


@pytest.mark.parametrize("key", FORMATS)
def test_no_label_holds_a_style_or_what_is_in_the_place(client: Client, key: str) -> None:
    """The content security policy refuses a style; a print is seen by whoever walks by."""
    found = sheets_of(client, ALL | {"sheet": key})
    drawn = "".join(re.findall(r"<svg class=\"labelsheet.*?</svg>", found, re.DOTALL))

    assert len(LABEL.findall(drawn)) == 9
    assert "style" not in drawn
    for item in ("Midazolam", "Fentanyl", "Tourniquet", "Traffic cone"):
        assert item not in found


def test_a_half_used_sheet_is_filled_up(client: Client) -> None:
    """Nine labels after twelve used of fourteen: two, then seven."""
    found = sheets_of(client, ALL | {"skip": "12"})

    sheets = re.findall(r"<svg class=\"labelsheet.*?</svg>", found, re.DOTALL)
    assert [len(LABEL.findall(sheet)) for sheet in sheets] == [2, 7]
    x, y = FORMATS["a4-2x7"].corner(12)
    assert f'<g transform="translate({x:.3f} {y:.3f})">' in sheets[0]


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"sheet": "a5"}, "a5 is no sheet we know"),
        ({"sheet": ""}, "No sheet was chosen."),
        ({"which": "roof"}, "roof came in. Choose one of the list."),
        ({"which": "ticked"}, "No place is ticked."),
        ({"which": "ticked", "place": "ROOF"}, "ROOF is no place of this rig that gets a label."),
        ({"skip": "x"}, "That is no number of labels."),
        ({"skip": "-1"}, "A number of labels from 0 on is accepted."),
        ({"skip": "14"}, "14 came in. A sheet has 14 labels, so 0 to 13"),
    ],
)
@pytest.mark.parametrize("method", ["post", "get"])
def test_what_makes_no_sheet_is_refused_and_makes_nothing(
    client: Client, given: dict[str, str], said: str, method: str
) -> None:
    url = MAKE if method == "post" else SHEETS

    response = getattr(client, method)(url, ALL | given)

    assert response.status_code == 422
    assert said in response.content.decode()
    assert PlaceLabel.objects.count() == 0


def test_a_choice_that_no_address_can_name_is_refused(client: Client) -> None:
    with patch("drills.rigs.views.labels.LONGEST_QUERY", 60):
        response = client.post(MAKE, ALL | {"which": "ticked", "place": ["I1A", "BAG", "S1"]})

    assert response.status_code == 422
    assert "3 places are ticked, more than one address can name" in response.content.decode()
    assert PlaceLabel.objects.count() == 0


def test_a_refit_between_page_and_press_is_told_and_makes_nothing(
    client: Client, rig: Rig, keeper: Person
) -> None:
    """The rig has lost a drawer when the labels are made that was there when they were chosen."""

    def refitted(*args: Any, **how: Any) -> list[PlaceLabel]:
        drawn = practice_rig()
        fewer = [each for each in drawn.compartments if each.code != "I1A"]
        stock = [line for line in drawn.stock if line.compartment != "I1A"]
        layout = replace(drawn, compartments=tuple(fewer), stock=tuple(stock))
        new = import_layout(layout, by=None, now=NOW, publish=True)
        Rig.objects.update(revision=new)
        return make_labels(*args, **how)

    with patch("drills.rigs.views.labels.actions.make_labels", refitted):
        response = client.post(MAKE, ALL)

    found = response.content.decode()
    assert response.status_code == 422
    assert "Rig 11 was refitted meanwhile. Choose again from the places it has now." in found
    assert 'value="I1A"' not in found
    assert 'value="I1B"' in found
    assert PlaceLabel.objects.count() == 0


def test_what_was_chosen_stands_there_after_a_refusal(client: Client) -> None:
    found = client.post(
        MAKE, {"sheet": "letter-3x10", "which": "ticked", "place": ["BAG"], "skip": "99"}
    ).content.decode()

    for name, value in (("sheet", "letter-3x10"), ("which", "ticked"), ("place", "BAG")):
        assert re.search(rf'name="{name}" value="{value}" checked', found)
    assert 'value="99"' in found


def test_the_address_of_sheets_names_what_was_chosen(client: Client) -> None:
    made = client.post(MAKE, ALL | {"which": "ticked", "place": ["I1A"], "skip": "2"})

    assert parse_qs(urlsplit(made["Location"]).query) == {
        "sheet": ["a4-2x7"],
        "which": ["ticked"],
        "skip": ["2"],
        "place": ["I1A"],
    }


def test_renews_one_label_and_says_what_to_do(client: Client, rig: Rig) -> None:
    sheets_of(client, ALL)
    old = rig.labels.get(place__key="I1A")

    response = client.post(RENEW, {"place": "I1A"}, follow=True)

    assert "1 label is dead from now on. Print the new one." in response.content.decode()
    old.refresh_from_db()
    assert old.ended_at is not None
    assert rig.labels.open().count() == 9


def test_renews_every_label_of_the_rig(client: Client, rig: Rig) -> None:
    sheets_of(client, ALL)

    response = client.post(RENEW, {"every": "1"}, headers=FRAGMENT)

    assert response["HX-Redirect"] == DESK
    assert rig.labels.count() == 18
    assert rig.labels.open().count() == 9


@pytest.mark.parametrize("given", [{}, {"place": ""}, {"place": "S1"}, {"place": "ROOF"}])
def test_renewing_what_has_no_label_is_refused(
    client: Client, rig: Rig, given: dict[str, str]
) -> None:
    """An empty choice above all never means the whole rig."""
    sheets_of(client, ALL | {"which": "ticked", "place": ["I1A"]})
    told = AuditEntry.objects.count()

    response = client.post(RENEW, given)

    assert response.status_code == 422
    assert "No label was chosen that is in force" in response.content.decode()
    assert rig.labels.open().count() == 1
    assert AuditEntry.objects.count() == told


def test_warns_of_a_sheet_whose_codes_are_too_small_for_arms_length(client: Client) -> None:
    """By the address that would be printed: a longer one makes smaller modules."""
    found = client.get(DESK).content.decode()

    (warned,) = re.findall(r"<b>([^<]*)</b><small[^>]*>[^<]*<span class=\"warn\">", found)
    assert warned.startswith("Letter labels, 3")
    assert "http://testserver/rigs/l/" in found


def test_a_common_address_takes_a_code_of_version_4() -> None:
    """What the guide says; host names of up to 29 letters."""
    form = FORMATS["a4-3x8"]

    def made(host: str) -> Code:
        address = f"https://{host}/rigs/l/{'A' * 16}/"
        return code_of(address, form, level_for(address, form))

    assert (made("readiness.example.org").version, made("h" * 29).version) == (4, 4)
    assert made("h" * 30).version == 5
    assert made("readiness.example.org").is_in_reach


def test_every_place_of_the_demonstration_has_its_words_whole(
    client: Client, client_of: ClientOf
) -> None:
    """No name of the demonstration is cut short or broken, on the smallest label either."""
    for name in ("mesa-box", "arroyo-van", "first-response-truck"):
        for form in FORMATS.values():
            for place in demo_layout(name).compartments:
                lines = label_lines(form, place, "201")
                said = " ".join(line.text for line in lines if line.kind == "name")
                assert said == " ".join(place.name.split()), (form.key, place.code)


def test_knows_no_other_rig(client: Client) -> None:
    assert client.get(reverse("rigs:labels", args=["99"])).status_code == 404


@pytest.mark.parametrize("url", [DESK, SHEETS])
def test_is_for_keepers_alone(hire: Person, rig: Rig, client_of: ClientOf, url: str) -> None:
    assert client_of(hire).get(url).status_code == 403
    assert Client().get(url)["Location"].startswith(reverse("people:sign_in"))


def test_the_keeper_finds_labels_beside_each_rig(client: Client, hire: Person) -> None:
    link = f'href="{DESK}"'

    assert link in client.get(reverse("rigs:index")).content.decode()
    client.force_login(hire)
    assert link not in client.get(reverse("rigs:index")).content.decode()
