"""What many people's answers say together."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.cohort import (
    FEWEST_PEOPLE,
    TOO_FEW,
    Answer,
    as_asked,
    by_fact,
    counted,
    tally,
    told_people,
)
from drills.engine.dosing import OUT_OF_TOLERANCE, UNSAFE
from drills.engine.facts import BAG, ITEM, Fact, facts_of
from drills.engine.scoring import PARTLY, RIGHT, WRONG
from tests.layouts import practice_rig
from tests.reference import table

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
SPLINT = Fact(ITEM, "splint", "S1A")
CONE = Fact(ITEM, "traffic cone", "S1")
AT_80 = [row for row in table("wilson.csv") if row["confidence"] == "0.80"]
OUTCOMES = (RIGHT, PARTLY, WRONG)


def said(person: int, outcome: str, *, days: float = 0.0, fact: Fact = SPLINT) -> Answer:
    return Answer(person, fact, outcome, NOW - timedelta(days=days), f"answer {person} {days}")


def each_says(outcomes: Iterable[str]) -> list[Answer]:
    """One answer of each of as many people."""
    return [said(person, outcome) for person, outcome in enumerate(outcomes)]


@pytest.mark.parametrize("row", AT_80, ids=lambda row: f"{row['successes']}-of-{row['tries']}")
def test_the_interval_is_that_of_so_many_people(row: dict[str, str]) -> None:
    """Missed by so many of so many people has the ends that were worked out elsewhere."""
    missed, people = int(row["successes"]), int(row["tries"])

    found = tally(each_says([WRONG] * missed + [RIGHT] * (people - missed)))

    assert [f"{end:.4f}" for end in (found.low, found.high)] == [row["low"], row["high"]]
    assert found.share == missed / people


def test_a_person_counts_once_however_often_they_answer() -> None:
    """Thirty misses of one person weigh as one; all of them are among the answers."""
    found = tally(
        [*(said(1, WRONG, days=day) for day in range(30)), said(2, RIGHT), said(3, RIGHT)]
    )

    assert (found.answers, found.people, found.missed) == (32, 3, 1)
    assert found.share == pytest.approx(1 / 3)


def test_the_newest_answer_of_a_person_stands() -> None:
    """Who has learnt it since misses it no more, in whatever order the answers come."""
    answers = [said(1, RIGHT), said(1, WRONG, days=9), said(2, WRONG), said(2, RIGHT, days=9)]

    assert [each.outcome for each in counted(answers)] == [RIGHT, WRONG]
    assert counted(answers[::-1])[::-1] == counted(answers)


@given(
    st.lists(st.tuples(st.integers(0, 6), st.sampled_from(OUTCOMES)), min_size=1, max_size=30),
    st.lists(st.tuples(st.integers(0, 6), st.sampled_from(OUTCOMES)), max_size=30),
)
def test_older_answers_of_the_same_people_change_no_share(
    now: list[tuple[int, str]], before: list[tuple[int, str]]
) -> None:
    """Only the number of answers grows by what the same people answered earlier."""
    newest = [said(person, outcome) for person, outcome in dict(now).items()]
    older = [said(each, outcome, days=5) for each, outcome in before if each in dict(now)]

    found, alone = tally([*older, *newest]), tally(newest)

    assert (found.share, found.low, found.high) == (alone.share, alone.low, alone.high)
    assert found.answers == alone.answers + len(older)


@pytest.mark.parametrize(
    ("outcome", "miss"),
    [(RIGHT, 0), (PARTLY, 0.5), (WRONG, 1), (OUT_OF_TOLERANCE, 1), (UNSAFE, 1)],
)
def test_partly_right_is_half_missed(outcome: str, miss: float) -> None:
    """Whatever is neither right nor partly right is missed whole, a dose as well."""
    found = tally(each_says([outcome] * 4))

    assert found.share == miss
    assert (found.missed, found.partly) == (4 * (miss == 1), 4 * (miss == 0.5))


def test_on_several_facts_a_person_has_the_mean_of_their_own() -> None:
    """Who was asked nine things weighs no more than who was asked one."""
    many = [said(1, WRONG, fact=Fact(ITEM, str(number), "S1")) for number in range(9)]
    mixed = [said(2, RIGHT), said(2, WRONG, fact=CONE)]

    found = tally([*many, *mixed, said(3, RIGHT)])

    assert (found.people, found.missed) == (3, 10)
    assert found.share == pytest.approx((1 + 0.5 + 0) / 3)


@pytest.mark.parametrize("people", range(5))
def test_too_few_people_are_hidden(people: int) -> None:
    """Below three people there is nothing to show, however sure it were."""
    found = tally(each_says([WRONG] * people))

    assert found.is_hidden == (people < FEWEST_PEOPLE == 3)
    assert not (found.is_hidden and found.is_enough)


def test_a_share_is_shown_when_its_interval_is_narrow_enough() -> None:
    """Three of three leave .3538, wider than .35; four of four are enough, five of ten are not."""
    shown = [tally(each_says(outcomes)).is_enough for outcomes in ([WRONG] * 3, [WRONG] * 4)]

    assert shown == [False, True]
    assert not tally(each_says([WRONG, RIGHT] * 5)).is_enough
    assert tally(each_says([WRONG, RIGHT] * 9)).right_in_100 == 50
    assert tally(each_says([WRONG, RIGHT] * 5)).right_in_100 is None


def test_what_is_surely_missed_stands_first() -> None:
    """Fourteen of twenty go before four of four misses fewer by the lower end, then what is not
    enough, then what may not be told."""
    sure = tally(each_says([WRONG] * 19 + [RIGHT]))
    fewer = tally(each_says([WRONG] * 4))
    unsure = tally(each_says([WRONG] * 3))
    hidden = tally(each_says([WRONG] * 2))

    assert sure.low > fewer.low
    assert sorted([hidden, unsure, fewer, sure], key=lambda each: each.rank) == [
        *(sure, fewer, unsure, hidden)
    ]


def test_nobody_asked_is_no_share() -> None:
    """Without answers there are no people, and everything is possible."""
    found = tally([])

    assert (found.people, found.low, found.high) == (0, 0.0, 1.0)
    assert found.is_hidden


def test_places_of_one_item_are_asked_as_one() -> None:
    """The tourniquet has two places and is one thing; each bag and each other item is itself."""
    facts = facts_of(practice_rig())

    found = as_asked(facts)

    doubles = {together for together in found.values() if len(together) > 1}
    assert {each.thing for together in doubles for each in together} == {"tourniquet"}
    assert set(found) == set(facts)
    assert found[Fact(BAG, "BAG", "S1A")] == (Fact(BAG, "BAG", "S1A"),)


def test_answers_are_apart_by_fact() -> None:
    """Every answer is kept, under its own fact."""
    answers = [said(1, RIGHT), said(2, WRONG, fact=CONE), said(3, RIGHT)]

    assert by_fact(answers) == {SPLINT: [answers[0], answers[2]], CONE: [answers[1]]}


def test_one_or_two_people_are_told_in_words() -> None:
    """None and three or more are told in figures."""
    assert [told_people(count) for count in range(5)] == ["0", TOO_FEW, TOO_FEW, "3", "4"]


def test_simulated_answers_show_through() -> None:
    """One simulated answer among many is enough to say so."""
    made_up = Answer(9, SPLINT, RIGHT, NOW, "answer 9", is_simulated=True)

    assert tally([*each_says([RIGHT] * 5), made_up]).has_simulated
    assert not tally(each_says([RIGHT] * 5)).has_simulated


def test_imported_answers_show_through() -> None:
    """One imported answer among many is told in words, beside simulated ones."""
    taken = Answer(8, SPLINT, RIGHT, NOW, "answer 8", is_imported=True)
    made_up = Answer(9, SPLINT, RIGHT, NOW, "answer 9", is_simulated=True)
    seen = each_says([RIGHT] * 5)

    assert tally(seen).history == "answered by people"
    assert tally([*seen, taken]).history == "imported answers among them"
    assert tally([*seen, taken, made_up]).history == "simulated and imported answers among them"


def test_the_bar_runs_from_never_to_always() -> None:
    """Nobody missed it starts at the left end, everybody ends at the right one."""
    none, all_ = tally(each_says([RIGHT] * 9)).bar, tally(each_says([WRONG] * 9)).bar

    assert (none.at, none.low) == (6, 6)
    assert (all_.at, all_.high) == (184, 184)
    assert none.low < none.high < all_.high
