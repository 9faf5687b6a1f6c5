"""How a sign-off stands as the days pass, what one covers, and what a run at the rig is worth."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.observing import BROUGHT, HELPED, sheet_lines
from drills.engine.scoring import PARTLY, RIGHT, WRONG
from drills.engine.signing import (
    DRILL_DUE,
    ENDED,
    LAPSED,
    SIGNED,
    STATES,
    WITHDRAWN,
    Signed,
    SigningError,
    Span,
    Standing,
    covered,
    lapsing_soon,
    result_at_rig,
    standings,
    touched,
)
from drills.engine.standards import Standard, shortfalls
from tests.engine.test_observing import KIT
from tests.layouts import practice_rig

SEEN = date(2026, 3, 2)
AIRWAY, BLEEDING = "airway", "circulation and bleeding"
USUAL = Span()


def signed(
    day: date = SEEN, *categories: str, layout: str = "box", mark: int = 1, gone: bool = False
) -> Signed:
    at = datetime.combine(day, time(9), tzinfo=UTC)
    return Signed(mark, layout, frozenset(categories or [AIRWAY]), at, day, gone)


def only(*rows: Signed, days: int, span: Span = USUAL, drilled: date | None = None) -> Standing:
    today = SEEN + timedelta(days=days)
    (found,) = standings(
        rows, span=span, today=today, drilled={"box": drilled} if drilled else None
    )
    return found


@pytest.mark.parametrize(
    ("days", "state"),
    [(0, SIGNED), (89, SIGNED), (90, DRILL_DUE), (179, DRILL_DUE), (180, LAPSED), (900, LAPSED)],
)
def test_a_drill_is_due_at_90_days_and_it_lapses_at_180(days: int, state: str) -> None:
    assert only(signed(), days=days).state == state


def test_the_days_are_told() -> None:
    found = only(signed(), days=0)

    assert (found.drill_on, found.lapses_on) == (date(2026, 5, 31), date(2026, 8, 29))


def test_the_service_sets_both_numbers() -> None:
    span = Span(10, 30)

    assert [only(signed(), days=day, span=span).state for day in (9, 10, 29, 30)] == [
        *(SIGNED, DRILL_DUE, DRILL_DUE, LAPSED)
    ]


@pytest.mark.parametrize(("drill", "lapse"), [(0, 180), (180, 180), (181, 180), (-1, 5)])
def test_the_drill_comes_before_the_new_run(drill: int, lapse: int) -> None:
    with pytest.raises(SigningError, match=f"after {drill} days and a new run after {lapse}"):
        Span(drill, lapse)


def test_a_drill_puts_off_the_next_drill_and_no_lapse() -> None:
    drilled = SEEN + timedelta(days=95)

    found = only(signed(), days=120, drilled=drilled)

    assert (found.state, found.drill_on) == (SIGNED, drilled + timedelta(days=90))
    assert only(signed(), days=180, drilled=drilled).state == LAPSED


def test_a_drill_before_the_run_counts_for_nothing() -> None:
    assert only(signed(), days=90, drilled=SEEN - timedelta(days=3)).state == DRILL_DUE


def test_one_mixed_run_renews_every_category_it_touched_and_no_other() -> None:
    first = signed(SEEN, AIRWAY, BLEEDING, "monitoring")
    mixed = signed(SEEN + timedelta(days=170), AIRWAY, BLEEDING, mark=2)

    found = standings([first, mixed], span=USUAL, today=SEEN + timedelta(days=200))

    assert {each.category: each.state for each in found} == {
        AIRWAY: SIGNED,
        BLEEDING: SIGNED,
        "monitoring": LAPSED,
    }


def test_each_layout_stands_by_itself() -> None:
    rows = [signed(), signed(SEEN - timedelta(days=200), layout="van", mark=2)]

    found = standings(rows, span=USUAL, today=SEEN)

    assert [(each.layout, each.state) for each in found] == [("box", SIGNED), ("van", LAPSED)]


def test_an_earlier_one_does_not_come_back_when_the_last_is_withdrawn() -> None:
    rows = [signed(), signed(SEEN + timedelta(days=5), mark=2, gone=True)]

    assert only(*rows, days=6).state == WITHDRAWN


def test_one_that_was_withdrawn_before_takes_nothing_from_a_later_run() -> None:
    rows = [signed(gone=True), signed(SEEN + timedelta(days=5), mark=2)]

    assert only(*rows, days=6).state == SIGNED


def test_what_is_signed_late_counts_from_the_day_it_was_seen() -> None:
    """The order in which rows come in says nothing: the run seen last decides."""
    late, newest = signed(SEEN, mark=9), signed(SEEN + timedelta(days=1), mark=1, gone=True)

    assert only(newest, late, days=2).signed == newest


days_apart = st.integers(min_value=0, max_value=400)
rows_of_signed = st.lists(
    st.builds(
        lambda day, categories, layout, gone: (day, categories, layout, gone),
        days_apart,
        st.sets(st.sampled_from([AIRWAY, BLEEDING, "monitoring"]), min_size=1),
        st.sampled_from(["box", "van"]),
        st.booleans(),
    ),
    max_size=6,
).map(
    lambda drawn: [
        signed(SEEN + timedelta(days=day), *categories, layout=layout, mark=mark, gone=gone)
        for mark, (day, categories, layout, gone) in enumerate(drawn)
    ]
)
spans = st.tuples(st.integers(1, 300), st.integers(1, 300)).map(
    lambda pair: Span(pair[0], pair[0] + pair[1])
)


@given(rows=rows_of_signed, span=spans, day=days_apart, later=days_apart)
def test_time_alone_never_mends_a_state(
    rows: list[Signed], span: Span, day: int, later: int
) -> None:
    """As days pass a state stays or goes on: signed, drill due, lapsed. Withdrawn stays."""
    order = (SIGNED, DRILL_DUE, LAPSED)
    before = standings(rows, span=span, today=SEEN + timedelta(days=day))
    after = standings(rows, span=span, today=SEEN + timedelta(days=day + later))

    assert [(each.layout, each.category) for each in before] == [
        (each.layout, each.category) for each in after
    ]
    for was, now in zip(before, after, strict=True):
        assert (was.state == WITHDRAWN) == (now.state == WITHDRAWN)
        if was.state != WITHDRAWN:
            assert order.index(was.state) <= order.index(now.state)


@given(rows=rows_of_signed.flatmap(lambda made: st.tuples(st.just(made), st.permutations(made))))
def test_the_order_of_rows_says_nothing(rows: tuple[Sequence[Signed], Sequence[Signed]]) -> None:
    told, other = (standings(each, span=USUAL, today=SEEN) for each in rows)

    assert told == other


@given(rows=rows_of_signed, span=spans, day=days_apart)
def test_what_stands_was_seen_within_the_span_and_is_not_withdrawn(
    rows: list[Signed], span: Span, day: int
) -> None:
    today = SEEN + timedelta(days=day)

    for each in standings(rows, span=span, today=today):
        is_fresh = (today - each.signed.day).days < span.lapses_after
        assert each.stands == (is_fresh and not each.signed.is_withdrawn)
        assert each.category in each.signed.categories


@given(rows=rows_of_signed, span=spans, day=days_apart)
def test_another_run_takes_nothing_away(rows: list[Signed], span: Span, day: int) -> None:
    """Whatever stood stands after one more run that was seen today and touched it."""
    today = SEEN + timedelta(days=day + 400)
    new = signed(today, AIRWAY, BLEEDING, "monitoring", mark=99)

    for each in standings([*rows, new], span=span, today=today):
        assert each.layout == "van" or each.state == SIGNED


def test_every_state_has_its_words() -> None:
    assert set(STATES) == {SIGNED, DRILL_DUE, LAPSED, WITHDRAWN} > ENDED


def test_a_list_speaks_of_what_lapses_within_a_month_and_lapsed_a_month_ago() -> None:
    today = SEEN + timedelta(days=180)
    ago = {mark: timedelta(days=days) for mark, days in enumerate((149, 150, 180, 210, 211))}
    rows = [
        signed(today - ago[mark], layout=f"layout {mark}", mark=mark, gone=False) for mark in ago
    ]
    gone = signed(today - ago[2], layout="gone", mark=9, gone=True)

    found = lapsing_soon(standings([*rows, gone], span=USUAL, today=today), today=today)

    assert [each.signed.mark for each in found] == [3, 2, 1]


def test_what_was_brought_alone_touches_its_category() -> None:
    layout = practice_rig()
    lines = sheet_lines(layout, KIT)
    numbers = {line.thing: number for number, line in enumerate(lines)}

    found = touched(layout, lines, {numbers["tourniquet"]: BROUGHT, numbers["gauze roll"]: HELPED})

    assert found == {layout.things["tourniquet"].category: ("Tourniquet",)}


def test_what_has_no_category_touches_none() -> None:
    layout = practice_rig()
    lines = sheet_lines(layout, KIT)
    bare = replace(layout, stock=tuple(replace(line, category="") for line in layout.stock))

    assert touched(bare, lines, dict.fromkeys(range(len(lines)), BROUGHT)) == {}


def test_after_the_phases_all_that_was_touched_is_covered() -> None:
    assert covered([BLEEDING, AIRWAY], [], is_in_phases=False) == (AIRWAY, BLEEDING)


def test_in_the_phases_what_is_ticked_alone() -> None:
    assert covered([BLEEDING, AIRWAY], [AIRWAY], is_in_phases=True) == (AIRWAY,)


@pytest.mark.parametrize(
    ("there", "ticked", "words"),
    [
        ([], [], "Nothing of any category was brought alone"),
        ([AIRWAY], [], "No category came in"),
        ([AIRWAY], ["monitoring"], "monitoring came in. This run touched airway"),
    ],
)
def test_nothing_is_signed_that_was_not_seen(
    there: list[str], ticked: list[str], words: str
) -> None:
    with pytest.raises(SigningError, match=words):
        covered(there, ticked, is_in_phases=True)


STRICT = Standard(marks=90, in_time=100, no_must_missed=True)


@pytest.mark.parametrize(
    ("outcome", "missed", "seconds", "limit", "short"),
    [
        (RIGHT, False, 90.0, None, ()),
        (RIGHT, False, 60.5, 60.0, ()),
        (RIGHT, False, 60.6, 60.0, ("in time 0 of 1, 100 in 100 asked",)),
        (PARTLY, False, 10.0, None, ("marks 50 of 100, 90 asked",)),
        (
            WRONG,
            True,
            10.0,
            60.0,
            ("marks 0 of 100, 90 asked", "1 kit with a must-have missing, none may be"),
        ),
    ],
)
def test_a_run_at_the_rig_is_judged_as_one_answer(
    outcome: str, missed: bool, seconds: float, limit: float | None, short: tuple[str, ...]
) -> None:
    result = result_at_rig(outcome, missed=missed, seconds=seconds, limit=limit)

    assert shortfalls(STRICT, result) == short
