"""What a call asks for as things of a rig: promised once, and what is short is said."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.calls import MUST, USEFUL, Asked
from drills.engine.layout import Layout
from drills.engine.wanted import Wanted, share, want
from tests.layouts import practice_rig
from tests.strategies import layouts

# Of the practice rig: tourniquets lie in the bag, gauze and a splint elsewhere.
TIES = {
    "tourniquet": "tourniquet-limb",
    "gauze roll": "gauze",
    "splint": "board-splints",
    "neck collar": "cervical-collar-adult",
    "trauma dressing": "dressing",
}


@pytest.fixture
def rig() -> Layout:
    return practice_rig()


def test_a_must_have_takes_what_serves_before_anything_useful_does(rig: Layout) -> None:
    asked = (
        Asked("long-board", MUST, 2, instead=("board-splints",)),
        Asked("board-splints", USEFUL, 1),
    )
    board, splints = want(rig, {"splint": "board-splints"}, asked)

    assert (board.quantity, board.short) == (2, 0)
    assert (splints.quantity, splints.short) == (0, 1)


def test_each_need_takes_of_its_own_things_before_anything_serves_instead() -> None:
    """Whatever the order of the needs: the board goes to who asks for boards, and the roll is
    taken instead of a board that the other has."""
    board = Wanted("board", MUST, 1, things=("board",), instead=("roll",))
    roll = Wanted("roll", MUST, 1, things=("roll",), instead=("board",))

    for needs in ((board, roll), (roll, board)):
        got = share(needs, {"board": 2, "roll": 2})
        assert [dict(each) for each in got] == [{each.things[0]: 1} for each in needs]


def test_own_things_come_first_though_what_serves_instead_would_do() -> None:
    """Of four, three are its own and one is not."""
    (got,) = share(
        [Wanted("a", MUST, 4, things=("own",), instead=("other",))], {"other": 9, "own": 3}
    )

    assert got == {"own": 3, "other": 1}


def test_what_is_ones_own_is_never_given_to_whom_it_merely_serves() -> None:
    """The one roll goes to who asks for rolls, whichever need is told first."""
    board = Wanted("board", MUST, 1, things=("board",), instead=("roll",))
    roll = Wanted("roll", MUST, 1, things=("roll",))

    assert [dict(each) for each in share((board, roll), {"roll": 1})] == [{}, {"roll": 1}]
    assert [dict(each) for each in share((roll, board), {"roll": 1})] == [{"roll": 1}, {}]


def test_what_serves_instead_is_aboard_too(rig: Layout) -> None:
    """A need of which nothing of its own is carried is not short while something serves."""
    (wanted,) = want(rig, TIES, [Asked("long-board", MUST, 1, instead=("board-splints",))])

    assert (wanted.quantity, wanted.short, wanted.instead) == (1, 0, ("splint",))


def test_what_is_not_aboard_is_short_and_not_asked_for(rig: Layout) -> None:
    asked = Asked("tourniquet-limb", MUST, 99)
    (wanted,) = want(rig, TIES, [asked])
    par = sum(line.par for line in rig.stock if line.key == "tourniquet")

    assert (wanted.quantity, wanted.short) == (par, 99 - par)
    assert want(rig, {}, [asked])[0].short == 99


@pytest.mark.parametrize("place", ["all its places", ""])
def test_what_is_reported_missing_is_not_asked_for(rig: Layout, place: str) -> None:
    asked = Asked("tourniquet-limb", MUST, 1)
    codes = rig.things["tourniquet"].places
    held = {("tourniquet", rig.by_code[code].key if place else "") for code in codes}

    (wanted,) = want(rig, TIES, [asked], held)

    assert (wanted.quantity, wanted.short) == (0, 1)


def test_a_place_reported_as_a_whole_holds_nothing(rig: Layout) -> None:
    codes = rig.things["tourniquet"].places
    held = {("", rig.by_code[code].key) for code in codes}

    assert want(rig, TIES, [Asked("tourniquet-limb", MUST, 1)], held)[0].short == 1


Made = tuple[Layout, dict[str, str], tuple[Wanted, ...]]


@st.composite
def tied_calls(draw: st.DrawFn) -> Made:
    """A layout, each of its stocked things tied to a need of its own, and must-haves of some."""
    layout = draw(layouts())
    keys = sorted({line.key for line in layout.stock})
    ties = {key: f"need-{number}" for number, key in enumerate(keys)}
    needs = sorted(ties.values())
    chosen = draw(st.lists(st.sampled_from(needs), unique=True, max_size=6))
    asked = []
    for need in chosen:
        others = draw(st.sets(st.sampled_from(needs), max_size=2)) - {need}
        asked.append(Asked(need, MUST, draw(st.integers(1, 3)), instead=tuple(sorted(others))))
    return layout, ties, want(layout, ties, asked)


@given(tied_calls())
def test_each_need_is_aboard_or_named_as_short(made: Made) -> None:
    layout, _, wanted = made
    for each in wanted:
        serving = {*each.things, *each.instead}
        aboard = sum(line.par for line in layout.stock if line.key in serving)
        assert each.quantity <= aboard
        assert 1 <= each.quantity + each.short <= 3


Shares = tuple[tuple[Wanted, ...], dict[str, int]]


@st.composite
def shares(draw: st.DrawFn) -> Shares:
    """Must-haves that can use each other's things, and how many there are of each thing."""
    things = draw(st.dictionaries(st.sampled_from("abcdef"), st.integers(0, 3)))
    some = st.lists(st.sampled_from("abcdef"), unique=True, max_size=3).map(tuple)
    wanted = st.builds(
        Wanted,
        need=st.text(max_size=3),
        grade=st.just(MUST),
        quantity=st.integers(0, 3),
        things=some,
        instead=some,
    )
    return draw(st.lists(wanted, max_size=5).map(tuple)), things


@given(shares())
def test_as_much_is_served_as_can_be(made: Shares) -> None:
    """The deficiency form of Hall's theorem: no set of needs gets more than the things that serve
    it, and the tightest set says how much all of them together get."""
    needs, things = made
    most = sum(each.quantity for each in needs)
    for kept in product([True, False], repeat=len(needs)):
        here = [each for each, is_kept in zip(needs, kept, strict=True) if is_kept]
        others = sum(each.quantity for each in needs) - sum(each.quantity for each in here)
        serving = {thing for each in here for thing in each.serving}
        most = min(most, others + sum(things.get(thing, 0) for thing in serving))

    got = share(needs, things)

    assert sum(each.total() for each in got) == most
    assert all(got[n].keys() <= set(each.serving) for n, each in enumerate(needs))
    for thing in "abcdef":
        assert sum(each[thing] for each in got) <= things.get(thing, 0)
