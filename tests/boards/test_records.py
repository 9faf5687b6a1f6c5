"""The page of one person, the first layout of the educator, and what each role may go on to."""

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.boards.hire import current_misses
from drills.boards.records import MISSES_SHOWN
from drills.competency.actions import history_source
from drills.competency.reports import knowledge_of
from drills.demo.factories import PersonFactory, rig_on
from drills.engine.facts import facts_of
from drills.engine.scoring import WRONG
from drills.people.models import Person, Role
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.rigs.reading import layout_of
from drills.runs.models import Run
from tests.boards.conftest import miss_one_and_go
from tests.boards.test_readiness import answered
from tests.layouts import practice_rig
from tests.runs.conftest import ClientOf
from tests.runs.player import Player, wrong

pytestmark = pytest.mark.django_db
PAGE = reverse("boards:person", args=["HIRE"])
FACTS = facts_of(practice_rig())


def words(client_of: ClientOf, person: Person, url: str = PAGE) -> str:
    return " ".join(client_of(person).get(url).content.decode().split())


def test_misses_stand_under_every_layout_with_evidence(
    client_of: ClientOf, fto: Person, hire: Person, run: Run
) -> None:
    """Also those of a rig that is not ridden today."""
    Player(run).finish(wrong)
    pick_rig(hire, rig_on(practice_rig("other-rig"), unit="12"), now=timezone.now())

    content = words(client_of, fto)

    assert 'Missed on Rig 12, Other rig, rev. 1 <span class="nw">0 of 0 asked' in content
    assert "Missed on Practice rig, rev. 1" in content
    assert content.count("not right when last asked") == 2


def test_an_open_assessed_run_tells_its_misses_to_the_fto_alone(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig, assessed_run: Run
) -> None:
    pick_rig(hire, rig, now=timezone.now())
    missed = miss_one_and_go(assessed_run)

    own, of_fto = words(client_of, hire), words(client_of, fto)

    assert missed not in own
    assert "An assessed run is open; misses are shown after it." in own
    assert missed in of_fto
    assert "An assessed run is open: N. Hire sees these after it." in of_fto


def test_a_finished_assessed_run_holds_nothing_back(
    client_of: ClientOf, hire: Person, rig: Rig, assessed_run: Run
) -> None:
    pick_rig(hire, rig, now=timezone.now())
    Player(assessed_run).finish(wrong)

    content = words(client_of, hire)

    assert "An assessed run is open" not in content
    assert "Missed, newest first" in content


@pytest.mark.parametrize("simulated", [True, False])
def test_simulated_answers_are_said_to_be(
    client_of: ClientOf, fto: Person, run: Run, simulated: bool
) -> None:
    Run.objects.filter(pk=run.pk).update(is_simulated=simulated)
    run.refresh_from_db()
    Player(run).finish(wrong)

    of_person = words(client_of, fto)
    of_fto = words(client_of, fto, reverse("boards:fto"))

    assert ("Some of these answers are simulated." in of_person) == simulated
    assert ("simulated among them" in of_fto) == simulated


@pytest.mark.parametrize(
    ("role", "shown"),
    [
        (Role.CREW, []),
        (Role.DIRECTOR, ["rigs:index"]),
        (Role.KEEPER, ["rigs:index", "rigs:import", "rigs:absences"]),
        (Role.ADMIN, ["rigs:index", "rigs:import", "rigs:absences"]),
    ],
)
def test_today_leads_each_role_to_what_it_does(
    client_of: ClientOf, role: Role, shown: list[str]
) -> None:
    person = PersonFactory.create(employee_number="X", roles=[role])

    content = words(client_of, person, reverse("boards:hire"))
    line = content.partition('class="also duties"')[2].partition("</p>")[0]

    assert [name for name in DUTIES if f'href="{reverse(name)}"' in line] == shown
    for name in shown:
        assert client_of(person).get(reverse(name)).status_code == 200


def test_the_keeper_reads_one_word_for_what_is_not_in_place(
    client_of: ClientOf, keeper: Person, rig: Rig
) -> None:
    """On the way there, on the page and in the guide, as the crews do on their prompt."""
    pages = ["boards:hire", "rigs:index", "rigs:absences"]
    contents = [words(client_of, keeper, reverse(page)) for page in pages]
    contents.append(words(client_of, keeper, reverse("boards:chapter", args=["keeper"])))

    for content in contents:
        assert "Not where the layout says" in content
        assert "Not in its place" not in content


DUTIES = ("boards:fto", "boards:educator", "rigs:index", "rigs:import", "rigs:absences")


def test_what_was_missed_long_before_is_folded_away(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig
) -> None:
    """The newest eight stand open, all others behind one line; none is left out."""
    pick_rig(hire, rig, now=timezone.now())
    layout = layout_of(rig.revision)
    things = sorted(layout.things)[: MISSES_SHOWN + 3]
    for thing in things:
        answered(hire, rig, WRONG, thing, times=1)

    content = words(client_of, fto)

    missed = len(current_misses(knowledge_of(hire, layout=rig.layout, now=timezone.now()), FACTS))
    before, _, after = content.partition("more, missed before</summary>")
    assert missed > MISSES_SHOWN
    assert before.endswith(f"<summary>{missed - MISSES_SHOWN} ")
    opened = before.partition("not right when last asked")[2]
    assert opened.count('<li class="li l2">') == MISSES_SHOWN
    folded = after.partition("</details>")[0]
    assert folded.count('<li class="li l2">') == missed - MISSES_SHOWN


def test_answers_without_a_run_are_told_beside_the_runs(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig
) -> None:
    sentence = "simulated history: of those there is no run to open"
    answered(hire, rig, WRONG, "splint", times=1)
    assert sentence not in words(client_of, fto)

    source = history_source(1)
    answered(hire, rig, WRONG, "splint", times=1, source=source, is_simulated=True)

    assert sentence in words(client_of, fto)
