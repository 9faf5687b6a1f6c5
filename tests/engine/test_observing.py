"""A kit at the open doors: the lines of a sheet, the watch, and what was seen of each line."""

from dataclasses import replace

import pytest

from drills.engine.calls import MUST, NEEDLESS, USEFUL
from drills.engine.facts import BAG, ITEM, Fact
from drills.engine.observing import (
    AWAY,
    BROUGHT,
    CLOSED,
    DEEDS,
    HELPED,
    OPENED,
    RUNNING,
    SEEN,
    SEEN_ALONE,
    STATE_WORDS,
    STOPPED,
    WRONG_THING,
    Observed,
    Seen,
    SheetError,
    facts_asked,
    observe,
    read_watch,
    refuse_deed,
    seen_alone,
    sheet_lines,
)
from drills.engine.prompts import bag_subject, skill_of
from drills.engine.recipes import STAGE
from drills.engine.scoring import PARTLY, RIGHT, WRONG
from drills.engine.timing import UNVERIFIED, VERIFIED
from drills.engine.wanted import Wanted
from tests.layouts import practice_rig

RIG = practice_rig()
SKILL = skill_of(STAGE, "bleeding")
GAUZE = Wanted("gauze", USEFUL, 2, things=("gauze roll",))
DRESSING = Wanted("dressing", USEFUL, 1, things=("trauma dressing",))
TOURNIQUET = Wanted("tourniquet", MUST, 1, things=("tourniquet",))
SPLINT = Wanted("splint", NEEDLESS, 1, things=("splint",))
KIT = (GAUZE, TOURNIQUET, DRESSING, SPLINT)
LINES = sheet_lines(RIG, KIT)


def seen(marks: dict[int, str], *, wrong_doors: int = 0) -> Observed:
    return observe(RIG, LINES, marks, wrong_doors=wrong_doors, skill=SKILL)


def test_must_haves_come_first_and_needless_things_not_at_all() -> None:
    assert [(line.thing, line.is_must) for line in LINES] == [
        ("tourniquet", True),
        ("gauze roll", False),
        ("trauma dressing", False),
    ]


def test_what_is_not_aboard_or_reported_missing_is_not_on_the_sheet() -> None:
    unknown = replace(TOURNIQUET, things=("nothing of ours",))
    assert sheet_lines(RIG, [unknown]) == ()
    assert sheet_lines(RIG, [TOURNIQUET], held=[("tourniquet", "")]) == ()
    assert sheet_lines(RIG, [replace(TOURNIQUET, quantity=0)]) == ()


def test_what_serves_instead_is_on_the_sheet_where_its_own_is_missing() -> None:
    either = replace(TOURNIQUET, instead=("gauze roll",))
    (line,) = sheet_lines(RIG, [either], held=[("tourniquet", "")])
    assert line.thing == "gauze roll"


def test_the_place_nearest_to_the_cot_stands_first() -> None:
    assert LINES[0].places == ("I1A", "BAG-M")


def test_what_is_behind_a_lock_is_named_and_not_taken_out() -> None:
    (line,) = sheet_lines(RIG, [replace(TOURNIQUET, things=("fentanyl",))])
    assert line.is_locked
    assert not LINES[0].is_locked


@pytest.mark.parametrize(
    ("marks", "wrong_doors", "outcome"),
    [
        ({0: BROUGHT}, 0, RIGHT),
        ({0: BROUGHT, 1: BROUGHT}, 0, RIGHT),
        ({0: BROUGHT}, 1, PARTLY),
        ({0: HELPED}, 0, PARTLY),
        ({0: BROUGHT, 1: WRONG_THING}, 0, PARTLY),
        ({0: WRONG_THING}, 0, WRONG),
        ({1: BROUGHT}, 0, WRONG),
        ({}, 0, WRONG),
    ],
)
def test_a_must_have_that_is_not_brought_fails_the_kit(
    marks: dict[int, str], wrong_doors: int, outcome: str
) -> None:
    found = seen(marks, wrong_doors=wrong_doors)
    assert found.outcome == outcome
    assert found.alone[0].fact == SKILL
    assert found.alone[0].outcome == outcome
    assert bool(found.missing) == (outcome == WRONG)


def of(found: Observed) -> dict[Fact, str]:
    return {each.fact: each.outcome for each in found.alone[1:]}


def test_a_thing_brought_tells_of_its_place_and_of_the_bag_it_came_from() -> None:
    assert of(seen({0: BROUGHT, 1: BROUGHT, 2: BROUGHT})) == {
        Fact(ITEM, "gauze roll", "I1A"): RIGHT,
        Fact(BAG, "BAG", "S1A"): RIGHT,
        Fact(ITEM, "trauma dressing", "BAG-M"): RIGHT,
    }


def test_what_lies_in_two_places_tells_of_neither_when_it_is_brought() -> None:
    assert of(seen({0: BROUGHT})) == {}
    assert seen({0: HELPED}).helped == ()


def test_what_was_not_marked_says_nothing_of_where_it_lies() -> None:
    assert of(seen({})) == {}


def test_a_wrong_thing_counts_for_the_place_nearest_to_the_cot_and_for_no_bag() -> None:
    assert of(seen({0: WRONG_THING, 2: WRONG_THING})) == {
        Fact(ITEM, "tourniquet", "I1A"): WRONG,
        Fact(ITEM, "trauma dressing", "BAG-M"): WRONG,
    }


def test_what_came_after_help_is_kept_apart_and_is_not_right() -> None:
    found = seen({0: BROUGHT, 1: HELPED})
    assert [(each.fact, each.outcome) for each in found.helped] == [
        (Fact(ITEM, "gauze roll", "I1A"), PARTLY)
    ]
    assert of(found) == {}


@pytest.mark.parametrize(
    ("opened", "claim", "ago", "expected"),
    [
        (60.0, 41.0, 0.0, (41.0, 0.0, VERIFIED)),  # the officer's watch
        (600.0, 41.0, 550.0, (41.0, 550.0, VERIFIED)),  # sent without signal, nine minutes later
        (41.0, 41.2, 0.0, (41.2, 0.0, VERIFIED)),  # within a quarter of a second
        (41.0, 41.3, 0.0, (30.0, 0.0, UNVERIFIED)),  # longer than there was time
        (60.0, 41.0, 30.0, (30.0, 0.0, UNVERIFIED)),  # both together longer
        (60.0, 0.2, 0.0, (30.0, 0.0, UNVERIFIED)),  # too short for anybody
        (60.0, None, 0.0, (30.0, 0.0, UNVERIFIED)),  # no script
        (60.0, float("nan"), 0.0, (30.0, 0.0, UNVERIFIED)),
        (60.0, 41.0, float("inf"), (30.0, 0.0, UNVERIFIED)),
        (60.0, 41.0, -5.0, (30.0, 0.0, UNVERIFIED)),
    ],
)
def test_the_officers_watch_counts_where_it_can_be_true(
    opened: float, claim: float | None, ago: float, expected: tuple[float, float, str]
) -> None:
    """Else the server's, which heard of the start thirty seconds ago."""
    watch = read_watch(claim, ago=ago, opened=opened, started=30.0)
    assert (watch.seconds, watch.ago, watch.state) == expected


def test_a_clock_that_was_put_back_gives_no_time_below_nothing() -> None:
    assert read_watch(None, opened=-1.0, started=-1.0).seconds == 0.0


@pytest.mark.parametrize("deed", DEEDS)
@pytest.mark.parametrize("state", STATE_WORDS)
def test_a_deed_is_done_in_its_states_alone_and_refused_in_words(state: str, deed: str) -> None:
    may = {
        "start": {OPENED},
        "stop": {OPENED, RUNNING},
        "away": {OPENED, RUNNING, STOPPED},
        "close": {STOPPED, AWAY},
    }
    if state in may[deed]:
        refuse_deed(state, deed)
        return
    with pytest.raises(SheetError, match=STATE_WORDS[state]) as refused:
        refuse_deed(state, deed)
    assert ("stands" in str(refused.value)) is (state == CLOSED)


def test_every_fact_that_a_mark_may_tell_of_is_among_those_asked() -> None:
    """Whatever is marked of a kit, of a single thing or of a bag was thought of before."""
    line = LINES[0]
    kit = tuple(
        replace(line, thing=key, places=tuple(each.places)) for key, each in RIG.things.items()
    )
    bag = replace(line, thing=bag_subject("BAG"), places=("S1A",))
    asked = set(facts_asked(RIG, (*kit, bag)))
    marked = [
        observe(RIG, kit, dict.fromkeys(range(len(kit)), said), wrong_doors=0, skill=SKILL)
        for said in SEEN
    ]
    of_kits = {each.fact for found in marked for each in (*found.alone, *found.helped)}
    alone = {
        found.fact
        for each in (*kit, bag)
        for said in SEEN_ALONE
        for found in seen_alone(RIG, each, Seen(said))
    }

    assert of_kits - {SKILL} <= asked
    assert alone <= asked
    assert {fact.kind for fact in alone} == {BAG, ITEM}


@pytest.mark.parametrize(
    ("is_locked", "told"),
    [
        (False, ["Brought", "With help", "Wrong thing", "Not brought"]),
        (True, ["Named", "With help", "Wrong thing", "Not named"]),
    ],
    ids=["open", "behind a lock"],
)
def test_what_is_behind_a_lock_is_named_and_never_brought(is_locked: bool, told: list[str]) -> None:
    line = replace(LINES[0], is_locked=is_locked)

    assert [line.told(said) for said in (*SEEN, "")] == told
    assert list(line.choices) == list(SEEN)
