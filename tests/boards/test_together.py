"""A drill of what many miss, given with one press to the cohort that an educator looks at."""

import html
import re

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.competency import refitting
from drills.demo.factories import CohortFactory, PersonFactory
from drills.engine.recipes import LOCATE, only
from drills.engine.scoring import RIGHT, WRONG
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Posting, Rig, Station
from drills.runs.models import Assigned, Run
from drills.scenarios.models import Named, Recipe
from tests.boards.test_educator import CONE, SPLINT, Crowd
from tests.boards.test_educator import browser as browser
from tests.boards.test_educator import crowd as crowd
from tests.runs.conftest import ClientOf

pytestmark = pytest.mark.django_db
URL, ASSIGN = reverse("boards:educator"), reverse("boards:assign_cohort")
ASKS = {
    SPLINT: only(LOCATE, "splint", "immobilisation"),
    CONE: only(LOCATE, "traffic cone", "scene and incident"),
}


def forms(browser: Client, **chosen: str) -> dict[str, tuple[str, str, list[str]]]:
    """By the heading that it stands under: where a drill is sent, what its button says, what it
    asks."""
    content = browser.get(URL, chosen).content.decode()
    found = {}
    for section in content.split("<h2>")[1:]:
        heading = section.partition("<")[0].strip()
        for url, body in re.findall(r'<form method="post" action="([^"]+)">(.*?)</form>', section):
            asks = re.findall(r'name="ask" value="([^"]+)"', body)
            button = re.findall(r"<button[^>]*>([^<]*)", body)[0]
            found[heading] = (html.unescape(url), button, [html.unescape(each) for each in asks])
    return found


@pytest.fixture
def station(rig: Rig) -> Station:
    station = Station.objects.create(slug="north", name="North")
    rig.station = station
    rig.save()
    return station


def posted(station: Station, *people: Person) -> None:
    today = timezone.localdate()
    Posting.objects.bulk_create(
        Posting(person=each, station=station, starts_on=today) for each in people
    )


def test_one_press_gives_a_cohort_a_drill_of_exactly_what_it_surely_misses(
    browser: Client, crowd: Crowd, client_of: ClientOf
) -> None:
    """The cone, of which three people say too little, is not in it; nor is who left."""
    crowd.each_said("WWWWWWWR")
    crowd.each_said("WRR", fact=CONE)
    cohort = CohortFactory.create(name="Autumn intake")
    cohort.members.set([*crowd.people.values(), PersonFactory.create(is_active=False)])

    url, button, asks = forms(browser, cohort=cohort.slug)["Most missed things"]
    assert button == "Assign a drill of it to Autumn intake, 8 people"
    assert asks == [ASKS[SPLINT]]
    told = browser.post(url, {"ask": asks}, follow=True).content.decode()

    recipe = Recipe.objects.get(slug__startswith=Recipe.UNLISTED)
    assert (recipe.name, recipe.focus) == ("What many miss: Autumn intake", asks)
    assert not recipe.is_shared
    given = Assigned.objects.filter(assignment__recipe=recipe)
    assert {row.person for row in given} == set(crowd.people.values())
    assert "is assigned to 8 people, due" in told

    pick_rig(crowd[0], crowd.rig, now=timezone.now())
    client_of(crowd[0]).post(reverse("runs:start"), {"recipe": recipe.slug})
    run = Run.objects.get(person=crowd[0])
    assert [each.name for each in run.drill.prompts.filter(is_spare=False)] == ["Splint"]
    assert run.assigned == given.get(person=crowd[0])


def test_pressed_again_it_goes_to_who_came_since_alone(browser: Client, crowd: Crowd) -> None:
    crowd.each_said("WWWWWWWR")
    cohort = CohortFactory.create()
    cohort.members.set(crowd.people.values())
    url, _, asks = forms(browser, cohort=cohort.slug)["Most missed things"]
    browser.post(url, {"ask": asks})

    again = browser.post(url, {"ask": asks}, follow=True).content.decode()
    assert "nothing was assigned again" in again
    assert Assigned.objects.count() == 8

    newest = PersonFactory.create()
    cohort.members.add(newest)
    told = browser.post(url, {"ask": asks}, follow=True).content.decode()
    assert f"is assigned to {newest.short_name}, due" in told
    assert "8 people have the same one still to do." in told
    named = Named.objects.get()
    assert set(named.people.all()) == {*crowd.people.values(), newest}


def test_everybody_is_who_is_posted_where_the_layout_rides(
    browser: Client, crowd: Crowd, station: Station
) -> None:
    crowd.each_said("WWWWWWWR")
    assert forms(browser) == {}

    posted(station, crowd[0], crowd[1], crowd[2])
    url, button, asks = forms(browser)["Most missed things"]
    assert button == "Assign a drill of it to 3 people"
    browser.post(url, {"ask": asks})

    assert {row.person for row in Assigned.objects.all()} == {crowd[0], crowd[1], crowd[2]}


def test_what_is_looked_at_alone_is_given_alone_where_there_is_evidence_enough(
    browser: Client, crowd: Crowd, station: Station
) -> None:
    crowd.each_said("WWWWWWWR")
    crowd.each_said("WWWWWWWW", fact=CONE)
    posted(station, *crowd.people.values())
    where = "Where people look first: Splint"

    assert forms(browser, fact=str(SPLINT))[where][2] == [ASKS[SPLINT]]
    _, button, asks = forms(browser)["Most missed things"]
    assert button == "Assign a drill of these 2 to 8 people"
    assert sorted(asks) == sorted(ASKS.values())


@pytest.mark.parametrize("outcomes", ["WW", "WWWRRR"])
def test_of_too_few_or_too_little_nothing_is_given(
    browser: Client, crowd: Crowd, station: Station, outcomes: str
) -> None:
    crowd.each_said(outcomes)
    posted(station, *crowd.people.values())

    assert forms(browser, fact=str(SPLINT)) == {}


def test_what_is_missed_more_than_expected_is_given_as_it_stands(
    browser: Client, crowd: Crowd, station: Station
) -> None:
    facts = (SPLINT, CONE)
    for number in range(24):
        for fact in facts:
            outcome = WRONG if fact == SPLINT and number % 3 else RIGHT
            crowd.said(number, outcome, fact=fact, seconds=4.0)
    posted(station, *crowd.people.values())
    assert refitting.refit(now=timezone.now, say=lambda _: None) is not None

    assert forms(browser)["Missed more than expected"][2] == [ASKS[SPLINT]]


def test_who_is_named_with_many_is_not_told_by_name(
    browser: Client, crowd: Crowd, client_of: ClientOf
) -> None:
    crowd.each_said("WWWWWWWR")
    cohort = CohortFactory.create()
    cohort.members.set(crowd.people.values())
    url, _, asks = forms(browser, cohort=cohort.slug)["Most missed things"]
    browser.post(url, {"ask": asks})
    slug = Recipe.objects.get(slug__startswith=Recipe.UNLISTED).slug

    told = client_of(crowd[3]).get(reverse("scenarios:recipe", args=[slug])).content.decode()

    assert "Made for 8 people together" in told
    assert crowd[4].short_name not in told


def test_an_officer_gives_none_and_what_is_not_aboard_is_refused(
    browser: Client, crowd: Crowd, fto: Person, client_of: ClientOf
) -> None:
    cohort = CohortFactory.create()
    cohort.members.set([crowd[0]])
    url = f"{ASSIGN}?cohort={cohort.slug}"

    assert client_of(fto).post(url, {"ask": ASKS[SPLINT]}).status_code == 403
    assert browser.post(f"{ASSIGN}?cohort=nobody", {"ask": ASKS[SPLINT]}).status_code == 404
    told = browser.post(url, {"ask": only(LOCATE, "piano", "x")}, follow=True).content.decode()
    assert "has nothing of it" in told
    assert not Assigned.objects.exists()
