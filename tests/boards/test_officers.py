"""First pages of the FTO and the educator, and the page of one person."""

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.people.models import Person
from drills.rigs.actions import report_absence
from drills.rigs.models import Rig
from drills.runs.actions import call_away
from drills.runs.models import Run
from tests.runs.conftest import ClientOf
from tests.runs.player import Player, right, wrong

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

    Player(run).finish()
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
        slug="later", name="Call of the day", kinds="supply:1", minutes=8
    )

    content = client_of(hire).get(reverse("boards:drills")).content.decode()

    assert "Start<span" in content
    assert "prompts of kind supply are not built yet" in content


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
