"""A rig's own short list, applied to its layout."""

from dataclasses import replace
from datetime import date

import pytest

from drills.engine.elsewhere import (
    APPLIES,
    SAME,
    UNKNOWN,
    Elsewhere,
    on_rig,
    relearned,
    standing,
)
from drills.engine.facts import ITEM, Fact, facts_of
from drills.engine.layout import Layout, StockLine, joined
from tests.layouts import practice_rig

SPLINT = Elsewhere("splint", "S1A", "I1A")


def lines_of(layout: Layout, thing: str) -> dict[str, int]:
    return {line.compartment: line.par for line in layout.stock if line.key == thing}


def test_a_line_lies_where_the_rig_has_it_and_nowhere_else() -> None:
    """The line of the layout is the same line, in another place."""
    rig = on_rig(practice_rig(), [SPLINT])

    assert lines_of(rig, "splint") == {"I1A": 2}
    assert lines_of(rig, "neck collar") == {"S1A": 2}
    assert len(rig.stock) == len(practice_rig().stock)


def test_what_is_not_aboard_is_no_thing_of_the_rig() -> None:
    """Nothing may be asked of a thing that the rig does not carry."""
    rig = on_rig(practice_rig(), [Elsewhere("splint", "S1A", "")])

    assert "splint" not in rig.things
    assert "splint" in practice_rig().things


def test_one_place_of_a_double_moves_and_the_other_stays() -> None:
    """A difference that names its place says nothing of the other."""
    rig = on_rig(practice_rig(), [Elsewhere("tourniquet", "BAG-M", "S1")])

    assert lines_of(rig, "tourniquet") == {"S1": 2, "I1A": 1}


def test_without_a_place_all_lines_become_one() -> None:
    """Both of them are there, and their pars are added."""
    rig = on_rig(practice_rig(), [Elsewhere("tourniquet", "", "S1")])

    assert lines_of(rig, "tourniquet") == {"S1": 3}


@pytest.mark.parametrize("critical", ["I1A", "BAG-M"])
def test_what_comes_to_its_other_place_is_counted_there(critical: str) -> None:
    """One item twice in a place is one line, critical if either was."""
    layout = practice_rig()
    stock = tuple(replace(line, critical=line.compartment == critical) for line in layout.stock)

    rig = on_rig(replace(layout, stock=stock), [Elsewhere("tourniquet", "BAG-M", "I1A")])

    assert lines_of(rig, "tourniquet") == {"I1A": 3}
    assert rig.things["tourniquet"].critical


def test_two_lines_of_an_item_become_one_that_forgets_nothing() -> None:
    """Par adds up, critical if either, the earlier day, the notes of both where they differ."""
    early, late = date(2027, 1, 1), date(2027, 6, 1)
    one = StockLine("S1", "Gauze", 2, unit="roll", notes="Green", expires=late)
    other = StockLine("S1A", "Gauze", 3, unit="pack", notes="Blue", expires=early, critical=True)

    made = replace(one, par=5, critical=True, expires=early, notes="Green; Blue")
    assert joined(one, other) == made
    assert joined(replace(one, expires=early), replace(other, expires=late)) == made
    assert joined(replace(one, critical=True), replace(other, critical=False)) == made
    assert joined(one, replace(other, expires=None)).expires == late
    assert joined(replace(one, expires=None), other).expires == early
    assert joined(one, replace(other, notes="Green")).notes == "Green"
    assert joined(replace(one, notes=""), other).notes == "Blue"


def test_two_differences_do_not_chase_each_other() -> None:
    """Each is of the layout, so that what one puts down the other does not take up."""
    both = [Elsewhere("tourniquet", "BAG-M", "I1A"), Elsewhere("tourniquet", "I1A", "S1")]

    for order in (both, both[::-1]):
        assert lines_of(on_rig(practice_rig(), order), "tourniquet") == {"I1A": 2, "S1": 1}


def test_an_outlet_is_drawn_and_asked_for_where_the_rig_has_it() -> None:
    """Outlets and controls are things like any other."""
    rig = on_rig(practice_rig(), [Elsewhere("oxygen outlet", "P1", "I1")])
    point = next(each for each in rig.points if each.code == "O2")

    assert rig.things["oxygen outlet"].places == ("I1",)
    assert (point.face, point.x, point.y) == ("interior-curb", 12.0, 6.0)


def test_an_outlet_that_is_not_there_is_not_drawn() -> None:
    """Other points stay."""
    rig = on_rig(practice_rig(), [Elsewhere("oxygen outlet", "P1", "")])

    assert [each.code for each in rig.points] == ["SIDE", "COT", "SEAT"]


def test_facts_are_keyed_by_item_and_the_place_on_the_rig() -> None:
    """One fact is another; what is known of all the others holds on every rig."""
    layout, rig = practice_rig(), on_rig(practice_rig(), [SPLINT])

    assert set(facts_of(layout)) - set(facts_of(rig)) == {Fact(ITEM, "splint", "S1A")}
    assert set(facts_of(rig)) - set(facts_of(layout)) == {Fact(ITEM, "splint", "I1A")}


def test_a_layout_without_differences_is_the_same_layout() -> None:
    """Nothing is made anew for the many rigs that are as they should be."""
    layout = practice_rig()

    assert on_rig(layout, []) is layout
    assert on_rig(layout, [Elsewhere("splint", "S1", "I1A")]) is layout


@pytest.mark.parametrize(
    ("difference", "said"),
    [
        (SPLINT, APPLIES),
        (Elsewhere("splint", "S1A", ""), APPLIES),
        (Elsewhere("splint", "", "I1A"), APPLIES),
        (Elsewhere("tourniquet", "", "I1A"), APPLIES),
        (Elsewhere("splint", "I1A", "S1A"), SAME),
        (Elsewhere("splint", "", "S1A"), SAME),
        (Elsewhere("splint", "I1A", ""), SAME),
        (Elsewhere("no such thing", "S1", ""), SAME),
        (Elsewhere("no such thing", "S1", "I1A"), UNKNOWN),
        (Elsewhere("splint", "I1A", "I1"), UNKNOWN),
        (Elsewhere("splint", "S1A", "Z9"), UNKNOWN),
    ],
)
def test_a_difference_applies_or_says_the_same_or_is_to_be_looked_at(
    difference: Elsewhere, said: str
) -> None:
    """The layout of after a refit may say otherwise, the same, or something third."""
    assert standing(practice_rig(), difference) == said


def test_what_lies_elsewhere_is_held_out_with_the_places_it_left_and_came_to() -> None:
    """A drill made before asks of neither, and of all else as before."""
    before = practice_rig()
    now = on_rig(before, [SPLINT, Elsewhere("midazolam", "I1B", "")])

    assert relearned(before, now) == {
        *(("splint", ""), ("splint", "S1A"), ("splint", "I1A")),
        *(("midazolam", ""), ("midazolam", "I1B")),
    }
    assert relearned(now, now) == relearned(before, practice_rig()) == frozenset()


def test_another_par_is_nothing_to_learn() -> None:
    """Drills ask where things are, not how many."""
    before = practice_rig()
    more = StockLine("S1", "Traffic cone", 9, category="scene and incident")

    assert relearned(before, replace(before, stock=(more, *before.stock[1:]))) == frozenset()
