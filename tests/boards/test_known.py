"""What one person knows, thing by thing, and how good the numbers are."""

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from drills.boards.known import AHEAD, known_board
from drills.competency.refitting import refit
from drills.engine.facts import steps
from drills.engine.knowing.checking import checked
from drills.engine.knowing.history import history
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from tests.competency.test_actions import NOW
from tests.competency.test_actions import rig as rig
from tests.competency.test_refit import answered as answered
from tests.competency.test_refit import say
from tests.engine.knowing_answers import ability
from tests.layouts import practice_rig

pytestmark = pytest.mark.django_db
NIGHT = NOW + timedelta(days=1)


@pytest.fixture
def page(client: Client, hire: Person, rig: Rig) -> Client:
    """The browser of a person who rides the rig."""
    pick_rig(hire, rig, now=NOW)
    client.force_login(hire)
    return client


def shown(page: Client, hire: Person) -> str:
    text: str = page.get(reverse("boards:known", args=[hire.employee_number])).content.decode()
    return text


def test_before_a_fit_there_is_not_enough_evidence(page: Client, hire: Person) -> None:
    assert "Not enough evidence: nothing is fitted yet by this release" in shown(page, hire)


@pytest.mark.usefixtures("answered")
def test_every_thing_of_the_rig_has_a_row(page: Client, hire: Person) -> None:
    """After the refit each thing stands there once, with an interval."""
    refit(now=lambda: NIGHT, say=say)
    text = shown(page, hire)
    rows = re.findall(r"<td><b>([^<]+)</b>", text)

    assert sorted(rows) == sorted(thing.name for thing in practice_rig().things.values())
    assert "Screen only" in text


@pytest.mark.usefixtures("answered")
def test_a_thing_in_a_bag_is_known_when_both_steps_are(hire: Person, rig: Rig) -> None:
    """The chance of a thing is no greater than that of each step to it alone, and the time to come
    only takes from it."""
    refit(now=lambda: NIGHT, say=say)
    board = known_board(hire, rig, now=NIGHT)
    by_name = {row.thought.thing.key: row.thought for _, row in board.rows}
    layout = practice_rig()
    inside = [each for each in layout.things.values() if len(each.places) == 1]
    two_steps = [each for each in inside if len(steps(layout, each.key, each.places[0])) == 2]

    assert two_steps
    for thing in two_steps:
        bag = steps(layout, thing.key, thing.places[0])[0]
        alone = [each for each in inside if steps(layout, each.key, each.places[0])[-1] == bag]
        assert by_name[thing.key].chance < 1.0
        assert all(by_name[thing.key].chance <= by_name[each.key].chance for each in alone)
    assert all(row.thought.lapses_in in (None, *AHEAD) for _, row in board.rows)


@pytest.mark.usefixtures("answered")
def test_who_is_right_less_often_knows_less(hire: Person, outsider: Person, rig: Rig) -> None:
    refit(now=lambda: NIGHT, say=say)
    means = []
    for person in (hire, outsider):
        told = [row.thought.chance for _, row in known_board(person, rig, now=NIGHT).rows]
        means.append(sum(told) / len(told))

    assert means[0] > means[1] + 0.2


def test_without_a_rig_there_is_none_to_know(client: Client, hire: Person) -> None:
    client.force_login(hire)

    assert "rides no rig today" in shown(client, hire)


@pytest.mark.usefixtures("answered")
def test_an_educator_reads_what_the_fit_holds(client: Client, educator: Person) -> None:
    """The page tells of how many answers it is, and each coefficient by name."""
    client.force_login(educator)
    assert "Nothing was fitted yet" in client.get(reverse("boards:model")).content.decode()

    refit(now=lambda: NIGHT, say=say)
    text = client.get(reverse("boards:model")).content.decode()

    assert "Made of <b>240</b> first answers of <b>2</b> people" in text
    assert "Longest gap bridged" in text
    assert "Not yet checked against your crews" in text


def test_the_latest_month_is_judged_by_what_came_before() -> None:
    """Chances of answers that follow the model are about what came; of few nothing is said."""
    answers, _ = ability(4, people=60, things=20, each=120)
    told = checked(answers, history(answers))

    assert told is not None
    assert told["count"] > 2000
    assert told["log_loss"] < told["plain"]
    assert told["gap"] < 0.05
    assert checked(answers.take(slice(0, 150)), history(answers.take(slice(0, 150)))) is None
