"""Difficulty by named knobs: each moves what is generated, and does not what it is not for."""

from collections.abc import Iterable
from dataclasses import replace
from statistics import fmean

import pytest

from drills.engine.calls import Call
from drills.engine.callsource import calls_as_hard, fresh_first, types_of
from drills.engine.chance import seeded
from drills.engine.generation import PROBE, plan_drill
from drills.engine.incidents import Sorting
from drills.engine.knobs import ALL_KNOBS, number_within, patients_share, setting
from drills.engine.knobs.page import as_table, rows_for
from drills.engine.lately import call_mark
from drills.engine.layout import Layout
from drills.engine.recipes import (
    AS_A_CALL_RUNS,
    BUILT_KINDS,
    CONTENTS,
    DOSE,
    LOCATE,
    MIXED,
    STAGE,
    TRIAGE,
    CannotApplyError,
    RecipeSpec,
)
from drills.engine.sortplan import sorted_calls
from tests.engine.fixture_world import call_types, world
from tests.layouts import DEMO_LAYOUTS, demo_layout

LEVELS = range(1, 6)
SEEDS = range(40)
FIND = RecipeSpec("find", ((LOCATE, 10), (CONTENTS, 2)))
BRING = RecipeSpec("bring", ((STAGE, 1),), order=MIXED)


def places(rig: Layout, spec: RecipeSpec) -> list[str]:
    """The places that the drills of all seeds ask for."""
    drills = (plan_drill(rig, spec, seed=seed).prompts for seed in SEEDS)
    return [
        each.answer[0] if each.kind == LOCATE else each.subject for one in drills for each in one
    ]


def depth(rig: Layout, spec: RecipeSpec) -> float:
    return fmean(len(rig.chain(code)) for code in places(rig, spec))


def company(rig: Layout, spec: RecipeSpec) -> float:
    """How many places are beside those that are asked for, on their face."""
    return fmean(
        sum(
            rig.face_of(each.code) == rig.face_of(code)
            for each in rig.children[rig.by_code[code].inside]
        )
        for code in places(rig, spec)
    )


@pytest.mark.parametrize("name", DEMO_LAYOUTS)
def test_the_harder_the_deeper_a_thing_lies(name: str) -> None:
    """At each level what is asked for lies deeper, by a whole place from the first to the last."""
    rig = demo_layout(name)
    by_level = [depth(rig, replace(FIND, difficulty=level)) for level in LEVELS]

    assert by_level == sorted(by_level)
    assert by_level[-1] - by_level[0] > 0.9


@pytest.mark.parametrize("name", DEMO_LAYOUTS)
def test_the_harder_the_more_places_lie_beside_it(name: str) -> None:
    """From the first level to the last there is more to mistake the place for."""
    rig = demo_layout(name)
    first, second, *_, last = (company(rig, replace(FIND, difficulty=level)) for level in LEVELS)

    assert first < second < last
    assert last / first > 1.15


def test_probes_are_as_even_at_every_difficulty() -> None:
    """A probe is drawn from everything: how hard the drill is moves none of them."""
    rig = demo_layout("mesa-box")

    def probed(level: int) -> float:
        spec = replace(FIND, probes_share=1.0, difficulty=level)
        return depth(rig, spec)

    assert {probed(level) for level in LEVELS} == {probed(1)}
    mixed = plan_drill(rig, replace(FIND, probes_share=0.5, difficulty=5), seed=1).prompts
    assert 0 < sum(each.chosen == PROBE for each in mixed) < len(mixed)


def test_a_walk_of_the_rig_is_the_same_at_every_difficulty() -> None:
    """Where the rig sets the order no knob moves anything."""
    rig = demo_layout("mesa-box")
    walk = replace(FIND, order="by compartment")

    assert len({plan_drill(rig, replace(walk, difficulty=level), seed=1) for level in LEVELS}) == 1


def counted(calls: Iterable[Call], many: int = 120) -> float:
    drawn = zip(range(many), calls, strict=False)
    return fmean(len(call.patients) for _, call in drawn)


@pytest.mark.parametrize("kind", [STAGE, TRIAGE])
def test_the_harder_the_more_patients(kind: str) -> None:
    """Calls have more patients at each level, those to be sorted as well."""
    types = [call_types()["multi-vehicle"]]
    spec = RecipeSpec("many", ((kind, 0 if kind == TRIAGE else 1),), order=AS_A_CALL_RUNS)

    def patients(level: int) -> float:
        hard = replace(spec, difficulty=level)
        if kind == TRIAGE:
            return counted(sorted_calls(hard, types, world(), Sorting(), seed=1), 40)
        return counted(calls_as_hard(hard, types, world(), seeded("any"), lambda _: 0))

    by_level = [patients(level) for level in LEVELS]
    assert by_level == sorted(by_level)
    assert by_level[-1] > 1.5 * by_level[0]


def lured(level: int, order: str = MIXED) -> float:
    """How many letters of the findings there are: stands in for what is brought by mistake."""
    spec = replace(BRING, difficulty=level, order=order)
    types = [call_types()["fall"]]

    def letters(call: Call) -> int:
        return len(call.patients[0].findings)

    drawn = zip(
        range(100), calls_as_hard(spec, types, world(), seeded("any"), letters), strict=False
    )
    return fmean(letters(call) for _, call in drawn)


def test_the_harder_the_more_that_is_brought_by_mistake() -> None:
    """Of several calls of a type the one with the fewest at 1, and with the most above 3."""
    assert lured(1) < lured(2) < lured(4) <= lured(5)
    assert lured(1, AS_A_CALL_RUNS) == lured(5, AS_A_CALL_RUNS)


def test_the_number_of_patients_stays_within_what_the_call_may_have() -> None:
    """At every level nobody is added to what a call type has, and a fixed number stays."""
    random = seeded("any")
    for level in LEVELS:
        drawn = {number_within(2, 6, patients_share(level), random) for _ in range(400)}
        assert drawn <= set(range(2, 7))
    assert {number_within(3, 3, (0.6, 1.0), random) for _ in range(20)} == {3}
    assert {number_within(2, 6, (0.0, 1.0), random) for _ in range(400)} == set(range(2, 7))


def test_calls_that_were_had_come_when_there_are_no_others() -> None:
    """None is lost: those of the week before stand last, and only they."""
    types = [call_types()["fall"]]
    drawn = list(
        zip(range(30), calls_as_hard(BRING, types, world(), seeded("a"), lambda _: 0), strict=False)
    )
    calls = [call for _, call in drawn]
    had = frozenset(call_mark(call) for call in calls[:10])

    again = list(fresh_first(iter(calls), had))

    assert sorted(map(call_mark, again)) == sorted(map(call_mark, calls))
    fresh = [call_mark(each) not in had for each in again]
    assert fresh == sorted(fresh, reverse=True)
    assert any(fresh)
    assert not all(fresh)


def test_a_call_type_that_is_not_there_is_named() -> None:
    """The refusal says which type was asked for."""
    with pytest.raises(CannotApplyError, match="there is no call type of balloon"):
        types_of(replace(BRING, call_types=("balloon",)), list(call_types().values()))


def test_every_level_of_every_knob_is_told_and_goes_one_way() -> None:
    """Each knob rises from level to level, moves a kind that is built, and stands in the manual."""
    for knob in ALL_KNOBS:
        assert list(knob.values) == sorted(knob.values)
        assert knob.values[0] < knob.values[-1]
        assert set(knob.kinds.split(";")) <= set(BUILT_KINDS)
        assert knob.moves in as_table()
    assert setting("grade", 0) == setting("grade", 1)
    assert setting("grade", 9) == setting("grade", 5)


@pytest.mark.parametrize("kind", [LOCATE, STAGE, DOSE, TRIAGE])
def test_a_recipe_is_told_the_knobs_of_its_kinds_alone(kind: str) -> None:
    """No knob of another kind stands on its page, and each says what its level is set to."""
    rows = rows_for((kind,))

    assert rows
    assert all(kind in row.kinds.split(", ") for row in rows)
    assert len(rows) < len(rows_for(BUILT_KINDS))
    assert all(row.at(1) == row.values[0] and row.at(5) == row.values[4] for row in rows)
