"""The words of what was lost on one's own way, and its tenths of a second."""

import pytest

from drills.engine.calls import MUST, USEFUL
from drills.engine.losing import lost_lines
from drills.engine.optimum.losses import (
    AGAIN,
    BAG,
    BESIDE,
    FARTHER,
    INSIDE_AGAIN,
    MISSING,
    OPEN,
    ORDER,
    OTHER,
    TRIPS,
    WHOLE,
    Loss,
)
from drills.engine.optimum.own import Leg
from drills.engine.optimum.statement import Place
from drills.engine.wanted import Wanted
from tests.engine.optimum_instances import seeded
from tests.engine.own_kits import kit_at_random, lost_on
from tests.layouts import demo_layout, practice_rig

OWN = (
    Leg(Place("S1A"), 0, 100),
    Leg(Place("I1A"), 4, 100),
    Leg(Place("S1A"), 0, 100),
    Leg(None, 9, 100),
)
THINGS, MANY = ("tourniquet",), ("gauze roll", "midazolam", "fentanyl", "splint", "tourniquet")


def said(loss: Loss, *wanted: Wanted) -> str:
    (line,) = lost_lines(
        practice_rig(), [loss], OWN, end=9, total_cs=round(loss.cs, -1), wanted=wanted
    )
    return line.words


@pytest.mark.parametrize(
    ("loss", "words"),
    [
        (
            Loss(AGAIN, 500, 0, ("S1A",)),
            "A second walk back: S1A Lower shelf could be had the first time here.",
        ),
        (
            Loss(INSIDE_AGAIN, 500, 4, ("I1A",)),
            "In and out of the rig again: I1A Upper drawer could be had the first time.",
        ),
        (Loss(TRIPS, 500), "More than two walks back to the patient with full hands."),
        (
            Loss(ORDER, 500, instead=("I1A", "BAG", "S1A")),
            "Wrong opening first. The same places take less in the order I1, S1.",
        ),
        (
            Loss(ORDER, 500, instead=("S1A", "I1A")),
            "Wrong order. The same places take less in the order S1, I1.",
        ),
        (
            Loss(BAG, 500, 0, ("BAG-M",), THINGS, ("BAG",)),
            "Not taken whole: BAG Response bag. Inside: Tourniquet.",
        ),
        (
            Loss(WHOLE, 500, 0, ("BAG",), THINGS, ("I1A",)),
            "Taken whole: BAG Response bag. Quicker: Tourniquet out of I1A Upper drawer.",
        ),
        (
            Loss(OPEN, 500, 0, ("BAG-M",), THINGS, ("I1A",)),
            "Opened needlessly: BAG-M Main pocket. In I1A Upper drawer, opened anyway: Tourniquet.",
        ),
        (
            Loss(FARTHER, 500, 0, ("BAG-M",), MANY, ("I1A",)),
            "The slower of two sources: BAG-M Main pocket. Quicker out of I1A Upper drawer: "
            "Gauze roll; Midazolam; Fentanyl; 2 more.",
        ),
        (
            Loss(FARTHER, 500, 0, ("BAG-M",), THINGS),
            "Slower than it need be: Tourniquet out of BAG-M Main pocket.",
        ),
        (Loss(BESIDE, 500, 0, ("S1A",), THINGS), "Beside the must-haves: Tourniquet."),
        (
            Loss(BESIDE, 500, 0, ("BAG",), THINGS),
            "Carried beside the must-haves, no fault if it may be needed: BAG Response bag.",
        ),
        (
            Loss(OTHER, 500, instead=("I1A",)),
            "Other things serve as well, and take less: out of I1A Upper drawer.",
        ),
        (Loss(MISSING, -500), "What was not brought would have taken its time too."),
    ],
)
def test_each_loss_has_words_of_its_own(loss: Loss, words: str) -> None:
    """What was lost, and what would have been quicker."""
    assert said(loss) == words


def test_what_is_useful_is_told_as_that() -> None:
    """Where all that was beside the must-haves is; not of one that is no use."""
    useful = Wanted("x", USEFUL, 1, things=THINGS)
    must = Wanted("x", MUST, 1, things=THINGS)
    loss = Loss(BESIDE, 500, 0, ("S1A",), THINGS)

    assert said(loss, useful) == "Useful, and left out of the quickest way: Tourniquet."
    assert said(loss, must) == "Beside the must-haves: Tourniquet."


def test_a_line_has_the_number_of_the_visit_it_is_of() -> None:
    """Of a second walk back that of the second; of the whole way none, and it comes last."""
    losses = [Loss(ORDER, 500, instead=("S1A",)), Loss(AGAIN, 300, 0, ("S1A",))]
    losses += [Loss(FARTHER, 200, 0, ("S1A",), THINGS, ("I1A",))]

    lines = lost_lines(practice_rig(), losses, OWN, end=9, total_cs=1000)

    assert [line.numbers for line in lines] == [(1,), (3,), ()]
    assert [line.seconds for line in lines] == ["+2.0", "+3.0", "+5.0"]


@pytest.mark.parametrize("seed", range(30))
def test_the_lines_add_up_to_the_total_in_tenths(seed: int) -> None:
    """On rigs of the demonstration; each says something, and none says a list of nothing."""
    random = seeded(seed)
    layout = random.choice([practice_rig(), demo_layout("arroyo-van")])
    kit, needs, order = kit_at_random(random, layout)
    lost = lost_on(layout, kit, needs, order)
    total = round(lost.cs / 10) * 10

    lines = lost_lines(
        layout,
        lost.losses,
        lost.own.legs,
        end=lost.quick.statement.end,
        total_cs=total,
        wanted=needs,
    )

    assert sum(line.cs for line in lines) == total
    assert all(line.cs % 10 == 0 for line in lines)
    gaps = (": .", "out of .", "out of :", "In ,", "whole: .")
    assert not [line.words for line in lines if any(gap in line.words for gap in gaps)]
