"""The rig and the runs of the run tests, and a bag that moves."""

from dataclasses import replace

from django.utils import timezone

from drills.engine.layout import Layout
from drills.rigs.actions import import_layout
from drills.rigs.models import Revision, Rig
from drills.runs.actions import call_away
from drills.runs.models import Run
from tests.layouts import practice_rig
from tests.runs.conftest import assessed as assessed
from tests.runs.conftest import assessed_run as assessed_run
from tests.runs.conftest import client_of as client_of
from tests.runs.conftest import recipe as recipe
from tests.runs.conftest import rig as rig
from tests.runs.conftest import run as run
from tests.runs.player import Player, wrong


def with_bag_moved(layout: Layout) -> Layout:
    """The response bag hangs in the wall cabinet."""
    moved = tuple(
        replace(each, inside="I1") if each.code == "BAG" else each for each in layout.compartments
    )
    return replace(layout, compartments=moved)


def move_the_bag(rig: Rig) -> Revision:
    revision = import_layout(
        with_bag_moved(practice_rig()), by=None, now=timezone.now(), publish=True
    )
    rig.refresh_from_db()
    return revision


def miss_one_and_go(run: Run) -> str:
    """One answer wrong, then a real call; the name of what was missed."""
    player = Player(run)
    first = player.past_warm_ups()
    player.answer(first, wrong(first))
    call_away(run, now=player.now)
    assert first.prompt is not None
    return first.prompt.name
