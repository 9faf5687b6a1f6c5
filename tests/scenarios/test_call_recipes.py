"""The recipes of the reference data that come from calls, on the layouts of the demonstration."""

import json
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from django.test import override_settings
from django.utils import timezone

from drills.engine.allocplan import rig_has
from drills.engine.arriving.checking import odd_in
from drills.engine.arriving.crews import crew_of
from drills.engine.callmaking import Material
from drills.engine.callplan import SPARE_CALLS, plan
from drills.engine.calls import MUST, Call, Patient, needs_for
from drills.engine.dosing import RIGHT, judge
from drills.engine.generation import DrillPlan
from drills.engine.incidents.asking import TriagePrompt, treated_of
from drills.engine.lately import call_mark
from drills.engine.layout import Layout
from drills.engine.prompts import Prompt
from drills.engine.recipes import BUILT_KINDS, FIELD, CannotApplyError, RecipeSpec
from drills.engine.scoring import WRONG
from drills.engine.staging import Kit, mark_stage, must_haves
from drills.engine.wanted import want
from drills.engine.workbook import read_workbook
from drills.rigs.actions import import_layout
from drills.rigs.models import Revision
from drills.scenarios.models import Recipe
from drills.scenarios.reading import material_of
from drills.scenarios.tasks import shown_of
from tests.reference import load_reference

# The database is made for what is marked alone, and `made` reads it once for all of these.
FIXTURES = Path(__file__).parents[2] / "fixtures"
LAYOUTS = ("mesa-box", "mesa-box-rev2", "arroyo-van", "first-response-truck")
LADDER = ("dosing-ladder-1", "dosing-ladder-2", "dosing-ladder-3")
RECIPES = (
    "new-rig-week-6",
    "new-rig-week-7",
    *LADDER,
    "supply-sums",
    "multi-patient-first",
    "multi-patient-assessed",
    "kit-at-the-rig",
)
SEEDS = range(1, 6)
OF_ONE_CALL = ("many-patients", "call-of-the-day")
SORTED = {"triage-first": range(3, 6), "triage-many": range(6, 9), "triage-assessed": range(6, 9)}
NOW = timezone.now()


def stored(name: str) -> Revision:
    # People that a factory made have certification levels of their own, of the same ranks.
    load_reference(without=["people"])
    layout = read_workbook(FIXTURES / "layouts" / name, name=name).layout
    assert layout is not None
    return import_layout(layout, by=None, now=NOW, publish=True)


Made = tuple[Layout, Material, dict[str, RecipeSpec]]
Kept = Callable[[str, int], DrillPlan]


@pytest.fixture(params=LAYOUTS, scope="module")
def made(request: pytest.FixtureRequest, django_db_setup: None, django_db_blocker: Any) -> Made:
    """A layout, what its calls are made from and every recipe, read once; nothing is kept."""
    with django_db_blocker.unblock(), transaction.atomic(), override_settings(READINESS_DEMO=True):
        revision = stored(request.param)
        material = material_of(revision, now=NOW, is_assessed=False)
        specs = {row.slug: row.spec for row in Recipe.objects.all()}
        transaction.set_rollback(True)
    layout = read_workbook(FIXTURES / "layouts" / request.param, name=request.param).layout
    assert layout is not None
    return layout, material, specs


def drilled(slug: str, made: Made, seed: int) -> DrillPlan:
    layout, material, specs = made
    return plan(layout, specs[slug], seed=seed, material=material)


@pytest.fixture(scope="module")
def kept(made: Made) -> Kept:
    """The drill of a recipe and a seed, made once for all the tests that look at it."""
    return cache(lambda slug, seed: drilled(slug, made, seed))


@pytest.mark.parametrize("slug", RECIPES)
def test_every_recipe_of_calls_is_whole_and_can_be_answered(
    slug: str, made: Made, kept: Kept
) -> None:
    """So many prompts of each kind as it counts; the must-haves pass, the worked dose is right."""
    layout = made[0]
    for seed in SEEDS:
        found = kept(slug, seed)
        kinds = Counter(each.kind for each in found.prompts if each.kind != "arrive")
        counts = {kind: count for kind, count in made[2][slug].kinds if kind != "arrive"}
        assert kinds == Counter(counts)
        for prompt in (*found.prompts, *found.spares):
            if prompt.stage:
                wanted, tied = prompt.stage.wanted, prompt.stage.tied
                kit = must_haves(layout, wanted)
                assert mark_stage(layout, wanted, kit, tied).outcome == RIGHT
                assert any(each.quantity for each in wanted if each.grade == MUST)
                every_line = Kit({(at.compartment, at.key): at.par for at in layout.stock})
                every_bag = Kit({}, frozenset(at.code for at in layout.compartments if at.is_bag))
                assert mark_stage(layout, wanted, every_line, tied).outcome == WRONG
                assert mark_stage(layout, wanted, every_bag, tied).outcome != RIGHT
            if prompt.exercise:
                problem, asked = prompt.exercise.problem, prompt.exercise.asked
                set_to = problem.solve().results[asked].rounded
                assert set_to is not None
                assert judge(problem, asked, set_to.exactly()).verdict == RIGHT


@pytest.mark.parametrize("slug", RECIPES)
def test_the_same_seed_makes_the_same_drill_and_another_another(
    slug: str, made: Made, kept: Kept
) -> None:
    assert kept(slug, 1) == drilled(slug, made, 1)
    assert len({kept(slug, seed).prompts for seed in SEEDS}) == len(SEEDS)


def firsts(prompts: Iterable[Prompt]) -> list[TriagePrompt]:
    """Whom a drill asks to sort when they are first met."""
    return [each.triage for each in prompts if each.triage and each.triage.look == 1]


def mark_of_its_call(prompt: Prompt) -> str:
    """Who is there, and what was seen of them first."""
    call = prompt.stage.call if prompt.stage else prompt.call
    assert call is not None
    return call_mark(call)


@pytest.mark.parametrize("slug", OF_ONE_CALL)
def test_a_call_runs_from_its_patients_to_its_kit(slug: str, made: Made) -> None:
    """In the order of the recipe, all of one call; what is given out is scarce on this rig."""
    layout, material, specs = made
    order = [kind for kind, _ in specs[slug].kinds]
    has = rig_has(layout, material.ties)
    for seed in range(5):
        found = drilled(slug, made, seed)
        prompts = found.prompts
        spares = [each for each in found.spares if each.kind == "allocate"]
        asked = [each for each in prompts if each.kind == "allocate"]
        spared = {each.kind for each in found.spares if each.kind in ("stage", "dose", "supply")}
        assert spared <= {each.kind for each in prompts}
        assert len(asked) <= 2
        assert len(spares) == (SPARE_CALLS if asked else 0)
        for each in spares:
            assert each.choosing is not None
            assert each.choosing.groups[0].take == has[each.subject]
            assert each.call != asked[0].call
        assert len(set(map(mark_of_its_call, prompts))) == 1
        of_kinds = [each.kind for each in prompts if each.kind != "supply"]
        assert of_kinds == sorted(of_kinds, key=order.index)
        for at, each in enumerate(prompts):
            if each.kind == "allocate":
                assert each.choosing is not None
                assert each.call is not None
                assert len(each.choosing.told) <= (len(firsts(prompts)) or len(each.call.patients))
                assert each.choosing.groups[0].take == has[each.subject] > 0
                assert each.choosing.groups[0].right or each.choosing.groups[0].may
                if each.subject in ("outlets", "portables"):
                    assert prompts[at + 1].kind == "supply"


ARRIVING = (*OF_ONE_CALL, "multi-patient-first", "multi-patient-assessed")


def is_made(slug: str, layout: Layout) -> bool:
    """The small rig has of nothing too little and something, so that it gives nothing out."""
    return slug != "many-patients" or layout.slug != "first-response-truck"


def whole_drills(slug: str, made: Made, many: int) -> list[tuple[Call, tuple[Prompt, ...]]]:
    """Drills of a recipe that arrives, each with its call; none where the rig makes none."""
    if not is_made(slug, made[0]):
        return []
    found = [drilled(slug, made, seed).prompts for seed in range(many)]
    return [(next(each.call for each in prompts if each.call), prompts) for prompts in found]


@pytest.mark.parametrize("slug", ARRIVING)
def test_arriving_comes_first_and_every_question_of_it_is_sound(slug: str, made: Made) -> None:
    """Until few are seen at the report from the dispatch alone; of what is asked one is right."""
    for call, prompts in whole_drills(slug, made, 6):
        arriving = [each for each in prompts if each.kind == "arrive"]
        assert list(prompts[: len(arriving)]) == arriving
        assert {"safety"} <= {each.subject for each in arriving}
        for each in arriving:
            assert each.choosing is not None
            assert odd_in(each.choosing, each.name, each.text) == ()
            is_own = "You are the second" in call.dispatch and each.subject == "kit"
            is_few = len(call.patients) < made[1].sorting.threshold
            assert bool(each.choosing.told) == (is_own or (each.subject == "report" and is_few))
            assert each.call == call


@pytest.mark.parametrize("slug", ARRIVING)
def test_a_dose_is_asked_only_of_who_is_the_crews_own(slug: str, made: Made) -> None:
    """Of many the first crew gives none; the second, and the only one, to patients of its own."""
    seen = set()
    for call, prompts in whole_drills(slug, made, 12):
        many = len(call.patients) >= made[1].sorting.threshold
        is_second = "You are the second" in call.dispatch
        assert ("You are the first" in call.dispatch) == (many and not is_second)
        seen.add((many, is_second))
        own = crew_of(call, made[1].sorting.threshold, is_second=is_second, is_told=True).own
        for each in prompts:
            if each.kind == "dose" and each.patient:
                assert each.patient.number in own
            if each.kind == "stage" and is_second and each.stage:
                assert each.stage.patient in own
        kinds = {each.kind for each in prompts}
        asked = {each.subject for each in prompts if each.kind == "arrive"}
        assert not is_second or not kinds & {"triage", "allocate"}
        assert ("report" in asked) == (not is_second)
        assert ("crew" in asked) == many
        if many and not is_second:
            assert "dose" not in kinds
            assert all(each.stage.area for each in prompts if each.stage)
    assert slug == "many-patients" or len(seen) > 1


@pytest.mark.parametrize("slug", ["stroke", "water-rescue"])
def test_a_call_that_no_rule_is_for_is_met_all_the_same_and_asks_no_dose(
    slug: str, made: Made
) -> None:
    """A kit and a figure of the supply it has; of the others one waits for a dose as ever."""
    assert _dosed_beside_chest_pain(slug, made) == {(slug, False), ("chest-pain", True)}


@pytest.mark.parametrize("slug", ["behavioural", "childbirth", "carbon-monoxide"])
def test_a_call_that_few_rules_are_for_is_not_met_for_their_sake(slug: str, made: Made) -> None:
    """Most births do not bleed, though of one that does a dose is asked."""
    found = _dosed_beside_chest_pain(slug, made)

    assert (slug, False) in found
    assert found <= {(slug, False), (slug, True), ("chest-pain", True)}


def _dosed_beside_chest_pain(slug: str, made: Made) -> set[tuple[str, bool]]:
    """The call types that are met, and whether of one a dose is asked."""
    layout, material, specs = made
    spec = replace(specs["call-of-the-day"], call_types=(slug, "chest-pain"))
    found = set()
    for seed in range(8):
        prompts = plan(layout, spec, seed=seed, material=material).prompts
        kinds = {each.kind for each in prompts}
        assert {"arrive", "stage", "supply"} <= kinds
        found.add((prompts[0].call.call_type if prompts[0].call else "", "dose" in kinds))
    return found


def test_oxygen_is_set_as_what_the_patient_is_asked_for_takes(made: Made) -> None:
    """A mask with its bag, and a bag to breathe by, take 10 L/min and more; a cannula 6 at most."""
    layout, material, specs = made
    masks = {"non-rebreather-mask-adult", "bag-valve-mask-adult"}
    spec = replace(specs["call-of-the-day"], call_types=("chest-pain", "adult-breathing"))
    seen = set()
    for seed in range(12):
        for each in plan(layout, spec, seed=seed, material=material).prompts:
            if each.exercise and each.exercise.topic == "oxygen" and each.call:
                (one,) = each.call.patients
                asked = {need.need for need in needs_for(each.call.needs, one.number)}
                (flow,) = [told.words for told in each.exercise.facts if told.label == "Flow"]
                is_of_mask = int(flow.split()[0]) >= 10
                assert is_of_mask == bool(asked & masks)
                seen.add(is_of_mask)
    assert seen == {True, False}


def test_what_two_patients_share_is_given_out_though_nobody_is_sorted(made: Made) -> None:
    """After who comes first, where the rig has one of a thing and both need it."""
    layout, material, specs = made
    spec = replace(specs["call-of-the-day"], call_types=("opioid-overdose",), patients_least=2)
    has, seen = rig_has(layout, material.ties), 0
    for seed in range(8):
        prompts = plan(layout, spec, seed=seed, material=material).prompts
        kinds = [each.kind for each in prompts]
        assert [each.subject for each in prompts if each.kind == "triage"] == ["who first"]
        for each in prompts:
            if each.kind == "allocate" and each.choosing:
                assert each.choosing.groups[0].take == has[each.subject] == 1
                assert kinds.index("triage") < kinds.index("allocate")
                seen += 1
    assert seen or 1 not in has.values()


def test_a_recipe_of_calls_that_no_rule_is_for_says_why_it_makes_no_drill(made: Made) -> None:
    layout, material, specs = made
    spec = replace(specs["call-of-the-day"], call_types=("stroke",))

    with pytest.raises(CannotApplyError, match="a patient that a rule fits"):
        plan(layout, spec, seed=1, material=material)


def test_who_is_dosed_has_the_weight_on_their_card(made: Made, kept: Kept) -> None:
    """The same as among the figures; where the rule takes none, as it was told."""
    seen = 0
    for seed in SEEDS:
        for prompt in kept("multi-patient-first", seed).prompts:
            if prompt.exercise and prompt.patient:
                shown = shown_of(prompt)
                (card,) = shown["patients"]
                assert card["signs"][-1] == f"Weight {prompt.patient.weight}"
                assert prompt.exercise.weight in {"", prompt.patient.weight}
                seen += 1
    assert seen


def test_the_supply_is_asked_of_nobody_who_is_dead_or_left_for_now(made: Made) -> None:
    """A bag that runs into somebody who is not treated is no question."""
    left = 0
    for call, prompts in whole_drills("many-patients", made, 12):
        treated = treated_of(call)
        left += len(call.patients) - len(treated)
        of_whom = {
            each.patient.number for each in prompts if each.kind == "supply" and each.patient
        }
        assert of_whom <= set(treated)
    assert left or not is_made("many-patients", made[0])


@pytest.mark.parametrize("slug", SORTED)
def test_how_many_is_asked_once_everybody_is_sorted(slug: str, made: Made) -> None:
    """After the last of them, of the true categories; with the patients to look back at."""
    for seed in SEEDS:
        prompts = drilled(slug, made, seed).prompts
        sorts = firsts(prompts)
        counted = prompts[len(sorts)]
        assert [at for at, each in enumerate(prompts) if each.choosing] == [len(sorts)]
        assert counted.choosing is not None
        assert dict(counted.choosing.groups[0].counts) == {
            each.category: sum(sort.answer == each.category for sort in sorts)
            for each in sorts[0].choices
        }
        assert [number for number, *_ in counted.choosing.told] == [each.number for each in sorts]
        assert counted.choosing.shown()["is_folded"]


def test_who_got_worse_is_met_again_beside_one_who_did_not(made: Made) -> None:
    """At most two who did, each more urgent than before; nobody where nobody did."""
    worse, same, nobody = 0, 0, 0
    for seed in range(30):
        prompts = drilled("triage-many", made, seed).prompts
        before = {each.number: each for each in firsts(prompts)}
        again = [each.triage for each in prompts if each.triage and each.triage.look == 2]
        nobody += not again
        assert all("again" in each.name for each in prompts[-len(again) or len(prompts) :])
        changed = [each for each in again if each.answer != before[each.number].answer]
        assert all(each.answer == "immediate" for each in changed)
        assert all(each.seen.startswith(before[each.number].seen) for each in again)
        assert len(again) == 0 or 1 <= len(changed) <= 2
        assert len(again) - len(changed) in (0, 1)
        worse += len(changed)
        same += len(again) - len(changed)
    assert worse > same > 0
    assert nobody


@pytest.mark.parametrize("slug", SORTED)
def test_everybody_of_one_call_is_sorted_and_judged_by_the_scheme(slug: str, made: Made) -> None:
    """As many as the recipe says, in their order, each with findings of their own."""
    for seed in SEEDS:
        found = drilled(slug, made, seed)
        assert found == drilled(slug, made, seed)
        sorts = firsts(found.prompts)
        assert [each.number for each in sorts] == list(range(1, len(sorts) + 1))
        assert len(sorts) in SORTED[slug]
        spares = [each.triage for each in found.spares]
        assert len(spares) == SPARE_CALLS
        assert all(each and each.answer for each in spares)
        assert {each.call for each in found.spares}.isdisjoint({found.prompts[0].call})
        assert len({each.seen for each in sorts}) == len(sorts)
        assert {each.call for each in found.prompts} == {found.prompts[0].call}


def patients_of(found: DrillPlan) -> tuple[Patient, ...]:
    """Everybody of the call that a drill sorts."""
    return next(each.call.patients for each in found.prompts if each.triage and each.call)


@pytest.mark.parametrize("order", ["mixed", "rising"])
def test_patients_stay_together_in_their_order_among_other_prompts(made: Made, order: str) -> None:
    layout, material, specs = made
    kinds = (("triage", 4), ("locate", 5), ("stage", 1))
    spec = replace(specs["triage-many"], kinds=kinds, order=order, probes_share=0.2)
    found_at = set()
    for seed in range(8):
        found = plan(layout, spec, seed=seed, material=material)
        at = [place for place, each in enumerate(found.prompts) if each.triage]
        sorts = firsts(found.prompts)
        of_patients = [each for each in found.prompts if each.kind == "triage"]

        assert at[: len(sorts)] == list(range(at[0], at[0] + len(sorts)))
        assert [each.number for each in sorts] == list(range(1, len(patients_of(found)) + 1))
        assert len(sorts) >= 4
        assert list(found.prompts[at[0] : at[0] + len(of_patients)]) == of_patients
        assert Counter(each.kind for each in found.prompts if each.kind != "triage") == {
            "locate": 5,
            "stage": 1,
        }
        assert len({each.call for each in found.prompts if each.triage}) == 1
        found_at.add(at[0])
    assert len(found_at) > 2


@pytest.mark.parametrize(
    ("kinds", "order", "message"),
    [
        ((("triage", 13),), "mixed", "no call of it has 13 patients"),
        ((("triage", 13),), "as a call runs", "no call of it has 13 patients"),
    ],
)
def test_sorting_that_cannot_be_is_named(
    made: Made, kinds: tuple[tuple[str, int], ...], order: str, message: str
) -> None:
    layout, material, specs = made
    spec = replace(specs["triage-many"], kinds=kinds, order=order, patients_most=None)

    with pytest.raises(CannotApplyError, match=message):
        plan(layout, spec, seed=1, material=material)


def test_a_sorted_call_can_be_brought_to_as_well(made: Made) -> None:
    """One call: its patients are sorted, and its kit is that of the same patients."""
    layout, material, specs = made
    spec = replace(specs["triage-many"], kinds=(("triage", 0), ("stage", 1)))

    found = plan(layout, spec, seed=1, material=material).prompts

    assert [each.kind for each in found[-2:]] == ["triage", "stage"]
    assert found[-1].stage is not None
    assert found[-1].stage.call == found[0].call


def test_many_are_staged_for_by_treatment_area_and_a_spare_names_none(made: Made) -> None:
    """Who waits there is told by findings, and how many of each thing they take together."""
    layout, material, specs = made
    spec = replace(specs["triage-many"], kinds=(("triage", 0), ("stage", 3)))
    for seed in SEEDS:
        found = plan(layout, spec, seed=seed, material=material)
        last = {each.triage.number: each.triage for each in found.prompts if each.triage}
        kits = [each for each in found.prompts if each.stage and each.stage.area]
        assert kits
        met = set()
        for kit in kits:
            assert kit.stage is not None
            for number, who, findings in kit.stage.told:
                word, colour = next(
                    (each.word, each.colour)
                    for each in last[number].choices
                    if each.category == last[number].answer
                )
                assert kit.stage.area == f"{word} ({colour})"
                assert (who, findings) == (last[number].who, last[number].found)
                met.add(number)
            shown = shown_of(kit)
            assert shown["area"] in kit.name
            assert [each["number"] for each in shown["patients"]] == [
                number for number, *_ in kit.stage.told
            ]
        assert len(met) == sum(len(each.stage.told) for each in kits if each.stage)
        assert not any(each.stage.area for each in found.spares if each.stage)


def test_what_is_found_first_is_what_the_call_cannot_do_without(made: Made, kept: Kept) -> None:
    layout, material, _ = made
    for seed in SEEDS:
        found = kept("multi-patient-first", seed).prompts
        call = next(each.stage.call for each in found if each.stage)
        wanted = want(layout, material.ties, call.needs)
        musts = {thing for each in wanted if each.grade == MUST for thing in each.things}
        assert {each.subject for each in found if each.kind == "locate"} <= musts


def test_patients_are_as_many_as_the_recipe_says(kept: Kept) -> None:
    for seed in SEEDS:
        for prompt in kept("multi-patient-first", seed).prompts:
            if prompt.stage:
                assert 2 <= len(prompt.stage.call.patients) <= 4


@pytest.mark.parametrize("slug", ["call-of-the-day", "new-rig-week-6"])
def test_injured_patients_stand_beside_calls_and_change_nothing_of_them(
    slug: str, made: Made, kept: Kept
) -> None:
    """As a call runs in their place, else anywhere; a kit after the call tells who was met last."""
    layout, material, specs = made
    for place in (len(specs[slug].kinds), 0):
        kinds = list(specs[slug].kinds)
        kinds.insert(place, (FIELD, 2))
        both = plan(layout, replace(specs[slug], kinds=tuple(kinds)), seed=1, material=material)
        others = [each for each in both.prompts if each.subject != FIELD]

        assert len(both.prompts) == len(others) + 2
        assert sum(each.subject == FIELD for each in both.spares) > 0
        if specs[slug].order == "as a call runs":
            assert tuple(others) == kept(slug, 1).prompts
            assert {each.subject for each in (both.prompts[:2], both.prompts[-2:])[place > 0]} == {
                FIELD
            }
        else:
            assert {each.name for each in others} == {each.name for each in kept(slug, 1).prompts}


@pytest.mark.django_db
@pytest.mark.parametrize("slug", ["dosing-ladder-1", "multi-patient-first"])
def test_without_an_approved_formulary_no_dose_is_drilled(slug: str, settings: Any) -> None:
    settings.READINESS_DEMO = False
    revision = stored("mesa-box")
    layout = read_workbook(FIXTURES / "layouts" / "mesa-box", name="mesa-box").layout
    assert layout is not None
    material = material_of(revision, now=NOW, is_assessed=False)
    specs = {slug: Recipe.objects.get(slug=slug).spec}

    with pytest.raises(CannotApplyError, match="not approved"):
        drilled(slug, (layout, material, specs), 1)


def test_recipes_of_calls_are_those_of_the_reference_data() -> None:
    rows = json.loads((FIXTURES / "recipes.json").read_text())
    built = {*BUILT_KINDS} - {"moved"}
    kinds = {
        row["fields"]["slug"]: {
            each.partition(":")[0] for each in row["fields"]["kinds"].split(";")
        }
        for row in rows
    }
    asked_of_calls = {"stage", "dose", "supply", "triage", "allocate"}
    of_calls = {slug for slug, said in kinds.items() if said & asked_of_calls and said <= built}

    assert of_calls - {"small-patients"} == {*RECIPES, *SORTED, *OF_ONE_CALL}


def test_supply_sums_can_be_drilled_on_every_demonstration_layout(kept: Kept) -> None:
    """A drill of supply alone, by name, of six sums."""
    for seed in SEEDS:
        prompts = kept("supply-sums", seed).prompts
        assert {each.kind for each in prompts} == {"supply"}
        assert len(prompts) >= 6
