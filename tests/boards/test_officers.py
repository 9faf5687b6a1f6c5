"""First pages of the FTO and the educator, and the page of one person."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.people.models import Person
from drills.rigs.actions import report_absence
from drills.rigs.models import Rig
from drills.runs.actions import call_away, contest
from drills.runs.models import Run
from drills.scenarios.models import Recipe
from tests.runs.assignments import given
from tests.runs.conftest import ClientOf
from tests.runs.player import Player, lately, right, wrong

pytestmark = pytest.mark.django_db


def test_an_fto_sees_the_people_paired_with_them(
    client_of: ClientOf, fto: Person, outsider: Person, run: Run
) -> None:
    Player(run).finish()

    content = client_of(fto).get(reverse("boards:fto")).content.decode()

    assert "Noor Hire" in content
    assert "Uri Side" not in content
    assert reverse("runs:debrief", args=[run.pk]) in content


def test_a_chance_stands_with_its_count_and_interval(
    client_of: ClientOf, fto: Person, run: Run
) -> None:
    content = client_of(fto).get(reverse("boards:fto")).content.decode()
    assert "not enough evidence" in content

    Player(run, now=lately()).finish()
    content = client_of(fto).get(reverse("boards:fto")).content.decode()
    assert "not enough evidence" not in content
    assert " to 100" in content


def test_an_fto_reads_reports_in_the_words_of_the_layout(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig
) -> None:
    """The path that the keeper reads, and no key."""
    for thing, code in (("", "BAG-M"), ("tourniquet", "I1A")):
        report_absence(
            [code], thing=thing, rig=rig, revision=rig.revision, by=hire, now=timezone.now()
        )

    content = client_of(fto).get(reverse("boards:fto")).content.decode()

    assert (
        "<b>What is in S1 Street cabinet › Lower shelf › Response bag › Main pocket</b>" in content
    )
    assert '<b>Tourniquet</b><small class="cap">I1 Wall cabinet › Upper drawer</small>' in content


def test_what_runs_says_to_whom_it_was_given(
    client_of: ClientOf, fto: Person, hire: Person, recipe: Recipe
) -> None:
    given(recipe, [hire], by=fto, due_on=timezone.localdate() + timedelta(days=1))

    content = client_of(fto).get(reverse("boards:fto")).content.decode()

    assert f'<small class="cap">{hire}; due ' in content


def test_what_an_fto_does_stands_before_the_people(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig, assessed_run: Run, recipe: Recipe
) -> None:
    """Assigning, what was contested, overdue and reported: nothing to scroll for."""
    missed = Player(assessed_run).finish(wrong)[0]
    contest(missed.run, token=missed.token, because="It hangs there", now=timezone.now())
    given(recipe, [hire], by=fto, due_on=timezone.localdate() - timedelta(days=1))
    report_absence(
        ["I1A"], thing="tourniquet", rig=rig, revision=rig.revision, by=hire, now=timezone.now()
    )

    content = client_of(fto).get(reverse("boards:fto")).content.decode()
    deeds = content.partition("<h1")[2].partition("<table")[0]

    for page in ("runs:assign", "runs:contests", "runs:assignments", "boards:hire"):
        assert f'href="{reverse(page)}"' in deeds
    for told in ("1 contested mark waits", "1 overdue", "Not where the layout says: 1"):
        assert told in deeds


def test_what_an_fto_owes_stands_on_the_first_page(
    client_of: ClientOf, fto: Person, educator: Person, recipe: Recipe
) -> None:
    """Who gives drills may be given one; nothing stands there for who owes nothing."""
    client = client_of(fto)
    assert "Assigned to you" not in client.get(reverse("boards:fto")).content.decode()

    given(recipe, [fto], by=educator, due_on=timezone.localdate() + timedelta(days=2))
    content = client.get(reverse("boards:fto")).content.decode()

    owed = content.partition("Assigned to you")[2].partition("<table")[0]
    assert recipe.name in owed
    assert "E. Cator" in owed
    assert "not started" in owed


def test_an_educator_is_led_to_what_was_contested(
    client_of: ClientOf, educator: Person, hire: Person, assessed_run: Run
) -> None:
    client = client_of(educator)
    assert "Contested marks: none waits" in client.get(reverse("boards:educator")).content.decode()
    missed = Player(assessed_run).finish(wrong)[0]
    contest(missed.run, token=missed.token, because="It hangs there", now=timezone.now())

    content = client.get(reverse("boards:educator")).content.decode()

    assert f'href="{reverse("runs:contests")}">1 contested mark waits</a>' in content


def test_a_persons_page_lists_misses_and_runs(client_of: ClientOf, fto: Person, run: Run) -> None:
    Player(run).finish(lambda each: wrong(each))

    content = client_of(fto).get(reverse("boards:person", args=["HIRE"])).content.decode()

    assert "Missed, newest first" in content
    assert reverse("runs:debrief", args=[run.pk]) in content
    assert "not discipline records" in content


@pytest.mark.parametrize(
    ("who", "page"),
    [
        ("hire", "boards:hire"),
        ("fto", "boards:fto"),
        ("educator", "boards:educator"),
        ("keeper", "rigs:index"),
        ("admin", "boards:roster"),
    ],
)
def test_home_leads_each_to_their_page(
    client_of: ClientOf, who: str, page: str, request: pytest.FixtureRequest
) -> None:
    response = client_of(request.getfixturevalue(who)).get(reverse("boards:home"))

    assert response["Location"] == reverse(page)


def test_drills_say_what_can_be_taken_and_what_not(
    client_of: ClientOf, hire: Person, run: Run
) -> None:
    run.drill.recipe.__class__.objects.create(
        slug="later", name="Call of the day", kinds="locate:1", focus=["what glows"], minutes=8
    )

    content = client_of(hire).get(reverse("boards:drills")).content.decode()

    assert "Start<span" in content
    assert "it asks first for what glows, and that cannot be picked out yet" in content.lower()


def test_a_run_emptied_by_calls_is_listed_as_not_complete(
    client_of: ClientOf, fto: Person, assessed_run: Run
) -> None:
    player = Player(assessed_run)
    player.answer(presentation := player.past_warm_ups(), right(presentation))
    while player.serve():
        call_away(assessed_run, now=player.now)

    pages = [reverse("boards:fto"), reverse("boards:person", args=["HIRE"])]
    contents = [client_of(fto).get(page).content.decode() for page in pages]

    assert "not complete: 1 of 5" in contents[0]
    assert "not complete, 1 of 5" in contents[1]


def test_a_person_is_given_a_drill_or_watched_from_their_page(
    client_of: ClientOf, hire: Person, fto: Person
) -> None:
    address = reverse("boards:person", args=["HIRE"])
    officer, own = client_of(fto).get(address), client_of(hire).get(address)
    links = (f"{reverse('runs:assign')}?to=person:HIRE", f"{reverse('runs:hands_on')}?person=HIRE")

    for link in links:
        assert f'href="{link}"' in officer.content.decode()
        assert link not in own.content.decode()
        assert 'value="' + link.split("=")[1] + '" checked' in (
            client_of(fto).get(link).content.decode()
        )
