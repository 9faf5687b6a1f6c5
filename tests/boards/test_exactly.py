"""Drills of exactly what a board names: started by the person, assigned to one or to both."""

import re

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.boards.exactly import MOST, Questions
from drills.boards.readiness import crew_board
from drills.boards.views import exactly as views
from drills.demo.factories import PairingFactory
from drills.engine.facts import BAG, facts_of, steps
from drills.engine.recipes import LOCATE, only
from drills.engine.scoring import RIGHT, WRONG
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.rigs.reading import layout_of
from drills.runs.models import Assigned, Run
from drills.scenarios.models import CallType, Recipe
from tests.boards.test_readiness import answered, page
from tests.boards.test_readiness import call as call
from tests.runs.conftest import ClientOf

pytestmark = pytest.mark.django_db

ASK = only(LOCATE, "splint", "immobilisation")


def buttons(text: str) -> list[tuple[str, dict[str, list[str]]]]:
    """Each form of a drill on a page: its address, and what it sends."""
    found = []
    for url, body in re.findall(r'<form method="post" action="([^"]+)">(.*?)</form>', text, re.S):
        if "/drill/" in url or url.endswith("/assign/"):
            sent = re.findall(r'name="(ask|call)" value="([^"]+)"', body)
            found.append((url, {key: [v for k, v in sent if k == key] for key, _ in sent}))
    return found


@pytest.fixture
def neither(call: CallType, rig: Rig, hire: Person, outsider: Person) -> None:
    """Both know the tourniquet, and neither the splint."""
    pick_rig(outsider, rig, now=timezone.now())
    for person in (hire, outsider):
        answered(person, rig, RIGHT, "tourniquet", times=12)
        answered(person, rig, WRONG, "splint", times=12)


def asked(run: Run) -> list[str]:
    return [each.name for each in run.drill.prompts.filter(is_spare=False)]


@pytest.mark.usefixtures("neither")
def test_an_officer_gives_both_what_neither_finds(
    hire: Person, outsider: Person, fto: Person, client_of: ClientOf
) -> None:
    PairingFactory.create(fto=fto, crew=outsider)
    ((url, sent),) = buttons(page(client_of, fto, hire, outsider))

    told = client_of(fto).post(url, sent)

    recipe = Recipe.objects.get(slug__startswith=Recipe.UNLISTED)
    rows = Assigned.objects.filter(assignment__recipe=recipe)
    assert {row.person for row in rows} == {hire, outsider}
    assert told.headers["Location"] == reverse("runs:assignment", args=[rows[0].assignment_id])
    assert (recipe.kinds, recipe.focus) == ("locate:1", sent["ask"])
    assert recipe.name.startswith("What neither finds: ")

    client = client_of(hire)
    client.post(reverse("runs:start"), {"recipe": recipe.slug})
    run = Run.objects.get(person=hire)
    assert (asked(run), run.assigned) == (["Splint"], rows.get(person=hire))


@pytest.mark.usefixtures("neither")
@pytest.mark.parametrize("headers", [{}, {"HX-Request": "true"}])
def test_the_person_starts_what_to_drill_first(
    hire: Person, client_of: ClientOf, headers: dict[str, str]
) -> None:
    forms = buttons(page(client_of, hire, hire))
    assert forms
    url, sent = forms[0]

    told = client_of(hire).post(url, sent, headers=headers)

    run = Run.objects.get(person=hire)
    where = told.headers.get("HX-Redirect") or told.headers["Location"]
    assert where == reverse("runs:take", args=[run.pk])
    assert len(asked(run)) == len(sent["ask"])
    assert "Splint" in asked(run)


@pytest.mark.usefixtures("neither")
def test_the_same_again_is_the_same_recipe_and_no_list_names_it(
    hire: Person, educator: Person, client_of: ClientOf
) -> None:
    url, sent = buttons(page(client_of, hire, hire))[0]
    for _ in range(2):
        client_of(hire).post(url, sent)

    (recipe,) = Recipe.objects.filter(slug__startswith=Recipe.UNLISTED)
    assert recipe not in Recipe.objects.open_to(hire)
    listed = client_of(educator).get(reverse("scenarios:recipes")).content.decode()
    assert recipe.slug not in listed
    changed = client_of(educator).get(reverse("scenarios:change_recipe", args=[recipe.slug]))
    assert changed.status_code == 403


@pytest.mark.parametrize(
    ("asks", "words"),
    [
        ([], "0 questions came in; 1 to 30"),
        ([f"only:locate:{n}:x" for n in range(MOST + 1)], "31 questions came in"),
        (["only:locate:nothing:x"], "has nothing of it"),
        (["what is critical"], "has nothing of it"),
    ],
)
def test_what_a_rig_does_not_ask_is_refused(
    rig: Rig, hire: Person, fto: Person, client_of: ClientOf, asks: list[str], words: str
) -> None:
    pick_rig(hire, rig, now=timezone.now())
    for viewer, name in ((hire, "boards:start_exactly"), (fto, "boards:assign_exactly")):
        client = client_of(viewer)
        told = client.post(reverse(name, args=["HIRE"]), {"ask": asks}, follow=True)
        assert words in told.content.decode()

    assert not Recipe.objects.filter(slug__startswith=Recipe.UNLISTED).exists()
    assert not Run.objects.exists()


def test_without_a_rig_it_is_said_so(hire: Person, fto: Person, client_of: ClientOf) -> None:
    for viewer, name in ((hire, "boards:start_exactly"), (fto, "boards:assign_exactly")):
        told = client_of(viewer).post(reverse(name, args=["HIRE"]), {"ask": ASK}, follow=True)
        assert "rides no rig today" in told.content.decode()


def test_nobody_else_starts_it_and_no_stranger_gives_it(
    rig: Rig, hire: Person, outsider: Person, fto: Person, client_of: ClientOf
) -> None:
    for person in (hire, outsider):
        pick_rig(person, rig, now=timezone.now())
    start = reverse("boards:start_exactly", args=["HIRE"])
    give = reverse("boards:assign_exactly", args=["OUTSIDER"])
    both = reverse("boards:assign_crew", args=["HIRE", "OUTSIDER"])

    assert client_of(fto).post(start, {"ask": ASK}).status_code == 404
    assert client_of(hire).post(give, {"ask": ASK}).status_code == 403
    assert client_of(fto).post(give, {"ask": ASK}).status_code == 404
    assert client_of(fto).post(both, {"ask": ASK}).status_code == 404
    assert client_of(hire).get(start).status_code == 405
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(hire)
    assert strict.post(start, {"ask": ASK}).status_code == 403
    assert not Recipe.objects.filter(slug__startswith=Recipe.UNLISTED).exists()


def test_every_thing_is_asked_for_where_it_lies_in_several_places(rig: Rig) -> None:
    """One place of a thing with doubles may be answered, and asking for the thing is enough."""
    layout = layout_of(rig.revision)
    assert any(len(each.places) > 1 for each in layout.things.values())
    for thing in layout.things.values():
        drill = Questions(layout).drill_for(steps(layout, thing.key, thing.places[0]))
        assert [each.text for each in drill] == [f"Where is {thing.name}?"]

    everything = Questions(layout).drill_for(facts_of(layout))
    assert len({each.name for each in everything}) == len(everything)


def test_a_bag_is_asked_for_beside_a_thing_that_lies_elsewhere(rig: Rig) -> None:
    """Of two that neither finds, a bag and a cone, none is left out."""
    layout = layout_of(rig.revision)
    cone = next(fact for fact in facts_of(layout) if fact.thing == "traffic cone")
    bag = next(fact for fact in facts_of(layout) if fact.kind == BAG)

    told = [each.text for each in Questions(layout).drill_for([bag, cone])]

    assert len(told) == 2
    assert any("Traffic cone" in each for each in told)


@pytest.mark.usefixtures("neither")
def test_it_is_not_started_while_an_assessed_run_waits(
    hire: Person, client_of: ClientOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Practice of just what is still to come would show where it lies."""
    url, sent = buttons(page(client_of, hire, hire))[0]
    monkeypatch.setattr(views, "misses_wait", lambda _person, _layout: True)

    client_of(hire).post(url, sent)

    assert not Run.objects.filter(person=hire).exists()


@pytest.mark.usefixtures("neither")
def test_pages_lead_back_to_the_person(
    hire: Person, outsider: Person, educator: Person, client_of: ClientOf
) -> None:
    known = client_of(educator).get(reverse("boards:known", args=["HIRE"])).content.decode()
    assert crew_board((hire, outsider), viewer=educator, call="", now=timezone.now()).gives
    for text in (known, page(client_of, educator, hire), page(client_of, educator, hire, outsider)):
        assert f'href="{reverse("boards:person", args=["HIRE"])}"' in text
