"""Needs looked through, added and called otherwise, with what each would tie shown before."""

import re
from dataclasses import replace
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from drills.engine.layout import CATEGORIES, StockLine
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import import_layout
from drills.rigs.actions.needs import NeedSaid, change_need
from drills.rigs.models import FurtherAliases, ItemTerms, Need
from drills.rigs.views.needs import ON_A_PAGE
from tests.layouts import BLEEDING, SCENE, practice_rig
from tests.rigs.conftest import NOW, ClientOf, NumQueries

URL, ADD = reverse("rigs:needs"), reverse("rigs:add_need")
ICE = {"name_us": "Ice pack", "aliases": "cold pack; ICE", "category": BLEEDING}


@pytest.fixture
def page(db: None, client_of: ClientOf, keeper: Person) -> Client:
    rows = [
        ("hard-hat", "Hard hat", "Safety helmet", SCENE, ["lid"]),
        ("gauze-roll", "Gauze roll", "Gauze roll", BLEEDING, []),
        ("traffic-cones", "Traffic cones, set", "Road cones, set", SCENE, []),
    ]
    for key, us, other, category, aliases in rows:
        Need.objects.create(
            key=key, name_us=us, name_intl=other, category=category, aliases=aliases
        )
    return client_of(keeper)


@pytest.fixture
def draft(page: Client) -> None:
    """A draft beside what is in force, with a thing that no rule ties."""
    rig = practice_rig()
    import_layout(rig, by=None, now=NOW, publish=True)
    ours = StockLine("S1", "White lid", 1)
    import_layout(replace(rig, stock=(*rig.stock, ours)), by=None, now=NOW)


def text(response: Any) -> str:
    found: str = response.content.decode()
    return found


def seen_in(response: Any) -> str:
    found = re.search(r'name="seen" value="([^"]*)"', text(response))
    assert found, "the page shows nothing to store"
    return found[1]


def stored(page: Client, url: str, given: dict[str, str]) -> Any:
    """Look at what changes, then store it."""
    return page.post(url, given | {"seen": seen_in(page.post(url, given))}, follow=True)


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({}, {"hard-hat", "gauze-roll", "traffic-cones"}),
        ({"find": "HELMET, safety"}, {"hard-hat"}),
        ({"find": "lid"}, {"hard-hat"}),
        ({"find": "gauze-roll"}, {"gauze-roll"}),
        ({"category": SCENE}, {"hard-hat", "traffic-cones"}),
        ({"category": SCENE, "find": "road"}, {"traffic-cones"}),
        ({"category": "no such"}, {"hard-hat", "gauze-roll", "traffic-cones"}),
        ({"whose": "own"}, set()),
        ({"whose": "standard", "find": "roll"}, {"gauze-roll"}),
    ],
)
def test_needs_are_found_by_word_category_and_whose(
    page: Client, asked: dict[str, str], found: set[str]
) -> None:
    shown = text(page.get(URL, asked))

    assert set(re.findall(r"/rigs/needs/([a-z-]+)/\"><b>", shown)) == found


def test_what_a_keeper_calls_it_finds_it_too(page: Client) -> None:
    stored(page, reverse("rigs:need", args=["hard-hat"]), {"aliases": "brain bucket"})

    assert "Hard hat" in text(page.get(URL, {"find": "bucket"}))


def test_a_long_list_comes_in_pages_at_the_same_cost(
    page: Client, django_assert_max_num_queries: NumQueries
) -> None:
    with CaptureQueriesContext(connection) as few:
        page.get(URL)
    Need.objects.bulk_create(
        Need(key=f"thing-{n}", name_us=f"Thing {n:03}", name_intl="x", category=SCENE)
        for n in range(ON_A_PAGE * 2)
    )
    with django_assert_max_num_queries(len(few)):
        first = text(page.get(URL))

    shown = [text(page.get(URL, {"page": str(n)})) for n in (1, 2, 3)]
    keys = [key for each in shown for key in re.findall(r"/rigs/needs/([a-z0-9-]+)/\"><b>", each)]
    assert len(keys) == len(set(keys)) == Need.objects.count()
    assert "Those after" in first


def test_a_need_is_shown_what_it_ties_before_it_is_stored(page: Client, draft: None) -> None:
    given = {"name_us": "White lid", "category": SCENE}

    shown = page.post(ADD, given)

    assert shown.status_code == 200
    assert "1 item of drafts would be tied otherwise" in text(shown)
    assert "waiting, then White lid" in text(shown)
    assert not Need.objects.filter(key__startswith="own-").exists()
    assert ItemTerms.objects.filter(name="White lid", need=None).exists()


def test_once_stored_it_ties_the_items_of_drafts_alone(page: Client, draft: None) -> None:
    ItemTerms.objects.filter(name="Splint").update(need=None)

    response = stored(page, ADD, {"name_us": "White lid", "aliases": "splint", "category": SCENE})

    need = Need.objects.get(key="own-white-lid")
    assert "2 items of drafts tied otherwise." in text(response)
    tied = ItemTerms.objects.filter(need=need).values_list("name", "revision__state")
    assert set(tied) == {("White lid", "draft"), ("Splint", "draft")}


def test_an_own_need_is_all_that_was_said(page: Client, keeper: Person) -> None:
    response = stored(page, ADD, ICE | {"size": "child", "note": "in the freezer"})

    need = Need.objects.get(key="own-ice-pack")
    assert response.redirect_chain == [(reverse("rigs:need", args=["own-ice-pack"]), 302)]
    assert (need.name_intl, need.aliases, need.category, need.size) == (
        "Ice pack",
        ["cold pack", "ICE"],
        BLEEDING,
        "child",
    )
    assert not need.is_controlled
    line = AuditEntry.objects.get(action="add need")
    assert (line.actor, line.subject) == (keeper, "own-ice-pack")
    assert line.after
    assert line.after["aliases"] == ["cold pack", "ICE"]


def test_a_name_that_gives_the_same_key_gets_one_of_its_own(page: Client) -> None:
    for name in ("Icepack", "Ice/pack", "Icep(ack)"):
        stored(page, ADD, {"name_us": name, "category": SCENE} | {"name_intl": f"{name} 2"})

    own = Need.objects.filter(key__startswith="own-").values_list("key", "name_us")
    assert dict(own) == {
        "own-icepack": "Icepack",
        "own-icepack-2": "Ice/pack",
        "own-icepack-3": "Icep(ack)",
    }


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"name_us": ""}, "A need has a name"),
        ({"name_us": "–"}, "A name has letters or figures."),
        ({"name_us": "hard  HAT"}, "hard-hat is called that already."),
        ({"name_intl": "Road cones set"}, "traffic-cones is called that already."),
        ({"category": "kitchen"}, "There is no such category."),
        ({"category": ""}, "A need is of one of the ten categories."),
        ({"aliases": "a; –; b"}, "“–” came in."),
        ({"aliases": "x" * 81}, "An alias has at most 80 characters."),
        ({"aliases": ";".join(f"a{n}" for n in range(21))}, "21 aliases came in."),
    ],
)
def test_what_makes_no_need_is_said_and_nothing_stored(
    page: Client, given: dict[str, str], said: str
) -> None:
    response = page.post(ADD, ICE | given)

    assert response.status_code == 422
    assert said in text(response)
    assert 'name="seen"' not in text(response)
    assert Need.objects.count() == 3


def test_what_was_not_shown_is_not_stored(page: Client, draft: None) -> None:
    for seen in ("", "0" * 16):
        response = page.post(ADD, {"name_us": "White lid", "category": SCENE, "seen": seen})

        assert response.status_code == 422
        assert "What this changes is not what was shown." in text(response)
    assert Need.objects.count() == 3


def test_an_own_need_is_changed_and_keeps_its_key(page: Client, draft: None) -> None:
    stored(page, ADD, {"name_us": "White lid", "category": SCENE})
    url = reverse("rigs:need", args=["own-white-lid"])

    assert "White lid" in text(page.get(url))
    shown = page.post(url, {"name_us": "Snow helmet", "category": BLEEDING})
    assert "White lid, then waiting" in text(shown)
    stored(page, url, {"name_us": "Snow helmet", "category": BLEEDING})

    need = Need.objects.get(key="own-white-lid")
    assert (need.name_us, need.category) == ("Snow helmet", BLEEDING)
    assert ItemTerms.objects.get(name="White lid").need is None


def test_a_standard_need_takes_further_aliases_alone(page: Client, draft: None) -> None:
    url = reverse("rigs:need", args=["hard-hat"])
    before = Need.objects.filter(key="hard-hat").values().get()

    shown = page.post(url, {"aliases": "white LID; lid;  brain   bucket"})
    assert "waiting, then Hard hat" in text(shown)
    stored(page, url, {"aliases": "white LID; lid;  brain   bucket", "name_us": "Mine"})

    assert Need.objects.filter(key="hard-hat").values().get() == before
    assert FurtherAliases.objects.get().words == ["white LID", "brain bucket"]
    assert ItemTerms.objects.get(name="White lid").need == Need.objects.get(key="hard-hat")


def test_taking_the_words_away_unties_what_they_tied(page: Client, draft: None) -> None:
    url = reverse("rigs:need", args=["hard-hat"])
    stored(page, url, {"aliases": "white lid"})

    stored(page, url, {"aliases": ""})

    assert not FurtherAliases.objects.exists()
    assert ItemTerms.objects.get(name="White lid").need is None
    lines = AuditEntry.objects.filter(action="give need aliases").order_by("id")
    assert [line.after and line.after["aliases"] for line in lines] == [["white lid"], []]


def test_a_word_that_two_needs_share_is_said(page: Client) -> None:
    shown = page.post(reverse("rigs:need", args=["gauze-roll"]), {"aliases": "lid"})

    assert "“lid” is also a word of Hard hat." in text(shown)


def test_a_further_alias_ties_at_the_next_import(page: Client) -> None:
    stored(page, reverse("rigs:need", args=["hard-hat"]), {"aliases": "white lid"})
    rig = practice_rig()

    ours = replace(rig, stock=(*rig.stock, StockLine("S1", "White lid", 1)))
    import_layout(ours, by=None, now=NOW)

    assert ItemTerms.objects.get(name="White lid").need == Need.objects.get(key="hard-hat")


def test_a_standard_need_is_not_changed_past_the_page(page: Client, keeper: Person) -> None:
    said = NeedSaid(
        name_us="X",
        name_intl="X",
        aliases=(),
        category=CATEGORIES[0],
        size="",
        is_controlled=False,
        note="",
    )
    with pytest.raises(ValueError, match="hard-hat is a standard need"):
        change_need(Need.objects.get(key="hard-hat"), said, by=keeper, now=NOW)


def test_what_is_tied_to_it_is_listed(page: Client, draft: None) -> None:
    shown = text(page.get(reverse("rigs:need", args=["gauze-roll"])))

    assert shown.count("<b>Gauze roll</b>") == 2


def test_keepers_are_led_here(page: Client) -> None:
    assert f'href="{URL}"' in text(page.get(reverse("rigs:index")))


def test_crew_are_not_led_here(page: Client, client_of: ClientOf, hire: Person) -> None:
    assert URL not in text(client_of(hire).get(reverse("rigs:index")))
