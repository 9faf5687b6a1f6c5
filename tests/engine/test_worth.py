"""What is worth asking next: what gains most, and the rules that stand beside it."""

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.facts import BAG, Fact, facts_of
from drills.engine.generation import FOCUS, PROBE, plan_drill
from drills.engine.lately import Lately, mark_of
from drills.engine.recipes import LOCATE, RecipeSpec
from drills.engine.worth import Asking, Outlook, Settings, asking_by_worth, gains
from drills.engine.worth.asking import (
    AFTER_A_MOVE,
    DUE_SHARE,
    LEAST_SUCCESS,
    LEAST_WEIGHT,
    LONGEST_GAP,
    MOST_SUCCESS,
    MOVE_IS_OLD,
    NEITHER,
    TOO_EASY,
    TOO_HARD,
    is_due,
)
from drills.engine.worth.gain import BESIDE_SEARCH, LEARNS, hangs_on, through
from drills.engine.worth.looking import NOT_NEEDED
from tests.engine.known_people import item
from tests.layouts import practice_rig

NEVER = float("nan")


def outlook(size: int = 6, **given_in: object) -> Outlook:
    """Things alike in all that is not given: known seven times in ten and in a month a tenth less,
    each behind its own door and in no bag."""
    chance = np.asarray(given_in.get("chance", 0.7))
    alike = {
        "chance": chance,
        "later": 0.9 * chance,
        "variance": 0.3,
        "seconds": 10.0,
        "matters": 1.0,
        "critical": False,
        "inside": -1,
        "days_since": 20.0,
        "moved_days": NEVER,
        "rests": False,
    }
    columns = {
        name: np.broadcast_to(np.asarray(given_in.get(name, value)), size).copy()
        for name, value in alike.items()
    }
    numbers = {name: np.asarray(given_in.get(name, np.arange(size))) for name in ("zone", "beside")}
    facts = tuple(item(f"thing {number}") for number in range(size))
    return Outlook(facts=facts, **(columns | numbers))  # type: ignore[arg-type]  # columns by name


def weights(asking: Asking) -> list[float]:
    return list(asking.weights.values())


@pytest.mark.parametrize(
    ("name", "better"),
    [
        ("chance", (0.9, 0.7, 0.4)),
        ("variance", (0.0, 0.5, 2.0)),
        ("later", (0.7, 0.6, 0.2)),
        ("seconds", (30.0, 12.0, 6.0)),
        ("matters", (0.2, 1.0, 3.0)),
    ],
)
def test_what_is_less_known_fades_faster_matters_more_or_is_quicker_gains_more(
    name: str, better: tuple[float, ...]
) -> None:
    gained = gains(outlook(3, **{name: np.array(better)}))
    assert list(gained) == sorted(gained)
    assert len(set(gained)) == 3


@given(chance=st.floats(0.0, 1.0), later=st.floats(0.0, 1.0), variance=st.floats(0.0, 9.0))
def test_a_gain_is_a_finite_amount_and_never_less_than_nothing(
    chance: float, later: float, variance: float
) -> None:
    gained = gains(outlook(1, chance=chance, later=later, variance=variance))
    assert np.isfinite(gained).all()
    assert (gained >= 0).all()


def test_what_is_known_for_long_is_hardly_worth_a_question() -> None:
    known, new = gains(
        outlook(2, chance=np.array([0.995, 0.3]), later=np.array([0.995, 0.3]), variance=0.01)
    )
    assert known < new / 50


def test_what_is_right_and_fades_gains_more_than_what_is_right_and_stays() -> None:
    fades, stays = gains(outlook(2, chance=0.95, later=np.array([0.5, 0.94])))
    assert fades > 3 * stays


def test_a_miss_takes_as_long_again() -> None:
    """It is shown, and asked for once more before the drill ends."""
    gained = gains(outlook(3, chance=np.array([0.0, 0.5, 0.9]), later=0.5, variance=0.0))
    would = LEARNS * (1 - np.array([0.25, 0.5, 0.7])) / (10.0 + BESIDE_SEARCH)

    assert gained == pytest.approx(would / np.array([2.0, 1.5, 1.1]), rel=1e-3)


def test_what_hangs_on_a_bag_is_all_that_it_holds() -> None:
    """Of three things in a bag that is found six times in ten, and one beside it: to know the bag
    for sure finds as much more as brute force says, and so does to know each thing."""
    inside, matters = np.array([-1, 0, 0, 0, -1]), np.array([9.0, 1.0, 1.0, 0.1, 1.0])
    chance = np.array([0.6, 0.5, 0.9, 0.4, 0.7])
    bag = Fact(BAG, "bag", "shelf")
    held = replace(outlook(5, inside=inside, matters=matters), facts=(bag, *outlook(4).facts))

    def found(known: np.ndarray) -> float:
        return float(known[0] * (known[1:4] @ matters[1:4]) + known[4])

    brute = [(found(chance + 0.1 * each) - found(chance)) / 0.1 for each in np.eye(5)]
    assert hangs_on(held, chance) == pytest.approx(brute)


def test_a_bag_in_a_bag_is_reached_through_both() -> None:
    chance = np.array([0.5, 0.8, 0.9])
    assert through(np.array([-1, 0, 1]), chance) == pytest.approx([1.0, 0.5, 0.4])


def test_a_bag_counts_once_whichever_of_its_things_is_asked_for() -> None:
    """What a bag gains is shared out: together its things gain what they and the bag do."""
    bag = Fact(BAG, "bag", "shelf")
    facts = (bag, *outlook(3).facts)
    plain = {"chance": np.array([0.4, 0.5, 0.8, 0.6]), "seconds": 0.0, "variance": 0.0}
    held = replace(outlook(4, inside=np.array([-1, 0, 0, -1]), **plain), facts=facts)
    gained = gains(held) * BESIDE_SEARCH * (2 - held.success)
    known = 0.95 * held.chance

    assert gained[0] == 0
    assert gained.sum() == pytest.approx(hangs_on(held, known) @ (LEARNS * (1 - known)), rel=1e-3)
    assert gained[1] > gained[2]


def test_of_what_lies_in_two_places_the_second_counts_little_once_one_is_known() -> None:
    twice = outlook(3, chance=np.array([0.9, 0.3, 0.3]))
    facts = (item("gauze", "one"), item("gauze", "two"), item("splint"))
    two, alone = replace(twice, facts=facts), gains(twice)[1]

    assert two.success[0] == two.success[1] == pytest.approx(1 - 0.1 * 0.7)
    assert gains(two)[1] < alone / 4
    assert gains(two)[2] == pytest.approx(alone)


def test_alike_things_are_asked_for_alike() -> None:
    asking = asking_by_worth(outlook())

    assert weights(asking) == [1.0] * 6
    assert asking.success == pytest.approx(0.7)
    assert asking.bound == NEITHER


def test_weights_are_one_in_the_mean_whatever_they_are() -> None:
    asking = asking_by_worth(outlook(chance=np.linspace(0.5, 0.9, 6)))
    assert np.mean(weights(asking)) == pytest.approx(1.0, abs=1e-4)
    assert weights(asking) == sorted(weights(asking), reverse=True)


def test_a_zone_with_much_to_ask_does_not_take_the_whole_drill() -> None:
    """Ten things behind one door and one behind another: the one is asked for more than each."""
    asking = weights(asking_by_worth(outlook(11, zone=np.array([0] * 10 + [1]))))

    assert asking[-1] == pytest.approx(asking[0] * np.sqrt(10), rel=1e-3)


def test_what_lies_beside_what_was_asked_this_week_comes_before_the_rest() -> None:
    asking = weights(
        asking_by_worth(
            outlook(4, beside=np.array([0, 0, 1, 1]), days_since=np.array([3.0, 20.0, 20.0, 9.0]))
        )
    )
    assert asking[1] > 1.3 * asking[2]
    assert asking[0] == asking[2] == asking[3]


def test_nothing_critical_is_left_for_longer_than_it_may_be() -> None:
    """However well it is known; what is not critical waits, and what was asked lately too."""
    days = np.array([LONGEST_GAP - 7, LONGEST_GAP - 8, 400.0, NEVER])
    critical = np.array([True, True, False, True])

    due = is_due(outlook(4, days_since=days, critical=critical))
    asking = weights(
        asking_by_worth(outlook(4, days_since=days, critical=critical, chance=[0.9, 0.6, 0.6, 0.6]))
    )

    assert list(due) == [True, False, False, False]
    assert asking[0] > 10 * max(asking[1:])


def test_what_is_critical_and_was_never_asked_waits_no_longer_either() -> None:
    never = outlook(2, days_since=NEVER, critical=np.array([True, False]))

    assert list(is_due(replace(never, drilled_for=LONGEST_GAP - 8))) == [False, False]
    assert list(is_due(replace(never, drilled_for=LONGEST_GAP - 7))) == [True, False]


@pytest.mark.parametrize(
    ("moved", "since", "expected"),
    [
        (0.5, 60.0, False),
        (1.0, 60.0, True),
        (2.9, 1.5, False),
        (2.9, 2.0, True),
        (2.9, 1.0, False),
        (4.0, 1.5, True),
        (4.0, 0.5, False),
        (7.5, 3.0, True),
        (20.0, 12.9, False),
        (22.0, 2.0, True),
        (22.0, 1.0, False),
        (22.0, NEVER, True),
        (MOVE_IS_OLD, 200.0, True),
        (MOVE_IS_OLD + 1, 200.0, False),
        (NEVER, 200.0, False),
    ],
)
def test_what_moved_is_asked_again_after_one_three_seven_and_21_days(
    moved: float, since: float, expected: bool
) -> None:
    assert is_due(outlook(1, moved_days=moved, days_since=since)) == [expected]


def test_a_thing_that_moved_is_asked_four_times_by_who_drills_daily() -> None:
    asked: list[float] = []
    for day in np.arange(0.0, 60.0):
        since = day - asked[-1] if asked else NEVER
        if is_due(outlook(1, moved_days=day, days_since=since))[0]:
            asked.append(day)
    assert asked == list(AFTER_A_MOVE)


@given(chances=st.lists(st.floats(0.02, 0.98), min_size=3, max_size=30))
def test_a_drill_is_neither_hopeless_nor_dull_as_far_as_there_is_a_way(
    chances: list[float],
) -> None:
    asking = asking_by_worth(outlook(len(chances), chance=np.array(chances)))
    if max(chances) > LEAST_SUCCESS + 0.05:
        assert asking.success >= LEAST_SUCCESS - 0.05
    if min(chances) < MOST_SUCCESS - 0.05:
        assert asking.success <= MOST_SUCCESS + 0.05
    assert all(each >= 0 for each in weights(asking))


def test_the_guard_says_when_it_bound_and_keeps_what_it_can() -> None:
    mixed = np.array([0.1, 0.1, 0.1, 0.1, 0.8, 0.9])
    hard = asking_by_worth(outlook(chance=mixed))
    free = asking_by_worth(outlook(chance=mixed), Settings(least_success=0.0))
    easy = asking_by_worth(
        outlook(chance=np.array([0.99] * 5 + [0.85]), seconds=np.array([5.0] * 5 + [200.0]))
    )

    assert (hard.bound, free.bound, easy.bound) == (TOO_HARD, NEITHER, TOO_EASY)
    assert hard.success == pytest.approx(LEAST_SUCCESS, abs=1e-3)
    assert free.success < LEAST_SUCCESS
    assert easy.success == pytest.approx(MOST_SUCCESS, abs=1e-3)


def test_what_was_right_within_the_week_rests_and_does_not_make_a_drill_easy() -> None:
    """It will not be drawn, so that it is no part of what success is expected."""
    rests = np.array([True, True, False, False, False, False])
    chance = np.array([0.99, 0.99, 0.2, 0.2, 0.7, 0.7])
    asking = asking_by_worth(outlook(chance=chance, rests=rests))

    assert weights(asking)[:2] == [LEAST_WEIGHT] * 2
    assert asking.bound == TOO_HARD
    free = np.array(weights(asking)[2:])
    assert free @ chance[2:] / free.sum() == pytest.approx(LEAST_SUCCESS, abs=1e-3)


def test_where_all_was_right_within_the_week_it_is_asked_again() -> None:
    assert weights(asking_by_worth(outlook(rests=True))) == [1.0] * 6


def test_a_drill_is_made_easier_by_must_haves_that_are_known() -> None:
    """Not by what no call asks for, however well that is known."""
    chance, matters = np.array([0.1, 0.9, 0.9]), np.array([1.0, 1.0, NOT_NEEDED])
    asking = asking_by_worth(outlook(3, chance=chance, matters=matters, zone=[0, 0, 0]))

    assert asking.bound == TOO_HARD
    assert asking.success == pytest.approx(LEAST_SUCCESS, abs=1e-3)
    assert weights(asking)[1] > 100 * weights(asking)[2]


@pytest.mark.parametrize(("known", "comes_first"), [(0.80, True), (0.98, False)])
def test_what_no_call_asks_for_has_its_turn_once_must_haves_are_known(
    known: float, comes_first: bool
) -> None:
    chance, matters = np.array([known, 0.5]), np.array([1.0, NOT_NEEDED])
    must, rest = gains(outlook(2, chance=chance, later=chance, matters=matters))
    assert (must > rest) == comes_first


@pytest.mark.parametrize("due", [1, 2, 5])
def test_what_is_due_has_a_third_of_the_drill_however_hard_it_is(due: int) -> None:
    """And where a drill can be made easier nevertheless, it is."""
    chance = np.array([0.05] * due + [0.9] * 3 + [0.05] * 2)
    moved = np.array([7.0] * due + [NEVER] * 5)
    asking = asking_by_worth(outlook(5 + due, chance=chance, moved_days=moved, days_since=NEVER))
    asked = np.array(weights(asking))

    assert asking.bound == TOO_HARD
    assert asked[:due].sum() / asked.sum() >= DUE_SHARE - 1e-6
    assert asking.success == pytest.approx(asked @ chance / asked.sum(), abs=1e-3)
    assert 0.55 < asking.success <= LEAST_SUCCESS + 1e-3


def test_where_everything_is_due_a_drill_is_kept_within_bounds() -> None:
    chance = np.array([0.1, 0.1, 0.1, 0.1, 0.8, 0.9])
    asking = asking_by_worth(outlook(chance=chance, critical=True, days_since=100.0))
    assert asking.success == pytest.approx(LEAST_SUCCESS, abs=1e-3)


def test_of_a_bag_that_is_due_all_that_it_holds_is() -> None:
    """Any of it asks for the bag."""
    inside = np.array([-1, 0, 0, -1])
    facts = (Fact(BAG, "bag", "shelf"), *outlook(3).facts)
    moved = np.array([7.0, NEVER, NEVER, NEVER])
    plain = outlook(4, chance=0.9, inside=inside, moved_days=moved, days_since=30.0)
    held = replace(plain, facts=facts)
    asked = weights(asking_by_worth(held))

    assert asked[0] == asked[1] == asked[2] > 10 * asked[3]


def test_what_moved_comes_again_though_it_was_right_two_days_ago() -> None:
    rig = practice_rig()
    facts = facts_of(rig)
    thing = next(fact for fact in facts if fact.kind == "item")
    here = np.array([fact == thing for fact in facts])
    known = replace(
        outlook(
            len(facts),
            moved_days=np.where(here, 3.0, NEVER),
            days_since=np.where(here, 2.0, 20.0),
            rests=here,
        ),
        facts=facts,
    )
    asking = asking_by_worth(known)
    spec = RecipeSpec("test", ((LOCATE, 1),))
    first = plan_drill(rig, spec, seed=0, weights=asking.weights).prompts[0]

    assert asking.again == {str(thing)}
    assert first.subject == thing.thing
    for again, comes in ((asking.again, True), (frozenset(), False)):
        lately = Lately(known=frozenset({mark_of(first)}), again=again)
        drawn = plan_drill(rig, spec, seed=0, weights=asking.weights, lately=lately).prompts[0]
        assert (drawn.subject == thing.thing) == comes


def test_where_everything_is_hard_the_least_hard_is_asked_most() -> None:
    asking = asking_by_worth(outlook(3, chance=np.array([0.1, 0.2, 0.3])))
    assert asking.bound == TOO_HARD
    assert weights(asking)[2] > weights(asking)[1] > weights(asking)[0] > 0.1


def test_nobody_is_asked_nothing() -> None:
    empty = outlook(1)
    columns = {f.name: np.array([]) for f in fields(empty)[1:-1]}
    none = replace(empty, facts=(), **columns)  # type: ignore[arg-type]  # columns by name
    assert asking_by_worth(none) == Asking({}, 0.0, NEITHER)


def test_a_drill_is_drawn_by_it_and_one_in_five_is_a_probe() -> None:
    """Of 200 drills of one rig those drawn by weight ask more of what is not known; the probes,
    drawn from everything, are about one in five and do not."""
    rig = practice_rig()
    facts = facts_of(rig)
    weak = {fact for fact in facts if fact.kind == "item"} - set(facts[::3])
    known = outlook(len(facts), chance=np.array([0.5 if f in weak else 0.95 for f in facts]))
    asking = asking_by_worth(replace(known, facts=facts))
    spec = RecipeSpec("test", ((LOCATE, 4),), probes_share=0.2)
    things = {fact.thing for fact in weak}

    prompts = [
        prompt
        for seed in range(200)
        for prompt in plan_drill(rig, spec, seed=seed, weights=asking.weights).prompts
    ]
    asked = {
        chosen: np.mean([each.subject in things for each in prompts if each.chosen == chosen])
        for chosen in (PROBE, FOCUS)
    }

    assert np.mean([each.chosen == PROBE for each in prompts]) == pytest.approx(0.2, abs=0.05)
    assert asked[FOCUS] > asked[PROBE] + 0.1
