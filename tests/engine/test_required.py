"""What a list asks, judged against what is carried, and two states of a list told apart."""

from dataclasses import replace

import pytest

from drills.engine.required import (
    MET,
    MISSING,
    NOT_TIED,
    SHORT,
    Part,
    Requirement,
    Wanted,
    judge,
    keeps_tie,
    list_changes,
    read_wanted,
    write_wanted,
)

BOX_OF_100 = ((Part("gloves-exam", holds=100),),)
BOTH = ((Part("cot"), Part("cot-straps", 2)),)
EITHER = ((Part("aed"),), (Part("monitor"),))


@pytest.mark.parametrize(
    ("asked", "wanted", "carried", "state"),
    [
        (1, (), {"cot": 9}, NOT_TIED),
        (2, ((Part("cot"),),), {"cot": 2}, MET),
        (2, ((Part("cot"),),), {"cot": 1}, SHORT),
        (2, ((Part("cot"),),), {"cots": 2}, MISSING),
        (1, BOTH, {"cot": 1, "cot-straps": 2}, MET),
        (1, BOTH, {"cot": 1, "cot-straps": 1}, SHORT),
        (1, BOTH, {"cot": 1}, SHORT),
        (1, BOTH, {}, MISSING),
        (1, EITHER, {"monitor": 1}, MET),
        (2, EITHER, {"monitor": 1, "aed": 1}, SHORT),
        (1, EITHER, {}, MISSING),
        (100, BOX_OF_100, {"gloves-exam": 1}, MET),
        (101, BOX_OF_100, {"gloves-exam": 1}, SHORT),
        (100, ((Part("gloves-exam"),),), {"gloves-exam": 99}, SHORT),
    ],
)
def test_a_row_stands_as_what_is_carried_says(
    asked: int, wanted: Wanted, carried: dict[str, int], state: str
) -> None:
    """Every part of an alternative is wanted, any alternative will do, and a factor multiplies."""
    assert judge(asked, wanted, carried).state == state


def test_short_says_by_how_many_of_theirs() -> None:
    """Two boxes of a hundred are short of 250 gloves by fifty, and not by a box."""
    (part,) = judge(250, BOX_OF_100, {"gloves-exam": 2}).lacking

    assert (part.asked, part.carried, part.lacking) == (250, 2, 50)


def test_of_several_parts_those_that_lack_are_told() -> None:
    """What is there in full is no shortage."""
    judged = judge(1, BOTH, {"cot": 1, "cot-straps": 1})

    assert [(each.part.need, each.lacking) for each in judged.lacking] == [("cot-straps", 1)]


def test_the_alternative_that_comes_nearest_is_told() -> None:
    """Fewest parts short, then that of which something is carried."""
    wanted = ((Part("a"), Part("b")), (Part("c", 5),), (Part("d", 5),))

    assert [each.part.need for each in judge(1, wanted, {"d": 1}).parts] == ["d"]


def test_a_suggested_tie_is_shown_and_never_counts() -> None:
    """However much is suggested, the row is missing until a keeper confirms."""
    judged = judge(2, ((Part("cot"),),), {}, {"cot": 5})

    assert judged.state == MISSING
    assert judged.is_met_if_confirmed
    assert judged.parts[0].lacking == 2


def test_a_suggestion_that_is_too_little_promises_nothing() -> None:
    """Confirming it would leave the row short."""
    assert not judge(3, ((Part("cot"),),), {"cot": 1}, {"cot": 1}).is_met_if_confirmed


def test_the_alternative_that_would_be_met_is_told_beside_the_nearest() -> None:
    """What is to be confirmed may be of another alternative than the one that comes nearest."""
    wanted = ((Part("aed", 2),), (Part("monitor"), Part("pads")))

    judged = judge(1, wanted, {"aed": 1}, {"monitor": 1, "pads": 1})

    assert judged.state == SHORT
    assert [each.part.need for each in judged.parts] == ["aed"]
    assert [each.part.need for each in judged.if_confirmed] == ["monitor", "pads"]


def test_a_factor_is_never_of_lines_in_several_units() -> None:
    """Two pairs and a box of a hundred are not three hundred, and confirming makes them no more."""
    carried, box = {"gloves-exam": 3}, {"gloves-exam": 1}

    assert judge(250, BOX_OF_100, carried, units={"gloves-exam": (1, 1)}).state == MET
    mixed = judge(250, BOX_OF_100, carried, units={"gloves-exam": (2, 2)})
    assert mixed.state == SHORT
    assert [(each.is_uncounted, each.lacking) for each in mixed.lacking] == [(True, 250)]
    later = judge(200, BOX_OF_100, box, {"gloves-exam": 2}, {"gloves-exam": (1, 2)})
    assert not later.is_met_if_confirmed


def test_what_is_met_waits_for_no_confirmation() -> None:
    """A tie to confirm beside enough that is confirmed changes nothing."""
    assert not judge(1, ((Part("cot"),),), {"cot": 1}, {"cot": 1}).is_met_if_confirmed


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("cot", ((Part("cot"),),)),
        ("cot >= 2", ((Part("cot", 2),),)),
        ("gloves-exam >= 100 (one is 100)", ((Part("gloves-exam", 100, 100),),)),
        ("gloves-exam (one is 100)", BOX_OF_100),
        ("cot; cot-straps >= 2", BOTH),
        ("aed or monitor", EITHER),
        ("a >= 1; b or c", ((Part("a", 1), Part("b")), (Part("c"),))),
    ],
)
def test_the_notation_is_read_and_written(text: str, wanted: Wanted) -> None:
    """What is kept on a row says the same when it is read again."""
    assert read_wanted(text) == wanted
    assert write_wanted(wanted) == text


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "“” came in"),
        ("Cot", "“Cot” came in"),
        ("cot;", "“” came in"),
        ("cot >= 0", "“0” came in. A number from 1 to 99999"),
        ("cot >= 100000", "“100000” came in"),
        ("cot (one is 10000)", "“10000” came in. A number from 1 to 9999"),
        ("cot >= two", "“cot >= two” came in"),
        ("; ".join("abcdefghijklm"), "13 needs came in"),
    ],
)
def test_what_makes_no_sense_is_named(text: str, said: str) -> None:
    """A keeper reads what came in and what would be accepted."""
    with pytest.raises(ValueError, match="came in") as refused:
        read_wanted(text)

    assert said in str(refused.value)


def test_a_name_with_or_in_it_is_one_need() -> None:
    """Only words that are no name are taken apart."""
    assert read_wanted(
        "AED or the like", lambda words: "aed" if words == "AED or the like" else ""
    ) == ((Part("aed"),),)


ROW = Requirement(2, "Plan 7", "Splint", level="BLS", quantity=2, unit="each")


def test_changes_are_told_by_level_and_item() -> None:
    """Another number is a change; where the row stands and how it is capitalised decides nothing
    about which row it is."""
    moved, cased = replace(ROW, row=9), replace(ROW, item="SPLINT")
    more, other = replace(ROW, quantity=3), replace(ROW, level="ALS")

    assert list_changes([ROW], [moved]).is_none
    assert list_changes([ROW], [cased]).changed == ((ROW, cased),)
    assert list_changes([ROW], [more]).changed == ((ROW, more),)
    found = list_changes([ROW], [other])
    assert (found.added, found.removed, found.same) == ((other,), (ROW,), 0)


@pytest.mark.parametrize(
    ("now", "wanted", "keeps"),
    [
        (replace(ROW, source="Plan 8", status="read"), ((Part("a", 5),),), True),
        (replace(ROW, quantity=3), ((Part("a"),),), True),
        (replace(ROW, quantity=3), ((Part("a", 5),),), False),
        (replace(ROW, quantity=3), ((Part("a"),), (Part("b", 5),)), False),
        (replace(ROW, unit="Each"), ((Part("a"),),), True),
        (replace(ROW, unit="box"), ((Part("a"),),), False),
    ],
)
def test_a_tie_holds_while_it_answers_the_row(
    now: Requirement, wanted: Wanted, keeps: bool
) -> None:
    """A number of its own, or a unit, that is another makes it untrue."""
    assert keeps_tie(ROW, now, wanted) is keeps
