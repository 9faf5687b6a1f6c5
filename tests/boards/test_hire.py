"""The new hire's page."""

import re
from dataclasses import replace
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import RecipeFactory, rig_on
from drills.engine.layout import Layout, StockLine
from drills.formulary.models import FormularyRevision
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.runs.actions import start_run
from drills.runs.models import Run
from drills.scenarios.models import Recipe
from tests.boards.conftest import miss_one_and_go, move_the_bag
from tests.formulary.conftest import director as director
from tests.formulary.conftest import own as own
from tests.formulary.conftest import put_in_force
from tests.layouts import practice_rig
from tests.runs.player import Player, lately, right, wrong

URL = reverse("boards:hire")
pytestmark = pytest.mark.django_db


@pytest.fixture
def browser(hire: Person) -> Client:
    client = Client()
    client.force_login(hire)
    return client


def test_asks_for_the_rig_first(browser: Client) -> None:
    assert b"Choose the rig you ride today" in browser.get(URL).content


def test_offers_the_study_walk_before_any_drill(browser: Client, hire: Person, rig: Rig) -> None:
    pick_rig(hire, rig, now=timezone.now())

    content = browser.get(URL).content

    assert b"Walk round Rig 11" in content
    assert reverse("rigs:walk", args=[rig.layout.slug]).encode() in content


def test_offers_to_resume_what_is_open(browser: Client, run: Run) -> None:
    Player(run).past_warm_ups()

    content = browser.get(URL).content

    assert b"Resume" in content
    assert reverse("runs:take", args=[run.pk]).encode() in content


def test_names_each_run_that_waits_and_folds_all_but_the_newest(
    browser: Client, hire: Person, rig: Rig
) -> None:
    pick_rig(hire, rig, now=timezone.now())
    began = timezone.now() - timedelta(days=1)
    for hours, name in ((1, "Second"), (0, "First"), (3, "Fourth"), (2, "Third")):
        recipe = RecipeFactory.create(slug=name.lower(), name=name, kinds="locate:3")
        now = began + timedelta(hours=hours)
        start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=now)

    for page in ("boards:hire", "boards:drills"):
        content = browser.get(reverse(page)).content.decode()
        named = re.findall(r'>Resume<span class="vh"> (\w+), begun', content)
        assert named == ["Fourth", "Third", "Second", "First"]
        assert content.index(" Third, begun") < content.index("2 more not finished")
        assert content.index("2 more not finished") < content.index(" Second, begun")
        assert content.count('<button class="send">Resume') == 1
        assert content.count("0 of 3 answered") == 4


def test_offers_a_drill_of_what_was_missed(browser: Client, run: Run) -> None:
    RecipeFactory.create(slug="find-ten", name="Find ten things")
    Player(run).finish(lambda each: wrong(each))

    content = browser.get(URL).content.decode()

    assert "Find ten things" in content
    assert "missed when last asked" in content
    assert "Missed, newest first" in content


def test_offers_another_cabinet_when_nothing_was_missed(browser: Client, run: Run) -> None:
    RecipeFactory.create(slug="one-cabinet", name="One cabinet")
    Player(run).finish()

    content = browser.get(URL).content.decode()

    assert "One cabinet" in content
    assert "Missed, newest first" not in content


def test_offers_practice_in_doses_and_supplies_with_the_reason(
    browser: Client, run: Run, own: FormularyRevision, director: Person
) -> None:
    """The easiest of each that is no part of a mixed drill, and what was missed first."""
    for slug, kinds, difficulty in (
        ("doses-hard", "dose:5;supply:3", 4),
        ("doses", "dose:6", 1),
        ("mixed", "locate:3;dose:1", 1),
        ("supplies", "supply:6", 2),
    ):
        RecipeFactory.create(slug=slug, kinds=kinds, difficulty=difficulty)
    put_in_force(own, by=director)
    Player(run).finish()

    content = words(browser)

    assert "Doses: not asked yet" in content
    assert "Supplies: not asked yet" in content
    assert re.findall(r'name="recipe" value="([^"]*)"', content)[-2:] == ["doses", "supplies"]
    assert reverse("boards:practice") in content


def test_offers_no_dose_without_a_formulary_in_force(browser: Client, run: Run) -> None:
    for kind in ("dose", "supply"):
        RecipeFactory.create(slug=f"{kind}-alone", kinds=f"{kind}:6")
    Player(run).finish()

    content = words(browser)

    assert "dose-alone" not in content
    assert "supply-alone" in content


def test_says_not_enough_evidence_before_a_number(browser: Client, run: Run) -> None:
    player = Player(run)
    first = player.past_warm_ups()
    player.answer(first, right(first))

    content = browser.get(URL).content.decode()

    assert content.count("not enough evidence") >= 2


def test_tells_what_moved_since_the_last_ride(browser: Client, hire: Person, rig: Rig) -> None:
    pick_rig(hire, rig, now=timezone.now() - timedelta(days=9))
    move_the_bag(rig)

    content = browser.get(URL).content.decode()

    assert "Differs from your last rig" in content
    assert "<b>Response bag</b>: was S1 Street cabinet › Lower shelf › Response bag" in content
    assert "now I1 Wall cabinet › Response bag" in content
    assert content.count("now I1") == 1


def test_shows_only_the_way_back_while_an_assessed_prompt_is_open(
    browser: Client, hire: Person, rig: Rig, assessed_run: Run
) -> None:
    pick_rig(hire, rig, now=timezone.now())
    Player(assessed_run, now=lately()).past_warm_ups()

    content = browser.get(URL).content.decode()

    assert reverse("runs:take", args=[assessed_run.pk]) in content
    assert "An assessed prompt is open." in content
    assert "My rig" not in content


def words(browser: Client) -> str:
    return " ".join(browser.get(URL).content.decode().split())


def test_an_unfinished_run_hides_no_drill_on_a_rig_picked_since(
    browser: Client, hire: Person, rig: Rig, run: Run
) -> None:
    """What waits is named with its rig; the next step is for the rig of today."""
    RecipeFactory.create(slug="find-ten", name="Find ten things")
    player = Player(run)
    first = player.past_warm_ups()
    player.answer(first, right(first))
    on_same_rig = words(browser)
    other = rig_on(practice_rig("other-rig"), unit="12")
    pick_rig(hire, other, now=timezone.now())

    content = words(browser)

    assert "Not finished, Rig 11, Practice rig, rev. 1" in content
    assert "1 of 6 answered, begun 25 Nov, 05:40" in content
    resume = f'action="{reverse("runs:proceed", args=[run.pk])}"'
    assert resume in content
    assert '<button class="plainbtn">Resume' in content
    assert "First on Rig 12" in content
    assert 'class="send" href="' + reverse("rigs:walk", args=["other-rig"]) in content
    assert resume in on_same_rig
    assert '<button class="send">Resume' in on_same_rig


def test_an_unfinished_run_is_offered_without_a_rig(
    browser: Client, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    run = start_run(hire, recipe=recipe, revision=rig.revision, rig=None, now=timezone.now())

    content = words(browser)

    assert "Not finished, no rig, Practice rig, rev. 1" in content
    assert reverse("runs:take", args=[run.pk]) in content
    assert "Choose the rig you ride today" in content


def differing() -> Layout:
    """The practice rig with the splint moved, a new thing, and nothing of the drawer."""
    layout = practice_rig("other-rig")
    stock = [line for line in layout.stock if line.compartment != "I1A"]
    moved = [replace(line, compartment="S1") if line.item == "Splint" else line for line in stock]
    return replace(layout, stock=(*moved, StockLine("I1A", "Blanket", 1, category="protection")))


def test_counts_what_differs_between_two_layouts(browser: Client, hire: Person, rig: Rig) -> None:
    pick_rig(hire, rig, now=timezone.now() - timedelta(days=9))
    other = rig_on(differing(), unit="12")
    pick_rig(hire, other, now=timezone.now())

    content = words(browser)

    # The splint, and the tourniquet that is in one place of two.
    assert "<b>2</b> things you know from there are at another place here" in content
    assert "<b>1</b> is new, <b>1</b> is not carried" in content


@pytest.mark.parametrize(("is_simulated", "shown"), [(False, False), (True, True)])
def test_a_drill_on_the_rig_ends_the_differences(
    browser: Client, hire: Person, rig: Rig, recipe: Recipe, is_simulated: bool, shown: bool
) -> None:
    """A simulated drill is nobody's."""
    pick_rig(hire, rig, now=timezone.now() - timedelta(days=9))
    other = rig_on(practice_rig("other-rig"), unit="12")
    pick_rig(hire, other, now=timezone.now())
    assert "Differs from your last rig" in words(browser)
    run = start_run(
        hire,
        recipe=recipe,
        revision=other.revision,
        rig=other,
        now=timezone.now(),
        is_simulated=is_simulated,
    )
    Player(run).finish()

    assert ("Differs from your last rig" in words(browser)) == shown


def test_an_open_assessed_run_tells_no_miss(
    browser: Client, hire: Person, rig: Rig, assessed_run: Run
) -> None:
    pick_rig(hire, rig, now=timezone.now())
    miss_one_and_go(assessed_run)

    content = words(browser)

    assert "misses are shown after it" in content
    assert "Missed, newest first" not in content


def test_reads_in_few_queries(browser: Client, run: Run, django_assert_max_num_queries) -> None:
    Player(run).finish()

    with django_assert_max_num_queries(21):
        browser.get(URL)


def test_the_way_back_leads_to_the_run_of_the_open_prompt(
    browser: Client, hire: Person, rig: Rig, assessed_run: Run, run: Run
) -> None:
    """A newer practice run is closed, so it is no way back."""
    Run.objects.filter(pk=run.pk).update(started_at=timezone.now())
    Player(assessed_run, now=lately()).past_warm_ups()

    content = browser.get(URL).content.decode()

    assert reverse("runs:take", args=[assessed_run.pk]) in content
    assert reverse("runs:take", args=[run.pk]) not in content
