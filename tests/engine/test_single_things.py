"""Single things at the open doors: what is seen of one, and what that tells."""

import pytest

from drills.engine.facts import steps
from drills.engine.observing import (
    FOUND,
    HELPED,
    NOT_FOUND,
    Seen,
    SheetError,
    SheetLine,
    outcome_alone,
    read_seen,
    seen_alone,
)
from drills.engine.prompts import bag_subject
from drills.engine.scoring import PARTLY, RIGHT, WRONG, Finding
from drills.engine.timing import AT_RIG, IN_TIME, LATE, judge_time
from tests.layouts import practice_rig

RIG = practice_rig()


def line(thing: str, *places: str) -> SheetLine:
    return SheetLine("", "must", 1, thing, thing.capitalize(), places, is_locked=False)


def in_a_bag() -> tuple[SheetLine, str]:
    """A thing of the practice rig that lies in one bag alone, and the code of the bag."""
    for key, thing in RIG.things.items():
        bags = [each.code for each in RIG.chain(thing.places[0]) if each.is_bag]
        if len(thing.places) == 1 and bags and RIG.chain(thing.places[0])[0].code != bags[0]:
            return line(key, *thing.places), bags[0]
    raise AssertionError("The practice rig has no such thing.")


@pytest.mark.parametrize(
    ("seen", "outcome", "words"),
    [
        (Seen(FOUND), RIGHT, "Found"),
        (Seen(FOUND, 1), PARTLY, "Found, 1 wrong place"),
        (Seen(HELPED), PARTLY, "With help"),
        (Seen(HELPED, 2), PARTLY, "With help, 2 wrong places"),
        (Seen(NOT_FOUND, 3), WRONG, "Did not find, 3 wrong places"),
    ],
)
def test_found_at_once_and_alone_is_right(seen: Seen, outcome: str, words: str) -> None:
    assert (seen.outcome, seen.words) == (outcome, words)


def test_what_cannot_be_seen_of_a_thing_is_refused() -> None:
    with pytest.raises(
        SheetError, match=r"'brought' came in for a thing\. found, helped, not-found"
    ):
        read_seen("brought", 0)


def test_found_tells_of_the_thing_and_of_the_bag_it_was_in() -> None:
    asked, _ = in_a_bag()
    facts = steps(RIG, asked.thing, asked.places[0])
    assert {
        each.fact: each.outcome for each in seen_alone(RIG, asked, Seen(FOUND))
    } == dict.fromkeys(facts, RIGHT)


@pytest.mark.parametrize(
    ("seen", "outcome"),
    [(Seen(FOUND, 1), PARTLY), (Seen(HELPED), PARTLY), (Seen(NOT_FOUND), WRONG)],
)
def test_found_any_other_way_tells_of_the_thing_alone(seen: Seen, outcome: str) -> None:
    asked, _ = in_a_bag()
    item = steps(RIG, asked.thing, asked.places[0])[-1]
    assert seen_alone(RIG, asked, seen) == (Finding(item, outcome, ""),)


def test_what_lies_in_two_places_tells_of_none_once_it_is_found() -> None:
    asked, _ = in_a_bag()
    doubled = line(asked.thing, *asked.places, next(iter(RIG.by_code)))
    assert seen_alone(RIG, doubled, Seen(FOUND)) == ()
    assert len(seen_alone(RIG, doubled, Seen(NOT_FOUND))) == 1


def test_a_bag_tells_of_itself() -> None:
    _, bag = in_a_bag()
    (found,) = seen_alone(RIG, line(bag_subject(bag), bag), Seen(FOUND))
    assert (found.fact.kind, found.fact.thing, found.outcome) == (
        "bag",
        RIG.by_code[bag].key,
        RIGHT,
    )


@pytest.mark.parametrize(
    ("seen", "outcome"),
    [
        ([], ""),
        ([Seen(FOUND), Seen(FOUND)], RIGHT),
        ([Seen(FOUND), Seen(HELPED)], PARTLY),
        ([Seen(HELPED), Seen(NOT_FOUND), Seen(FOUND)], WRONG),
    ],
)
def test_all_together_are_as_the_worst_of_them(seen: list[Seen], outcome: str) -> None:
    assert outcome_alone(seen) == outcome


@pytest.mark.parametrize(("seconds", "verdict"), [(15.5, IN_TIME), (15.51, LATE)])
def test_late_is_more_than_half_a_second_over_the_cart_standard(
    seconds: float, verdict: str
) -> None:
    """15 s: the goal for each item of a standardised cart, Hospital Pediatrics 2016;6(2):67."""
    assert judge_time(seconds, server=seconds, limit=AT_RIG, cut_off=None) == verdict
