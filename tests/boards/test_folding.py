"""What few people gave is told with the next, so that it cannot be worked out from the whole."""

from datetime import UTC, datetime

from hypothesis import given
from hypothesis import strategies as st

from drills.boards.educator import split_by
from drills.boards.folding import folded
from drills.engine.cohort import FEWEST_PEOPLE, Answer
from drills.engine.facts import ITEM, Fact
from drills.engine.scoring import ELSEWHERE, NEXT_DOOR, OLD_PLACE, WRONG
from drills.runs.answered import UNKNOWN

NOW = datetime(2026, 11, 25, 5, 40, tzinfo=UTC)


def said_by(*people: int) -> list[Answer]:
    return [Answer(each, Fact(ITEM, "splint", "S1"), WRONG, NOW, str(each)) for each in people]


PARTS = st.dictionaries(
    st.sampled_from("abcdefg"),
    st.lists(st.integers(0, 12), min_size=1, max_size=9).map(lambda people: said_by(*people)),
)


@given(PARTS)
def test_no_part_of_too_few_people_stands_alone(parts: dict[str, list[Answer]]) -> None:
    """Apart stands what enough people gave; as one at least two parts of enough, or all of it."""
    apart, as_one = folded(parts)

    assert apart.keys() | as_one.keys() == parts.keys()
    assert not apart.keys() & as_one.keys()
    for told in apart.values():
        assert len({each.person for each in told}) >= FEWEST_PEOPLE
    if as_one and apart:
        assert len(as_one) > 1
        together = {each.person for told in as_one.values() for each in told}
        assert len(together) >= FEWEST_PEOPLE


@given(PARTS)
def test_what_enough_people_gave_stays_apart_where_nothing_is_left_over(
    parts: dict[str, list[Answer]],
) -> None:
    apart, as_one = folded(parts)

    if all(len({each.person for each in told}) >= FEWEST_PEOPLE for told in parts.values()):
        assert (apart, as_one) == (parts, {})


def test_one_kind_that_few_gave_is_told_with_the_smallest() -> None:
    """7 in the old place, 2 next door, 6 elsewhere: of 15 the two would be what is missing."""
    kinds = {
        ELSEWHERE: said_by(*range(6)),
        OLD_PLACE: said_by(*range(7)),
        NEXT_DOOR: said_by(0, 1),
    }

    splits = split_by(kinds, of=15)

    assert [(each.words, each.count, each.percent) for each in splits] == [
        ("look in the old place", 7, 47),
        ("look next door or elsewhere", 8, 53),
    ]


def test_two_kinds_that_few_gave_are_told_as_one() -> None:
    kinds = {OLD_PLACE: said_by(*range(7)), UNKNOWN: said_by(0, 1), NEXT_DOOR: said_by(2, 3)}

    splits = split_by(kinds, of=11)

    assert [(each.words, each.count, each.is_shown) for each in splits] == [
        ("look in the old place", 7, True),
        ("look next door or did not know", 4, True),
    ]


def test_where_all_are_too_few_no_count_is_shown() -> None:
    (split,) = split_by({OLD_PLACE: said_by(1), NEXT_DOOR: said_by(2)}, of=9)

    assert not split.is_shown
