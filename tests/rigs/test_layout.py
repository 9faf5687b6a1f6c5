"""The drawing of a layout, searched, reached and opened."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from drills.demo.factories import published
from drills.engine.layout import Compartment, StockLine
from drills.people.models import Person
from drills.rigs.actions import import_layout
from drills.rigs.models import Rig
from tests.layouts import BLEEDING, DEMO_LAYOUTS, demo_layout, practice_rig
from tests.rigs.conftest import FRAGMENT, NOW, ClientOf

URL = reverse("rigs:layout", args=["practice-rig"])


def page(client: Client, url: str = URL, **asked: str) -> str:
    return client.get(url, asked).content.decode()


def test_draws_every_door_as_a_link(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    found = page(client_of(hire))

    for code in ("S1", "I1", "P1"):
        assert f"open={code}" in found
    assert 'name="place"' not in found


@pytest.mark.parametrize("name", DEMO_LAYOUTS)
def test_draws_every_layout_of_the_demonstration(
    client_of: ClientOf, hire: Person, name: str
) -> None:
    layout = demo_layout(name)
    published(layout)

    found = page(client_of(hire), reverse("rigs:layout", args=[layout.slug]))

    for top in layout.children[""]:
        assert f"open={top.code}" in found


def test_opens_a_door_with_par(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    found = page(client_of(hire), open="S1")

    assert "Traffic cone" in found
    assert "par <b>4</b>" in found
    assert 'id="place-BAG-M"' in found
    assert "Midazolam" not in found


def test_a_pocket_opens_its_door(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    assert "Traffic cone" in page(client_of(hire), open="BAG-M")


def test_opens_a_door_to_any_depth(client_of: ClientOf, hire: Person) -> None:
    rig = practice_rig()
    deep = tuple(
        Compartment(f"BAG-M{'X' * n}", f"Pouch {n}", inside=f"BAG-M{'X' * (n - 1)}")
        for n in range(1, 6)
    )
    line = StockLine(deep[-1].code, "Deep needle", 3)
    published(replace(rig, compartments=(*rig.compartments, *deep), stock=(*rig.stock, line)))

    found = page(client_of(hire), open="S1", find="deep needle")

    for each in deep:
        assert f'href="#place-{each.code}"' in found
        assert f'id="place-{each.code}"' in found
    assert f'class="place d6" id="place-{deep[-1].code}"' in found
    assert re.search(
        r'class="cell leaf hot" href="#place-BAG-MXXXXX">.*?here: </span>1<', found, re.DOTALL
    )


def test_shows_what_is_locked_to_the_crew_and_never_prints_it(
    client_of: ClientOf, hire: Person, rig: Rig
) -> None:
    found = page(client_of(hire), open="I1")

    assert "Fentanyl" in found
    assert 'behind-lock" id="place-I1B"' in found
    assert 'behind-lock" id="place-I1A"' not in found


def test_shows_what_is_fixed(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    assert "Oxygen outlet" in page(client_of(hire), open="P1")


def test_finds_each_place_of_a_thing_and_numbers_it(
    client_of: ClientOf, hire: Person, rig: Rig
) -> None:
    found = page(client_of(hire), find="tourni")

    assert found.count("<b>Tourniquet</b>") == 2
    assert '<span class="vh">here: </span>1' in found
    assert '<span class="vh">here: </span>2' in found
    assert "finding" in found


def test_finds_every_place_of_the_closest_thing_however_many(
    client_of: ClientOf, hire: Person
) -> None:
    rig = practice_rig()
    doors = tuple(Compartment(f"R{n}", f"Bin {n}", face="rear") for n in range(1, 15))
    lines = tuple(StockLine(each.code, "Tourniquet", 1, category=BLEEDING) for each in doors)
    published(replace(rig, compartments=(*rig.compartments, *doors), stock=(*rig.stock, *lines)))

    found = page(client_of(hire), find="tourniquet")

    assert found.count("<b>Tourniquet</b>") == 16
    assert "Add a word" not in found
    for number in range(1, 17):
        assert f"here: </span>{number}<" in found


def test_the_name_that_was_written_comes_before_longer_ones(
    client_of: ClientOf, hire: Person
) -> None:
    rig = practice_rig()
    longer = StockLine("S1", "Splint, vacuum", 1, critical=True)
    published(replace(rig, stock=(longer, *rig.stock)))

    found = page(client_of(hire), find="Splint")

    assert found.index("<b>Splint</b>") < found.index("<b>Splint, vacuum</b>")


def test_finds_outlets_and_controls_and_lights_their_sign(
    client_of: ClientOf, hire: Person, rig: Rig
) -> None:
    found = page(client_of(hire), find="oxygen out")

    assert "<b>Oxygen outlet</b>" in found
    assert '<span class="num">fixed</span>' in found
    assert re.search(r'class="point x4 y5 w1 h1 hot" aria-hidden="true">a<', found)


def test_finds_by_an_alias(client_of: ClientOf, hire: Person) -> None:
    layout = demo_layout("mesa-box")
    published(layout)

    found = page(
        client_of(hire), reverse("rigs:layout", args=[layout.slug]), find="on-board suction"
    )

    assert "<b>Fixed suction unit with regulator</b>" in found


def test_what_was_found_behind_a_lock_is_kept_off_paper(
    client_of: ClientOf, hire: Person, rig: Rig
) -> None:
    found = page(client_of(hire), find="midazolam")

    assert '<li class="behind-lock"><span class="bal">1</span>' in found
    assert 'class="behind-lock"' not in page(client_of(hire), find="tourniquet")


def test_what_was_found_and_the_way_out_of_a_search_are_48_px_high(
    client_of: ClientOf, hire: Person, rig: Rig
) -> None:
    found = page(client_of(hire), find="tourniquet")

    assert re.search(r'<a class="quietlink" href="[^"]*">Clear the search</a>', found)
    sheet = Path("drills/static/drills/readiness.css").read_text()
    for rule in (r"\.founds a", r"\.quietlink"):
        assert re.search(rf"{rule} {{[^}}]*min-height: 48px", sheet)


def test_a_door_tells_its_signs_to_those_who_hear_the_page(
    client_of: ClientOf, hire: Person, rig: Rig
) -> None:
    found = page(client_of(hire), open="I1")

    assert 'Wall cabinet<span class="vh">, holds 2 places</span>' in found
    assert 'Locked drawer<span class="vh">, drawer, sealed, locked</span>' in found


def test_says_what_was_opened_and_found(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    found = page(client_of(hire), open="S1", find="tourni")

    told = re.search(r'data-told="([^"]*)"', found)
    assert told
    assert told[1] == (
        "2 places found, numbered on the drawing. S1 Street cabinet is open: 7 lines, 3 critical."
    )


def test_leads_to_its_print(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    assert f'href="{reverse("rigs:paper", args=["practice-rig", 1])}"' in page(client_of(hire))


def test_says_when_nothing_is_found(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    found = page(client_of(hire), find="piano")

    assert "Nothing on this rig is called that" in found
    assert "here: " not in found


def test_shows_a_sensible_number_of_places(client_of: ClientOf, hire: Person) -> None:
    layout = demo_layout("mesa-box")
    published(layout)

    found = page(client_of(hire), reverse("rigs:layout", args=[layout.slug]), find="a")

    assert len(re.findall(r'<li( class="behind-lock")?><span class="bal">', found)) == 9
    assert "Add a word to see fewer" in found


def test_shows_belted_reach(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    client = client_of(hire)

    assert " belt" not in page(client).replace("belted", "")
    assert 'cell x10 y4 w4 h4 t1 t2 belt"' in page(client, seat="SEAT")


def test_what_it_does_not_have_is_left_out(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    asked = {"open": "NONE", "seat": "NONE", "face": "none", "find": "x" * 500}

    response = client_of(hire).get(URL, asked)

    assert response.status_code == 200
    assert "Choose a compartment on the drawing" in response.content.decode()


def test_shows_the_face_that_was_found_first(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    found = page(client_of(hire), find="gauze")

    assert 'value="interior-curb" checked' in found


def test_answers_htmx_with_the_sheet_alone(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    client = client_of(hire)
    whole = client.get(URL, {"open": "S1"}).content.decode()
    part = client.get(URL, {"open": "S1"}, headers=FRAGMENT).content.decode()

    assert "<html" in whole
    assert "<html" not in part
    assert part.strip() in whole


def test_is_closed_while_an_assessed_prompt_is_open(
    client_of: ClientOf, assessed_hire: Person, rig: Rig
) -> None:
    response = client_of(assessed_hire).get(URL)

    found = response.content.decode()
    assert response.status_code == 403
    assert "An assessed prompt of yours is open" in found
    assert reverse("boards:drills") in found


def test_a_draft_is_not_in_force(client_of: ClientOf, keeper: Person) -> None:
    import_layout(practice_rig(), by=keeper, now=NOW)

    assert client_of(keeper).get(URL).status_code == 404


def test_is_only_read(client_of: ClientOf, hire: Person, rig: Rig) -> None:
    assert client_of(hire).post(URL).status_code == 405


def test_is_nothing_for_a_stranger(rig: Rig) -> None:
    assert Client().get(URL)["Location"].startswith(reverse("people:sign_in"))
