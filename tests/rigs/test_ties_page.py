"""The page on which a keeper says what each item is."""

import re
from dataclasses import replace

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from drills.engine.layout import StockLine
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import import_layout
from drills.rigs.models import Item, ItemTerms, Need, Rig, TieDecision
from drills.rigs.views.ties import WAITING_SHOWN
from tests.layouts import BLEEDING, SCENE, practice_rig
from tests.rigs.conftest import NOW, ClientOf, NumQueries

URL = reverse("rigs:ties", args=["practice-rig"])


@pytest.fixture
def needs(db: None) -> dict[str, Need]:
    rows = [
        ("gauze-roll", "Gauze roll", "Gauze roll", BLEEDING),
        ("limb-tourniquet", "Limb tourniquet", "Limb tourniquet", BLEEDING),
        ("traffic-cones", "Traffic cones, set", "Road cones, set", SCENE),
        ("hard-hat", "Hard hat", "Safety helmet", SCENE),
    ]
    return {
        key: Need.objects.create(key=key, name_us=us, name_intl=other, category=kind)
        for key, us, other, kind in rows
    }


@pytest.fixture
def page(needs: dict[str, Need], rig: Rig, client_of: ClientOf, keeper: Person) -> Client:
    """The keeper's browser, with the practice rig in force."""
    return client_of(keeper)


def number(key: str) -> int:
    return Item.objects.get(key=key).pk


def field(key: str, kind: str = "tie") -> str:
    return f"{kind}-{number(key)}"


def test_asks_about_what_no_rule_ties(page: Client) -> None:
    found = page.get(URL).content.decode()

    assert "10 items" not in found
    assert f"{ItemTerms.objects.filter(need=None).count()} items" in found
    assert f'name="{field("tourniquet")}" value="limb-tourniquet"' in found
    assert f'name="{field("gauze roll")}"' not in found
    assert "by name" in found
    assert "Road cones, set" in found
    assert 'role="alert"><p>' not in found


def test_many_are_decided_in_one_send(page: Client, needs: dict[str, Need]) -> None:
    response = page.post(
        URL,
        {
            field("tourniquet"): "limb-tourniquet",
            field("traffic cone"): "*none",
            field("splint"): "*other",
            field("splint", "need"): "hard-hat",
            field("fentanyl"): "",
        },
        follow=True,
    )

    assert response.redirect_chain == [(URL, 302)]
    assert "3 items decided, on every layout." in response.content.decode()
    decided = TieDecision.objects.values_list("item__key", "need__key", "decided_by__name")
    assert set(decided) == {
        ("tourniquet", "limb-tourniquet", "Kay Keeper"),
        ("traffic cone", None, "Kay Keeper"),
        ("splint", "hard-hat", "Kay Keeper"),
    }


@pytest.mark.parametrize("words", ["hard-hat", "Hard hat", " SAFETY  helmet "])
def test_another_need_is_named_by_key_or_either_name(page: Client, words: str) -> None:
    page.post(URL, {field("splint", "need"): words})

    assert TieDecision.objects.get().need == Need.objects.get(key="hard-hat")


@pytest.mark.parametrize(
    ("choice", "words", "said"),
    [
        ("no-such-need", "", "“no-such-need” came in."),
        ("*other", "", "Another need was chosen and none named."),
        ("*other", "a thing <b>unknown", "“a thing <b>unknown” came in."),
        ("limb-tourniquet", "Hard hat", "Two answers came in"),
        ("*none", "Hard hat", "Two answers came in"),
        ("x" * 90, "", "came in. Choose one of the needs"),
    ],
)
def test_what_makes_no_sense_is_named_and_nothing_is_stored(
    page: Client, choice: str, words: str, said: str
) -> None:
    response = page.post(
        URL,
        {
            field("traffic cone"): "traffic-cones",
            field("splint"): choice,
            field("splint", "need"): words,
        },
    )

    found = response.content.decode()
    assert response.status_code == 422
    assert "1 answer cannot be kept. Nothing is stored." in found
    assert escape(said) in found
    assert 'value="traffic-cones" checked' in found
    assert TieDecision.objects.count() == 0
    assert not AuditEntry.objects.filter(action="tie item").exists()


@pytest.mark.parametrize("name", ["tie-0", "tie-x", "tie-", "need-" + "9" * 500])
def test_an_item_that_is_not_asked_about_is_named(page: Client, name: str) -> None:
    response = page.post(URL, {name: "hard-hat", field("splint"): "hard-hat"})

    assert response.status_code == 422
    assert f"“{name[:40]}” came in." in response.content.decode()
    assert TieDecision.objects.count() == 0


def test_what_a_rule_ties_is_not_decided_here(page: Client) -> None:
    response = page.post(URL, {field("gauze roll"): "hard-hat"})

    assert response.status_code == 422
    assert TieDecision.objects.count() == 0


def test_sending_nothing_asks_for_something(page: Client) -> None:
    response = page.post(URL, {field("splint"): "", field("splint", "need"): " "})

    assert response.status_code == 422
    assert "Nothing is chosen yet." in response.content.decode()


def test_a_decision_can_be_taken_again(page: Client) -> None:
    page.post(URL, {field("splint"): "*none"})
    listed = page.get(URL).content.decode()

    assert f'name="{field("splint")}"' not in listed
    assert f"?again={number('splint')}" in listed
    asked = page.get(URL, {"again": number("splint")}).content.decode()
    assert f'name="{field("splint")}"' in asked
    assert "Leave it as it is: no standard need" in asked
    page.post(URL, {field("splint"): "hard-hat"})
    assert TieDecision.objects.get().need == Need.objects.get(key="hard-hat")


def test_what_was_chosen_again_is_shown_beside_a_fault(page: Client) -> None:
    page.post(URL, {field("splint"): "*none"})

    response = page.post(URL, {field("splint", "need"): "hard-hat", field("fentanyl"): "wrong"})

    assert response.status_code == 422
    assert 'value="hard-hat"' in response.content.decode()
    assert f'name="{field("splint")}"' in response.content.decode()


def test_two_items_tied_to_one_need_are_shown(page: Client) -> None:
    assert "Tied twice" not in page.get(URL).content.decode()

    page.post(URL, {field("splint"): "hard-hat", field("fentanyl", "need"): "hard-hat"})

    found = page.get(URL).content.decode()
    assert "Tied twice" in found
    assert "Fentanyl; Splint" in found


def test_nothing_waits_once_all_is_decided(page: Client) -> None:
    waiting = ItemTerms.objects.filter(need=None).values_list("item", flat=True)
    page.post(URL, {f"tie-{each}": "*none" for each in waiting})

    assert "Nothing waits." in page.get(URL).content.decode()


def test_a_draft_is_asked_about_beside_what_is_in_force(page: Client) -> None:
    rig = practice_rig()
    draft = replace(rig, stock=(*rig.stock[1:], StockLine("S1", "New thing", 1)))
    import_layout(draft, by=None, now=NOW)

    found = page.get(URL).content.decode()

    assert "New thing" in found
    assert f'name="{field("traffic cone")}"' in found
    assert "of rev. 2, draft" in found


def test_a_long_list_comes_in_parts(page: Client, django_assert_num_queries: NumQueries) -> None:
    rig = practice_rig()
    many = (StockLine("S1", f"Thing {each}", 1) for each in range(WAITING_SHOWN + 30))
    import_layout(replace(rig, stock=(*rig.stock, *many)), by=None, now=NOW, publish=True)
    waiting = ItemTerms.objects.filter(revision__state="published", need=None).count()

    page.get(URL)  # the first page of a process looks for revisions whose day has come

    with django_assert_num_queries(10):
        found = page.get(URL).content.decode()

    assert found.count("<fieldset") == WAITING_SHOWN
    assert f"{waiting - WAITING_SHOWN} more come after these." in found


def test_a_layout_that_is_not_there_is_said(page: Client) -> None:
    assert page.get(reverse("rigs:ties", args=["no-such-rig"])).status_code == 404


@pytest.mark.parametrize("name", ["rigs:layout", "rigs:import"])
def test_keepers_are_led_here_with_the_count(page: Client, name: str) -> None:
    import_layout(replace(practice_rig(), notes="next"), by=None, now=NOW)
    waiting = ItemTerms.objects.filter(revision__number=2, need=None).count()

    found = page.get(reverse(name, args=["practice-rig"] if name == "rigs:layout" else []))

    assert f'href="{URL}">Needs and ties: {waiting} waiting</a>' in found.content.decode()


def test_crew_are_not_led_here(rig: Rig, client_of: ClientOf, hire: Person) -> None:
    found = client_of(hire).get(reverse("rigs:layout", args=["practice-rig"]))

    assert URL not in found.content.decode()


def confirmable(page: Client) -> dict[str, str]:
    """What one button confirms: fields once all of it is ticked."""
    found = page.get(URL).content.decode()
    pairs = re.findall(r'type="checkbox" name="(tie-\d+)" value="([^"]+)"', found)
    return dict(pairs)


def test_likely_ones_are_confirmed_together(page: Client) -> None:
    found = page.get(URL).content.decode()
    fields = confirmable(page)

    assert fields == {field("tourniquet"): "limb-tourniquet"}
    assert "Words alike to 80 % or more" in found
    assert "100 % alike; the same category" in found
    page.post(URL, fields)
    decided = TieDecision.objects.values_list("item__key", "need__key")
    assert dict(decided) == {"tourniquet": "limb-tourniquet"}
    assert confirmable(page) == {}


def test_nothing_is_ticked_before_its_keeper_ticks_it(page: Client) -> None:
    found = page.get(URL).content.decode()

    assert confirmable(page)
    assert not re.search(r'type="checkbox" name="tie-[^>]* checked', found)


def test_a_need_of_a_size_that_the_item_does_not_say_is_not_confirmed_together(
    page: Client,
) -> None:
    Need.objects.filter(key="limb-tourniquet").update(size="adult")

    found = page.get(URL).content.decode()

    assert confirmable(page) == {}
    assert "the item does not say adult" in found


def test_what_is_asked_together_is_not_asked_again_below(page: Client) -> None:
    found = page.get(URL).content.decode()
    assert found.count(f'name="{field("tourniquet")}"') == 1

    alone = page.get(URL, {"again": number("tourniquet")}).content.decode()

    assert alone.count(f'type="radio" name="{field("tourniquet")}"') > 1
    assert f'type="checkbox" name="{field("tourniquet")}"' not in alone


def test_a_need_likely_for_two_items_is_confirmed_of_none(page: Client) -> None:
    rig = practice_rig()
    other = StockLine("S1", "Tourniquet, limb, spare", 1, category=BLEEDING)
    import_layout(replace(rig, stock=(*rig.stock, other)), by=None, now=NOW)

    assert field("tourniquet") not in confirmable(page)


def test_a_need_that_is_tied_already_is_confirmed_of_no_other(page: Client) -> None:
    page.post(URL, {field("splint", "need"): "limb-tourniquet"})

    assert field("tourniquet") not in confirmable(page)


def test_one_of_two_alike_is_confirmed_by_itself_alone(page: Client) -> None:
    Need.objects.create(
        key="arm-tourniquet", name_us="Arm tourniquet", name_intl="x", category=BLEEDING
    )

    assert field("tourniquet") not in confirmable(page)


def test_one_less_alike_than_stated_is_not_confirmed_together(
    page: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("drills.rigs.ties.SURE_FROM", 1.01)

    assert confirmable(page) == {}


def test_needs_that_nothing_is_tied_to_are_listed_by_category(page: Client) -> None:
    def listed() -> str:
        found = page.get(URL).content.decode()
        return found[found.index("Tied not at all") : found.index("Tied <span>")]

    before = listed()
    assert "Circulation and bleeding: 1 of 2" in before
    assert "Scene and incident: 2 of 2" in before
    assert "Hard hat" in before
    assert "Gauze roll" not in before

    page.post(URL, {field("splint", "need"): "hard-hat"})

    assert "Scene and incident: 1 of 2" in listed()
    assert "Hard hat" not in listed()


def test_what_is_confirmed_together_is_remembered_at_the_next_import(page: Client) -> None:
    page.post(URL, confirmable(page))
    rig = practice_rig()

    draft = import_layout(replace(rig, notes="later"), by=None, now=NOW)

    waiting = set(draft.untied.values_list("item__key", flat=True))
    assert "traffic cone" in waiting
    assert "tourniquet" not in waiting
    assert confirmable(page) == {}
