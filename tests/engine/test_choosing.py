"""What is chosen in groups: read, and judged by what was frozen with the question."""

import pytest

from drills.engine.choosing import (
    COUNTS,
    ONE,
    SOME,
    Choice,
    ChoosingError,
    Group,
    chosen_most,
    mark_chosen,
    one_right,
    refuse_choice,
)

LETTERS = tuple(Choice(each, each.upper()) for each in "abcd")
WHO = Group("who", "Who?", ONE, LETTERS, right=("a", "b"))
WHY = Group("why", "Why?", ONE, LETTERS, by=(("who:a", ("c",)), ("who:b", ("d",))), decides=False)
KIT = Group("kit", "What?", SOME, LETTERS, right=("a",), may=("b",))
TWO = Group("two", "Which two?", SOME, LETTERS, right=("a",), may=("b", "c"), take=2)
TALLY = Group("n", "How many?", COUNTS, LETTERS[:3], counts=(("a", 2), ("b", 0), ("c", 1)))


def outcome(said: str, *groups: Group) -> str:
    return mark_chosen([each.answer() for each in groups], said.split()).outcome


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ("who:a why:c", "right"),
        ("who:b why:d", "right"),
        ("who:a why:d", "partly"),
        ("who:c why:c", "wrong"),
        ("", "wrong"),
    ],
)
def test_a_reason_is_right_of_whom_it_is_said(said: str, found: str) -> None:
    """The reason of another patient only takes marks; another patient is wrong whatever is said."""
    assert outcome(said, WHO, WHY) == found


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ("kit:a", "right"),
        ("kit:a kit:b", "right"),
        ("kit:a kit:c", "partly"),
        ("kit:b", "wrong"),
    ],
)
def test_what_must_be_is_and_what_need_not_be_costs(said: str, found: str) -> None:
    """A must that is missed is wrong, what serves as well costs nothing, the rest takes marks."""
    assert outcome(said, KIT) == found


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ("two:a two:b", "right"),
        ("two:a two:c", "right"),
        ("two:a", "partly"),
        ("two:a two:d", "wrong"),
        ("two:b two:c", "wrong"),
    ],
)
def test_a_tie_is_right_either_way_and_nothing_is_left_over(said: str, found: str) -> None:
    """Of two to give one is owed, the other goes to either of two, giving one alone is half."""
    assert outcome(said, TWO) == found


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ("n:a n:a n:c", "right"),
        ("n:a n:c", "wrong"),
        ("n:a n:a n:b n:c", "wrong"),
    ],
)
def test_every_count_has_to_be_so(said: str, found: str) -> None:
    """One too few or too many of any is wrong."""
    assert outcome(said, TALLY) == found


def test_what_is_too_many_or_too_few_is_refused_in_words() -> None:
    """The words name what came in, and are the same whatever is right; nothing at all is let be."""
    shown = [WHO.shown(), TWO.shown()]

    refuse_choice(shown, [])
    for said, words in (
        (["two:a"], "Who? Nothing was chosen; one is accepted."),
        (["who:a", "who:b"], "Who? 2 came in; one is accepted."),
        (["who:a", "two:a", "two:b", "two:c"], "Which two? 3 came in; at most 2 are accepted."),
    ):
        with pytest.raises(ChoosingError) as refused:
            refuse_choice(shown, said)
        assert str(refused.value) == words


def test_what_is_shown_has_nothing_of_what_is_right() -> None:
    """The same group with another answer is shown the same."""
    other = Group("who", "Who?", ONE, LETTERS, right=("d",), by=(("kit:a", ("b",)),))

    assert other.shown() == WHO.shown()
    assert set(WHO.shown()) == {"key", "asks", "how", "take", "choices"}


def test_a_count_may_come_in_often_and_a_choice_once() -> None:
    """Counts go up to the most there may be."""
    assert chosen_most([TALLY.shown()], 9) == {"n:a": 9, "n:b": 9, "n:c": 9}
    assert set(chosen_most([WHO.shown()], 9).values()) == {1}


def test_the_answer_made_is_right() -> None:
    """What the simulation answers is judged right, of every way of asking."""
    groups = [each.answer() for each in (WHO, WHY, KIT, TWO, TALLY)]

    assert mark_chosen(groups, one_right(groups)).outcome == "right"


OPEN = Group("kit", "What?", SOME, LETTERS, right=("a",), may=("b", "c"), one_of=(("b", "c"),))


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ("kit:a kit:b", "right"),
        ("kit:a kit:c", "right"),
        ("kit:a kit:b kit:c", "right"),
        ("kit:a", "wrong"),
        ("kit:b kit:c", "wrong"),
        ("kit:a kit:c kit:d", "partly"),
    ],
)
def test_of_what_serves_alike_one_is_enough(said: str, found: str) -> None:
    """Without any of them it is wrong; which of them is left to whoever answers."""
    assert outcome(said, OPEN) == found


def test_what_is_right_has_one_of_each_and_what_is_lacking_is_told_together() -> None:
    """And a group of before, that knows nothing of it, is judged as it was."""
    assert one_right([OPEN.answer()]) == ["kit:a", "kit:b"]
    assert mark_chosen([OPEN.answer()], ["kit:a"]).groups[0].lacking == (("kit:b", "kit:c"),)
    before = {name: value for name, value in OPEN.answer().items() if name != "one_of"}
    assert mark_chosen([before], ["kit:a"]).outcome == "right"
    assert one_right([before]) == ["kit:a"]
