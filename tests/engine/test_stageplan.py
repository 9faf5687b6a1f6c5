"""Kits for a treatment area: who waits there, how many of each thing, and what comes once."""

import json
from collections.abc import Iterator
from dataclasses import replace

import pytest

from drills.engine.calls import (
    MAY,
    MUST,
    NEEDLESS,
    USEFUL,
    Asked,
    Call,
    CallNeed,
    Patient,
    is_of_any_call,
    needs_for,
    needs_of,
)
from drills.engine.incidents import Sorting, make_incident
from drills.engine.incidents.asking import SortedCall, sorted_call
from drills.engine.layout import StockLine
from drills.engine.recipes import RecipeSpec
from drills.engine.stageplan import Area, Kits, is_staged_by_area, needs_beside, treatment_areas
from drills.engine.staging import Kit, mark_stage
from drills.engine.together import BESIDE_ANYBODY, OF_SCENE
from drills.engine.triage import SALT_FAMILY, category
from drills.engine.wanted import Wanted, want
from drills.scenarios.tasks import answer_of, stands_in
from tests.engine.fixture_world import FIXTURES, call_types, world
from tests.layouts import practice_rig

NEEDS = json.loads((FIXTURES / "needs.json").read_text("utf-8"))

CRASH = call_types()["multi-vehicle"]
BOTH = pytest.mark.parametrize("sorting", [Sorting(), Sorting(SALT_FAMILY)], ids=["start", "salt"])


def crashes(sorting: Sorting, count: int = 8) -> Iterator[SortedCall]:
    for seed in map(str, range(12)):
        incident = make_incident(CRASH, world(), seed=seed, count=count, sorting=sorting, level=4)
        yield sorted_call(incident, seed=seed)


@BOTH
def test_everybody_who_is_treated_waits_in_one_area_the_most_urgent_first(
    sorting: Sorting,
) -> None:
    """And the dead, and who is left for now, in none."""
    left = 0
    for call in crashes(sorting):
        areas = treatment_areas(call, CRASH)
        last = {each.number: each for each in (*call.sorts, *call.again)}
        treated = [
            each for each in last.values() if not category(each.family, each.answer).called_dead
        ]
        waiting = [each for area in areas for each in area.waiting]
        left += len(last) - len(treated)

        assert sorted(each.number for each in waiting) == sorted(each.number for each in treated)
        assert set(waiting) == set(treated)
        assert [each.category.urgency for each in areas] == sorted(
            {category(each.family, each.answer).urgency for each in treated}
        )
        for area in areas:
            assert {each.answer for each in area.waiting} == {area.category.category}
    assert left


def test_who_got_worse_waits_where_they_are_sorted_now() -> None:
    """Somebody met again is in the area of the second look, told as found then."""
    moved = 0
    for call in crashes(Sorting()):
        first = {each.number: each.answer for each in call.sorts}
        areas = treatment_areas(call, CRASH)
        for again in call.again:
            area = next((each for each in areas if again in each.waiting), None)
            assert (area is None) == category(again.family, again.answer).called_dead
            moved += area is not None and again.answer != first[again.number]
    assert moved


def test_what_the_call_takes_once_comes_with_the_most_urgent_alone() -> None:
    """Where nobody in particular needs it. Of all that its own patients take, each area has as many
    as they are."""
    once = {row.need for row in CRASH.needs if is_of_any_call(row) and row.grade != NEEDLESS} - {
        row.need for row in CRASH.needs if not is_of_any_call(row)
    }
    assert once
    for call in crashes(Sorting()):
        first, *later = treatment_areas(call, CRASH)
        assert once <= {each.need for each in first.needs}
        for area in later:
            assert not once & {each.need for each in area.needs}
        for area in (first, *later):
            own = {each.need: each for each in needs_of(CRASH, patients_in(call, area))}
            for each in area.needs:
                if each.patients and not is_once(each.need):
                    assert each == own[each.need]


MAY_BLEED = {"limb-bleed"}
CANNOT_BREATHE = {"head-injury", "airway-injury"}


@pytest.mark.parametrize(
    ("slug", "need", "problems", "severities"),
    [
        ("multi-vehicle", "tourniquet-limb", MAY_BLEED, {2, 3}),
        ("bus-rollover", "tourniquet-limb", MAY_BLEED, {2, 3}),
        ("bus-rollover", "bag-valve-mask-child", CANNOT_BREATHE, {3}),
        ("bus-rollover", "suction-unit-portable", CANNOT_BREATHE, {3}),
    ],
)
def test_what_is_taken_once_goes_where_somebody_waits_who_needs_it(
    slug: str, need: str, problems: set[str], severities: set[int]
) -> None:
    """The tourniquets to who bleeds and not to the most urgent whoever that is; with nobody who
    needs one more than others, one area has it all the same."""
    kind, seen = call_types()[slug], [0, 0]
    for seed in range(60):
        incident = make_incident(kind, world(), seed=f"goes:{seed}", count=6, level=3)
        call = sorted_call(incident, seed=f"{seed}")
        areas = treatment_areas(call, kind)
        in_area = [
            any(
                who.problem in problems
                and who.severity in severities
                and (not need.endswith("-child") or who.size == "child")
                for who in patients_in(call, area)
            )
            for area in areas
        ]
        has = [
            any((each.need, each.grade) == (need, MUST) for each in area.needs) for area in areas
        ]
        if any(in_area):
            assert has[in_area.index(True)]
            assert all(needs for needs, gets in zip(in_area, has, strict=True) if gets)
            seen[0] += in_area.index(True) > 0
        elif not need.endswith("-child") and areas:
            assert has == [True, *[False] * (len(areas) - 1)]
            seen[1] += 1
    assert seen[1] or need.endswith("-child")
    assert seen[0] or need != "tourniquet-limb"


def test_a_mask_of_children_goes_to_children_alone() -> None:
    """To the most urgent of them where none is worse off for breath, and to no area without any."""
    kind, seen = call_types()["bus-rollover"], 0
    for seed in range(60):
        incident = make_incident(kind, world(), seed=f"child:{seed}", count=5, level=3)
        call = sorted_call(incident, seed=f"{seed}")
        for area in treatment_areas(call, kind):
            sizes = {each.size for each in patients_in(call, area)}
            asked = {each.need for each in area.needs if each.grade == MUST}
            assert sizes & {"child"} or not asked & {"bag-valve-mask-child", "length-based-tape"}
            seen += bool("bag-valve-mask-child" in asked)
    assert seen > 30


def test_a_kit_to_one_patient_is_whole() -> None:
    """Oxygen and regulator with the mask; the tags of the call are for nobody in particular."""
    kind, seen = call_types()["carbon-monoxide"], 0
    for seed in range(20):
        call = make_incident(kind, world(), seed=f"one:{seed}", count=3).call
        for who in call.patients:
            kit = {each.need: each for each in needs_beside(call, who.number)}
            musts = {need for need, each in kit.items() if each.grade == MUST}
            masks = {need for need in musts if "mask" in need and "valve" not in need}
            if masks:
                seen += 1
                assert {"oxygen-cylinder-portable", "oxygen-regulator-portable"} <= musts
                assert kit["oxygen-cylinder-portable"].quantity == 1
            assert "triage-tags" not in kit
            assert {each.need for each in needs_for(call.needs, who.number)} <= set(kit)
    assert seen


@pytest.mark.parametrize("slug", ["multi-vehicle", "bus-rollover"])
def test_no_area_asks_for_what_is_worn_or_stands_on_the_road(slug: str) -> None:
    """A helmet and a flare may come and cost nothing; the call itself asks for both."""
    kind, worn = (
        call_types()[slug],
        {"helmet", "road-flare", "high-visibility-vest", "radio-portable"},
    )
    seen = set()
    for seed in range(10):
        incident = make_incident(kind, world(), seed=f"worn:{seed}", count=6)
        call = sorted_call(incident, seed=f"{seed}")
        assert {each.need for each in call.needs if each.grade in (MUST, USEFUL)} >= worn
        for area in treatment_areas(call, kind):
            grades = {each.need: each.grade for each in area.needs}
            seen |= {grades[each] for each in worn & set(grades)}
    assert seen == {MAY}


def test_what_may_come_costs_nothing_and_is_short_of_nothing() -> None:
    """Whether it is brought or not, and where there is too little of it."""
    layout = replace(practice_rig(), stock=(StockLine("S1", "tourniquet", 1),))
    thing = layout.stock[0].key
    asked = [Asked("helmet", MAY, 2, name="Helmet")]
    wanted = want(layout, {thing: "helmet"}, asked)
    assert (wanted[0].quantity, wanted[0].short) == (0, 0)
    for kit in (Kit({("S1", thing): 1}), Kit({})):
        mark = mark_stage(layout, wanted, kit, {thing})
        assert (mark.missing, mark.needless, mark.excess) == ((), (), ())


def test_beside_one_patient_what_the_call_takes_once_is_useful() -> None:
    """The monitor, suction and a cuff of the size; not the cuff of another, nor a flare."""
    kind, seen = call_types()["multi-vehicle"], set()
    for seed in range(40):
        call = make_incident(kind, world(), seed=f"beside:{seed}", count=3).call
        for who in call.patients:
            kit = {each.need: each for each in needs_beside(call, who.number)}
            seen.add(who.size)
            fits, other = (f"bp-cuff-{each}" for each in ("adult", "child"))
            if who.size == "child":
                fits, other = other, fits
            for need in ("monitor-defibrillator", "suction-unit-portable", fits):
                assert kit[need].grade in (MUST, USEFUL)
                assert kit[need].quantity == 1
            assert other not in kit
            assert kit["helmet"].grade == kit["oxygen-manifold"].grade == MAY
            assert not {"road-flare", "triage-tags"} & set(kit)
    assert seen == {"adult", "child"}


def test_the_tables_of_a_scene_speak_of_needs_that_are_there() -> None:
    keys = {each["fields"]["key"] for each in NEEDS}
    assert keys >= OF_SCENE > {"road-flare", "triage-tags"}
    assert keys >= BESIDE_ANYBODY > {"monitor-defibrillator", "suction-unit-portable"}
    assert not OF_SCENE & BESIDE_ANYBODY


def is_once(need: str) -> bool:
    return any(is_of_any_call(row) for row in CRASH.needs if row.need == need)


def patients_in(call: Call, area: Area) -> list[Patient]:
    numbers = {each.number for each in area.waiting}
    return [each for each in call.patients if each.number in numbers]


def test_a_thing_for_each_comes_as_often_as_there_are_patients() -> None:
    """Two each for those of an area, and three of them, is six, whoever else there is."""
    two_each = CallNeed("blanket", MUST, 2, "patient")
    one_a_call = CallNeed("cones", MUST, 1, "call")
    kind = replace(CRASH, needs=(two_each, one_a_call))
    for call in crashes(Sorting()):
        for at, area in enumerate(treatment_areas(call, kind)):
            found = {each.need: each.quantity for each in area.needs}
            assert found == {"blanket": 2 * len(area.waiting)} | ({} if at else {"cones": 1})


def test_fewer_than_are_sorted_have_no_area() -> None:
    """Then the kit is that of the whole call."""
    for call in crashes(Sorting(), count=2):
        assert treatment_areas(call, CRASH) == ()


@pytest.mark.parametrize(
    ("kinds", "order", "is_so"),
    [
        (("triage", "allocate", "stage", "dose"), "as a call runs", True),
        (("triage", "stage"), "as a call runs", True),
        (("stage", "triage"), "as a call runs", False),
        (("triage", "stage", "allocate"), "as a call runs", False),
        (("allocate", "stage"), "as a call runs", False),
        (("triage", "stage"), "mixed", False),
        (("triage", "allocate"), "as a call runs", False),
    ],
)
def test_an_area_is_named_only_once_everybody_is_sorted(
    kinds: tuple[str, ...], order: str, *, is_so: bool
) -> None:
    """It says who is in which category, so nothing that asks for one may come after it."""
    spec = RecipeSpec("any", tuple((kind, 1) for kind in kinds), order=order)
    assert is_staged_by_area(spec) == is_so


def test_every_kit_of_a_call_goes_to_one_place_and_says_where() -> None:
    """Off the curb side or the rear, by the call; it is frozen with the kit and read back."""
    places = set()
    for call in crashes(Sorting()):
        areas = treatment_areas(call, CRASH)
        kits = Kits(lambda asked: tuple(wanted(each) for each in asked), frozenset())
        prompts = list(kits.of_call(call, areas))
        stands = {prompt.stage.stands for prompt in prompts if prompt.stage}
        places |= stands
        assert len(stands) == 1
        for prompt in prompts:
            assert prompt.stage is not None
            assert prompt.text.count(f"It goes to a place {prompt.stage.stands.words}.") == 1
            assert stands_in(answer_of(prompt)) == prompt.stage.stands
    assert {each.side for each in places} == {"curb", "rear"}
    assert len({each.metres for each in places}) > 2


def test_after_the_call_each_patient_is_brought_to_the_worst_off_first() -> None:
    """Of eight in twelve crashes, whatever their numbers."""
    turned = 0
    for call in crashes(Sorting()):
        kits = Kits(lambda asked: tuple(wanted(each) for each in asked), frozenset())
        told = [prompt.stage.patient for prompt in kits.of_call(call) if prompt.stage]
        severity = {each.number: each.severity for each in call.patients}
        found = [severity[number] for number in told[1:]]

        assert told[0] == 0
        assert found == sorted(found, reverse=True)
        turned += told[1:] != sorted(told[1:])
    assert turned


def test_a_kit_from_before_it_said_where_goes_off_the_curb_side() -> None:
    """Six metres, as it was marked then."""
    assert stands_in({"wanted": []}).words == "6 m off the curb side"


def wanted(asked: Asked) -> Wanted:
    return Wanted(asked.need, asked.grade, asked.quantity, things=(asked.need,))
