"""Drills of exactly what a board names: started by the person, assigned to one or to both."""

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.boards.exactly import MOST, MOST_OPEN, Questions
from drills.boards.readiness import crew_board
from drills.boards.views import exactly as views
from drills.competency.refitting import refit
from drills.demo.factories import PairingFactory
from drills.engine.facts import BAG, facts_of, steps
from drills.engine.recipes import LOCATE, only
from drills.engine.scoring import RIGHT, WRONG
from drills.people.models import Pairing, Person
from drills.rigs.actions import pick_rig, report_absence
from drills.rigs.models import Rig
from drills.rigs.reading import layout_of
from drills.runs.models import Assigned, Run
from drills.scenarios.models import CallType, Recipe
from tests.boards.test_readiness import answered, page
from tests.boards.test_readiness import call as call
from tests.runs.conftest import ClientOf
from tests.runs.player import Player, right

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
    assert not recipe.is_shared
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
    assert Run.objects.filter(person=hire).count() == 1
    assert recipe not in Recipe.objects.open_to(hire)
    listed = client_of(educator).get(reverse("scenarios:recipes")).content.decode()
    assert recipe.slug not in listed
    changed = client_of(educator).get(reverse("scenarios:change_recipe", args=[recipe.slug]))
    assert changed.status_code == 403
    like = client_of(educator).get(reverse("scenarios:add_recipe"), {"like": recipe.slug})
    assert like.status_code == 404


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


@pytest.mark.usefixtures("neither")
def test_its_page_is_read_by_those_it_is_about_and_who_may_see_them(
    hire: Person, outsider: Person, fto: Person, educator: Person, client_of: ClientOf
) -> None:
    """It says in words what it asks, to nobody who may not see what they know."""
    url, sent = buttons(page(client_of, hire, hire))[0]
    client_of(hire).post(url, sent)
    recipe = Recipe.objects.get(slug__startswith=Recipe.UNLISTED)
    address = reverse("scenarios:recipe", args=[recipe.slug])

    for reader in (hire, fto, educator):
        text = client_of(reader).get(address).content.decode()
        assert "Where is Splint?" in text
        assert "only:" not in text
        assert "A new one like it" not in text
        assert "What difficulty" not in text
    stranger = client_of(outsider)
    assert stranger.get(address).status_code == 404
    told = stranger.post(reverse("runs:start"), {"recipe": recipe.slug}, follow=True)
    assert "is not shared" in told.content.decode()
    assert not Run.objects.filter(person=outsider).exists()


@pytest.mark.usefixtures("neither")
def test_one_of_two_that_it_was_given_to_reads_it_and_its_maker(
    hire: Person, outsider: Person, fto: Person, client_of: ClientOf
) -> None:
    PairingFactory.create(fto=fto, crew=outsider)
    ((url, sent),) = buttons(page(client_of, fto, hire, outsider))
    client_of(fto).post(url, sent)
    recipe = Recipe.objects.get(slug__startswith=Recipe.UNLISTED)
    Pairing.objects.all().delete()

    given = reverse("runs:assignment", args=[recipe.assignments.get().pk])
    address = reverse("scenarios:recipe", args=[recipe.slug])
    assert f'href="{address}">What it asks' in client_of(fto).get(given).content.decode()
    for reader in (hire, outsider, fto):
        told = client_of(reader).get(address)
        assert "Made for" in told.content.decode()


@pytest.mark.usefixtures("neither")
def test_drills_of_boards_are_not_heaped_up(rig: Rig, hire: Person, client_of: ClientOf) -> None:
    """Once a few wait, another is begun after one of them is gone on with."""
    names = sorted(Questions(layout_of(rig.revision)).by_name)
    url = reverse("boards:start_exactly", args=["HIRE"])
    for name in names[:MOST_OPEN]:
        client_of(hire).post(url, {"ask": name})
    told = client_of(hire).post(url, {"ask": names[MOST_OPEN]}, follow=True)

    assert f"{MOST_OPEN} drills like this one wait" in told.content.decode()
    assert Run.objects.count() == MOST_OPEN
    assert Recipe.objects.filter(slug__startswith=Recipe.UNLISTED).count() == MOST_OPEN
    assert client_of(hire).post(url, {"ask": names[0]}).status_code == 302
    assert Run.objects.count() == MOST_OPEN


@pytest.mark.usefixtures("neither")
def test_what_is_still_to_do_is_not_given_again(
    hire: Person, fto: Person, client_of: ClientOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pressed again a day later it leads to the one that is open, and says so."""
    give = reverse("boards:assign_exactly", args=["HIRE"])
    client_of(fto).post(give, {"ask": ASK})
    later = timezone.now() + timedelta(days=1)
    monkeypatch.setattr("drills.boards.views.exactly.timezone.now", lambda: later)

    told = client_of(fto).post(give, {"ask": ASK}, follow=True)

    assert "is still open" in told.content.decode()
    assert Assigned.objects.get().person == hire


@pytest.mark.usefixtures("neither")
def test_of_two_the_one_who_has_it_is_not_named_as_given_it(
    hire: Person, outsider: Person, fto: Person, client_of: ClientOf
) -> None:
    PairingFactory.create(fto=fto, crew=outsider)
    give = reverse("boards:assign_crew", args=["HIRE", "OUTSIDER"])
    client_of(fto).post(give, {"ask": ASK})
    Assigned.objects.filter(person=outsider).delete()

    text = client_of(fto).post(give, {"ask": ASK}, follow=True).content.decode()

    assert f"is assigned to {outsider.short_name}, due" in text
    assert f"{hire.short_name} has the same one still to do" in text


@pytest.mark.usefixtures("neither")
@pytest.mark.parametrize("is_given", [False, True])
def test_what_is_on_hold_is_said_to_be_left_out(
    rig: Rig, hire: Person, fto: Person, client_of: ClientOf, *, is_given: bool
) -> None:
    """A drill that asks less than was named says what it leaves out."""
    named = Questions(layout_of(rig.revision)).by_name
    other = next(name for name in named if "splint" not in name and ":locate:" in name)
    asks = {"ask": [ASK, other]}
    places = layout_of(rig.revision).things["splint"].places
    report_absence(
        list(places),
        thing="splint",
        rig=rig,
        revision=rig.revision,
        by=fto,
        now=timezone.now(),
    )
    url = reverse("boards:start_exactly", args=["HIRE"])
    if is_given:
        client_of(fto).post(reverse("boards:assign_exactly", args=["HIRE"]), asks)
        slug = Recipe.objects.get(slug__startswith=Recipe.UNLISTED).slug
        url, asks = reverse("runs:start"), {"recipe": [slug]}

    text = client_of(hire).post(url, asks, follow=True).content.decode()

    assert "Not asked now: Where is Splint? It is on hold" in text
    assert "Splint" not in asked(Run.objects.get(person=hire))


@pytest.mark.usefixtures("neither")
def test_once_done_the_page_of_the_person_says_so(
    rig: Rig, hire: Person, fto: Person, client_of: ClientOf
) -> None:
    """For a week, with how it went; to whoever looks."""
    refit(now=timezone.now, say=lambda _: None)
    known = reverse("boards:known", args=["HIRE"])
    ask = {"ask": [ASK]}
    assert "a drill of what stood here" not in client_of(fto).get(known).content.decode()
    client_of(hire).post(reverse("boards:start_exactly", args=["HIRE"]), ask)
    assert "a drill of what stood here" not in client_of(hire).get(known).content.decode()
    run = Run.objects.get(person=hire)
    Player(run).finish(right)

    for reader in (hire, fto):
        text = client_of(reader).get(known).content.decode()
        assert "a drill of what stood here</a>, all right. The numbers have it in them." in text
        assert reverse("runs:debrief", args=[run.pk]) in text
    Run.objects.filter(pk=run.pk).update(finished_at=timezone.now() - timedelta(days=8))
    assert "a drill of what stood here" not in client_of(hire).get(known).content.decode()
