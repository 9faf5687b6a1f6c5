"""What recipes ask for: read, refused, and drilled on the rigs of the demonstration."""

import re
from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.facts import facts_of
from drills.engine.generation import DrillPlan, plan_drill
from drills.engine.layout import Layout, StockLine
from drills.engine.pools import is_for_children
from drills.engine.prompts import Prompt
from drills.engine.recipes import (
    CONTENTS,
    LOCATE,
    MOVED,
    CannotApplyError,
    RecipeSpec,
    read_kinds,
)
from tests.layouts import DEMO_LAYOUTS, demo_layout, practice_rig
from tests.reference import fixture, recipe
from tests.strategies import everything, layouts, looks_at, planned, specs

SEEDS = st.integers()
DRILLED = (
    "find-ten",
    "six-at-the-rig",
    "one-cabinet",
    "critical-only",
    "other-rig",
    "new-rig-week-1",
    "new-rig-week-2",
    "new-rig-week-3",
    "new-rig-week-5",
    "start-of-shift",
    "belted-reach",
    "where-to-take",
)
TRUCK = "first-response-truck"
# Looks to what a layout alone does not tell: tests/scenarios/test_looked_to.py.
LOOKS_FURTHER = "new-rig-week-4"
# Made with call types, ties and a formulary, which are rows: tests/scenarios/test_call_recipes.py.
FROM_CALLS = {
    "new-rig-week-6",
    "new-rig-week-7",
    "small-patients",
    "dosing-ladder-1",
    "dosing-ladder-2",
    "dosing-ladder-3",
    "supply-sums",
    "multi-patient-first",
    "multi-patient-assessed",
    "triage-first",
    "triage-many",
    "triage-assessed",
    "many-patients",
    "call-of-the-day",
    "kit-at-the-rig",
}


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("locate:8;contents:2", ((LOCATE, 8), (CONTENTS, 2))),
        (" locate:8 ; contents:2 ; ", ((LOCATE, 8), (CONTENTS, 2))),
        ("moved:auto;locate:6", (("moved", 0), (LOCATE, 6))),
        ("", ()),
    ],
)
def test_kinds_are_read_with_their_counts(text: str, kinds: tuple[tuple[str, int], ...]) -> None:
    """A kind and its count by a colon, several by a semicolon; auto is as many as there are."""
    assert read_kinds(text) == kinds


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("find:8", "'find' is not a kind"),
        ("locate", "'locate' needs a count"),
        ("locate:", "needs a count"),
        ("locate:-1", "needs a count"),
        ("locate:1.5", "needs a count"),
        ("locate:many", "needs a count"),
    ],
)
def test_kinds_that_cannot_be_read_are_named(text: str, named: str) -> None:
    """The refusal says what came in."""
    with pytest.raises(CannotApplyError, match=re.escape(named)):
        read_kinds(text)


def test_a_kind_that_is_not_built_is_named() -> None:
    """A recipe is never drilled without a part of it: the part is named instead."""
    spec = RecipeSpec("mixed-bag", ((LOCATE, 3), ("sniff", 1)))

    with pytest.raises(CannotApplyError, match=r"^mixed-bag: it asks sniff, and that cannot be"):
        plan_drill(practice_rig(), spec, seed=1)


@pytest.mark.parametrize(
    "kinds", [((LOCATE, 9),), ((CONTENTS, 9),), ((LOCATE, 9), (CONTENTS, 9))], ids=str
)
@pytest.mark.parametrize("order", ["mixed", "by compartment"])
def test_what_a_recipe_looks_to_is_all_that_it_asks(
    kinds: tuple[tuple[str, int], ...], order: str
) -> None:
    """Of two such focuses both; a place is asked where one of its things is among them."""
    spec = RecipeSpec("small", kinds, focus=("paediatric", "controlled drugs"), order=order)
    looked_to = {"paediatric": {"splint"}, "controlled drugs": {"tourniquet"}}

    plan = plan_drill(practice_rig(), spec, seed=1, looked_to=looked_to)

    asked = {*everything(plan)}
    assert {each.kind for each in asked} == {kind for kind, _ in kinds}
    for each in asked:
        things = {each.subject} if each.kind == LOCATE else set(each.answer)
        assert things & {"splint", "tourniquet"}
    located = {each.subject for each in asked if each.kind == LOCATE}
    assert located in ({"splint", "tourniquet"}, set())


def test_with_what_is_critical_both_are_asked() -> None:
    """Beside another focus of the kind, critical adds to it; alone it is all."""
    spec = RecipeSpec("small", ((LOCATE, 99),), focus=("paediatric", "what is critical"))
    rig = practice_rig()

    plan = plan_drill(rig, spec, seed=1, looked_to={"paediatric": {"splint"}})

    critical = {key for key, thing in rig.things.items() if thing.critical}
    assert {each.subject for each in plan.prompts} == critical | {"splint"}


def test_where_there_is_nothing_it_looks_to_that_is_said() -> None:
    """A rig without anything for children makes no drill of it, and none of something else."""
    spec = RecipeSpec("small", ((LOCATE, 3),), focus=("paediatric", "controlled drugs"))

    with pytest.raises(
        CannotApplyError, match=r"nothing to ask about that is for children or contr"
    ):
        plan_drill(practice_rig(), spec, seed=1, looked_to={"paediatric": ()})


@pytest.mark.parametrize(
    ("category", "size", "name", "is_so"),
    [
        ("paediatric and obstetric", "", "Delivery kit", True),
        ("airway", "child", "", True),
        ("airway", "infant", "", True),
        ("airway", "newborn", "", True),
        ("airway", "adult", "Airway set, adult", False),
        ("airway", "", "Peds BVM", True),
        ("medicines", "2.5 g / 10 mL", "Dextrose 25%, infant syringe", True),
        ("medicines", "10 mL", "Childproof cap", False),
        ("medicines", "10 mL", "Saline", False),
    ],
)
def test_what_is_for_children_is_told_by_category_size_or_name(
    category: str, size: str, name: str, *, is_so: bool
) -> None:
    """The sizes are those of needs, words are whole; a birth counts with the children."""
    assert is_for_children(category, size=size, name=name) is is_so


def test_a_focus_that_is_not_built_is_named() -> None:
    """A focus that would change nothing is refused rather than passed over."""
    spec = RecipeSpec("focused", ((LOCATE, 3),), focus=("what I miss", "no such words"))

    with pytest.raises(CannotApplyError, match=r"^focused: it asks first for no such words, and"):
        plan_drill(practice_rig(), spec, seed=1)


@pytest.mark.parametrize(
    ("spec", "named"),
    [
        (RecipeSpec("deep", ((LOCATE, 1),), depth="cellar"), "deep: depth 'cellar' is not one of"),
        (RecipeSpec("none", ((LOCATE, 0),)), "none: asks for no prompts"),
        (RecipeSpec("none", ()), "none: asks for no prompts"),
        (
            RecipeSpec("cab", ((LOCATE, 3),), faces=("cab",)),
            "cab: layout practice-rig has nothing to ask about on cab",
        ),
    ],
)
def test_a_recipe_that_makes_nothing_says_why(spec: RecipeSpec, named: str) -> None:
    """Every refusal is one line with the recipe's name."""
    with pytest.raises(CannotApplyError, match=named) as refused:
        plan_drill(practice_rig(), spec, seed=1)

    assert "\n" not in str(refused.value)


@given(layouts(), specs(), SEEDS)
def test_a_drill_stays_where_the_recipe_looks(rig: Layout, spec: RecipeSpec, seed: int) -> None:
    """Limited to faces or bags, everything asked can be found there."""
    for prompt in everything(planned(rig, spec, seed)):
        places = prompt.answer if prompt.kind == LOCATE else (prompt.subject,)

        assert any(looks_at(rig, spec, code) for code in places)


@given(layouts(), specs(), SEEDS)
def test_one_cabinet_is_one_cabinet(rig: Layout, spec: RecipeSpec, seed: int) -> None:
    """With that focus every prompt and spare has an answer behind the same door."""
    spec = replace(spec, focus=("one cabinet",))

    doors = [
        {rig.chain(code)[0].code for code in answers(each)}
        for each in everything(planned(rig, spec, seed))
    ]

    assert set.intersection(*doors)


def answers(prompt: Prompt) -> tuple[str, ...]:
    return prompt.answer if prompt.kind == LOCATE else (prompt.subject,)


@given(layouts(), specs(), SEEDS)
def test_critical_alone_asks_nothing_else(rig: Layout, spec: RecipeSpec, seed: int) -> None:
    """With that focus alone everything asked has a line marked critical."""
    spec = replace(spec, focus=("what is critical",))
    critical = {line.key for line in rig.stock if line.critical}

    for prompt in everything(planned(rig, spec, seed)):
        subjects = {prompt.subject} if prompt.kind == LOCATE else set(prompt.answer)

        assert subjects & critical


def test_contents_are_asked_where_there_is_more_than_one_thing_to_tick() -> None:
    """A place with one thing of a kind is asked about only while no place holds two."""
    spec = RecipeSpec("contents", ((CONTENTS, 9),))
    lone = StockLine("P1", "Glove box", 1, category="protection and infection")
    rig = replace(practice_rig(), stock=(*practice_rig().stock, lone))

    several = plan_drill(rig, spec, seed=1)
    alone = plan_drill(replace(rig, stock=(lone,)), spec, seed=1)

    assert {each.subject for each in everything(several)} == {"BAG-L", "BAG-M", "I1A", "I1B"}
    assert [each.answer for each in alone.prompts] == [("glove box",)]


def test_contents_of_a_pocket_do_not_tell_where_the_bag_hangs() -> None:
    """The prompt names the bag and the pocket; where the bag is stays a question of its own."""
    spec = RecipeSpec("contents", ((CONTENTS, 9),))

    names = {each.subject: each.name for each in plan_drill(practice_rig(), spec, seed=1).prompts}

    assert names["BAG-L"] == "BAG Response bag › Lid pocket"
    assert names["I1B"] == "I1 Wall cabinet › Locked drawer"


def test_a_place_with_pockets_is_not_asked_as_a_whole() -> None:
    """What is *in here* would be two questions where pockets lie inside: only pockets are asked."""
    spec = RecipeSpec("contents", ((CONTENTS, 9),))
    rig = practice_rig()
    plan = plan_drill(rig, spec, seed=1)

    assert {each.subject for each in everything(plan)} & {"S1", "BAG", "I1"} == set()


def drilled(slug: str, layout: str, *, seed: int = 1) -> DrillPlan:
    return plan_drill(demo_layout(layout), recipe(slug), seed=seed)


@pytest.mark.parametrize("layout", [each for each in DEMO_LAYOUTS if each != TRUCK])
@pytest.mark.parametrize("slug", DRILLED)
def test_every_built_recipe_can_be_drilled_on_an_ambulance(slug: str, layout: str) -> None:
    """The demonstration's ambulances hold enough for each recipe, and mixed ones vary by seed."""
    plan = drilled(slug, layout)

    assert len(plan.prompts) == sum(count for _, count in recipe(slug).kinds)
    assert plan.varies == (recipe(slug).order == "mixed")


@pytest.mark.parametrize("slug", [each for each in DRILLED if each != "new-rig-week-2"])
def test_the_small_truck_can_be_drilled_at_least_by_half(slug: str) -> None:
    """A pickup with sixteen places makes shorter drills, and never none."""
    plan = drilled(slug, TRUCK)

    assert len(plan.prompts) >= sum(count for _, count in recipe(slug).kinds) / 2


def test_the_truck_has_no_inside_to_walk_through() -> None:
    """A walk through the inside is refused on a rig that has none."""
    with pytest.raises(CannotApplyError, match="has nothing to ask about on bulkhead, interior"):
        drilled("new-rig-week-2", TRUCK)


def test_the_recipes_drilled_and_refused_are_all_there_are() -> None:
    """A recipe of the reference data is drilled, or refused by the name of what is not built."""
    refused = {}
    before, now = demo_layout("mesa-box"), demo_layout("mesa-box-rev2")
    for fields in fixture("recipes.json"):
        try:
            plan_drill(now, recipe(fields["slug"]), seed=1, before=before)
        except CannotApplyError as error:
            refused[fields["slug"]] = str(error)

    assert {fields["slug"] for fields in fixture("recipes.json")} - set(refused) == {
        *DRILLED,
        "what-moved",
    }
    from_calls = {slug for slug, said in refused.items() if "come from calls" in said}
    assert from_calls == FROM_CALLS
    assert set(refused) - FROM_CALLS == {LOOKS_FURTHER}
    assert "nothing to ask about that is controlled or for children" in refused[LOOKS_FURTHER]


def test_what_moved_asks_for_the_bag_and_then_for_its_old_neighbours() -> None:
    """The demonstration's second revision moved one bag and three things; then six that stayed."""
    before, now = demo_layout("mesa-box"), demo_layout("mesa-box-rev2")
    plan = plan_drill(now, recipe("what-moved"), seed=1, before=before)

    assert [each.name for each in plan.prompts if each.kind == MOVED] == [
        "Paediatric bag",
        "Resuscitation mask set, neonate to child",
        "Multi-trauma dressing, 10 x 30 in",
        "Blanket, wool",
    ]
    assert [each.kind for each in plan.prompts] == [*[MOVED] * 4, *[LOCATE] * 6]


def test_day_one_comes_to_every_door_outside() -> None:
    """A new hire's first walk opens each outside cabinet of the rig, street side first."""
    rig = demo_layout("mesa-box")
    plan = drilled("new-rig-week-1", "mesa-box")

    doors = [door_of(rig, recipe("new-rig-week-1"), each) for each in plan.prompts]

    assert list(dict.fromkeys(doors)) == ["S1", "S2", "S3", "S4", "S5", "R1", "C1", "C2", "C3"]
    assert {each.depth for each in plan.prompts if each.kind == LOCATE} == {"door"}


def door_of(rig: Layout, spec: RecipeSpec, prompt: Prompt) -> str:
    code = next(code for code in answers(prompt) if looks_at(rig, spec, code))
    return rig.chain(code)[0].code


def test_day_two_walks_the_inside_from_the_bulkhead() -> None:
    """The second walk comes to fourteen places inside, no two behind one door, none outside."""
    rig = demo_layout("mesa-box")
    plan = drilled("new-rig-week-2", "mesa-box")

    doors = [door_of(rig, recipe("new-rig-week-2"), each) for each in plan.prompts]

    assert len(set(doors)) == len(doors) == 14
    assert doors[:4] == ["D1", "D2", "D3", "D4"]
    assert {rig.face_of(door) for door in doors} <= {
        "bulkhead",
        "interior-street",
        "interior-curb",
        "floor",
    }


def test_day_two_goes_on_where_day_two_left_off() -> None:
    """What is known by then comes later, so that a second go sees the rest of the inside."""
    rig = demo_layout("mesa-box")
    spec = recipe("new-rig-week-2")
    first = drilled("new-rig-week-2", "mesa-box")
    known = {
        str(fact): 0.2
        for each in first.prompts
        for fact in facts_of(rig, [each.subject] if each.kind == LOCATE else each.answer)
    }

    second = plan_drill(rig, spec, seed=1, weights=known)

    asked = {(each.kind, each.subject) for each in first.prompts}
    again = asked & {(each.kind, each.subject) for each in second.prompts}
    assert len(again) <= 3


def test_day_three_opens_every_bag() -> None:
    """The third walk comes to each thing that is carried, at least once."""
    rig = demo_layout("mesa-box")
    plan = drilled("new-rig-week-3", "mesa-box")

    opened = {
        next(bag.code for bag in rig.chain(code) if bag.is_bag)
        for each in plan.prompts
        for code in answers(each)
        if looks_at(rig, recipe("new-rig-week-3"), code)
    }

    assert opened >= {"S5C", "FIB", "ALS", "PED", "OXY", "COL", "MCI", "MON", "F1"}


def test_one_cabinet_of_the_demonstration_is_the_one_with_the_bags() -> None:
    """For someone new it is the cabinet with the most to learn, to the pocket, shelf by shelf."""
    rig = demo_layout("mesa-box")
    plan = drilled("one-cabinet", "mesa-box")

    assert Counter(each.kind for each in plan.prompts) == {CONTENTS: 3, LOCATE: 5}
    for each in plan.prompts:
        assert "C1" in {rig.chain(code)[0].code for code in answers(each)}


def test_the_critical_ones_are_critical() -> None:
    """The drill of what cannot wait asks twelve things that have a critical line, to the pocket."""
    rig = demo_layout("mesa-box")
    critical = {line.key for line in rig.stock if line.critical}

    plan = drilled("critical-only", "mesa-box", seed=12)

    assert {each.subject for each in plan.prompts} <= critical
    assert len(plan.prompts) == 12


def test_ten_things_differ_from_day_to_day() -> None:
    """Sixty seeds of the ten things make sixty drills, and ask most of the rig between them."""
    rig = demo_layout("mesa-box")
    plans = [drilled("find-ten", "mesa-box", seed=seed) for seed in range(60)]

    located = {each.subject for plan in plans for each in plan.prompts if each.kind == LOCATE}

    assert len({plan.prompts for plan in plans}) == 60
    assert len(located) > len(rig.things) * 3 / 4


def test_one_prompt_in_five_of_every_mixed_recipe_is_a_probe() -> None:
    """Where prompts are drawn from the rig; those in the order of rig, seat or call have none."""
    for fields in fixture("recipes.json"):
        from_rig = any(kind in fields["kinds"] for kind in ("locate", "contents"))
        is_drawn = fields["order"] == "mixed" and from_rig

        assert (fields["probes_share"] == 0.2) is is_drawn
