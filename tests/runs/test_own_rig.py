"""Drills on a rig ask, judge and tell as that rig is, with its own differences."""

import pytest
from django.urls import reverse

from drills.competency.models import Evidence
from drills.demo.factories import RecipeFactory, rig_on
from drills.engine.elsewhere import Elsewhere, on_rig
from drills.engine.recipes import CONTENTS, LOCATE
from drills.people.models import Person
from drills.rigs.actions import end_difference, import_layout, tell_difference
from drills.rigs.models import Rig, RigDifference
from drills.rigs.own import own_of
from drills.runs.actions import contest, start_run
from drills.runs.models import Presentation, Run
from drills.runs.records import record_of
from drills.scenarios.actions import make_drill
from drills.scenarios.models import DrillPrompt, Recipe
from drills.scenarios.reading import layout_asked
from drills.scenarios.tasks import wanted_in
from tests.calls import bleeding_call
from tests.layouts import practice_rig
from tests.runs.conftest import NOW, SEED, ClientOf
from tests.runs.player import Player, right

pytestmark = pytest.mark.django_db


@pytest.fixture
def everything(db: None) -> Recipe:
    """Every thing of the practice rig, and every place."""
    return RecipeFactory.create(slug="find-all", kinds="locate:20;contents:10")


@pytest.fixture
def told(rig: Rig, keeper: Person) -> RigDifference:
    """The splint of this rig lies in the upper drawer."""
    return tell_difference(rig, thing="splint", place="", here="I1A", by=keeper, now=NOW)


def started(hire: Person, rig: Rig, recipe: Recipe) -> Run:
    return start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=NOW, seed=SEED)


def prompts_of(run: Run, kind: str) -> dict[tuple[str, str], list[str]]:
    rows = DrillPrompt.objects.filter(drill=run.drill, kind=kind)
    return {(each.subject, each.category): each.answer for each in rows}


def until(run: Run, subject: str) -> tuple[Player, Presentation]:
    """The open prompt that asks for something, all before it answered right."""
    player = Player(run)
    presentation: Presentation | None = player.past_warm_ups()
    while presentation is not None and presentation.subject != subject:
        player.answer(presentation, right(presentation))
        presentation = player.serve()
    assert presentation is not None
    return player, presentation


def test_asks_and_judges_where_the_rig_has_it(
    hire: Person, rig: Rig, everything: Recipe, told: RigDifference
) -> None:
    player, presentation = until(started(hire, rig, everything), "splint")

    answered = player.answer(presentation, ["I1A"])

    assert answered.outcome == "right"
    found = Evidence.objects.filter(source__endswith=answered.token)
    assert list(found.values_list("fact__item__key", "fact__place__key")) == [("splint", "I1A")]


def test_where_the_layout_says_is_wrong_on_this_rig_and_the_debrief_says_the_same(
    client_of: ClientOf, hire: Person, rig: Rig, everything: Recipe, told: RigDifference
) -> None:
    run = started(hire, rig, everything)
    player, presentation = until(run, "splint")

    answered = player.answer(presentation, ["S1A"])
    player.serve()
    following: Presentation | None = player.serve()
    while following is not None:
        player.answer(following, right(following))
        following = player.serve()

    assert (answered.outcome, answered.place) == ("wrong", "I1A")
    page = client_of(hire).get(reverse("runs:debrief", args=[run.pk])).content.decode()
    missed = page[page.index("Missed: Splint") :][:900]
    assert "You said <b>S1 Street cabinet › Lower shelf</b>" in missed
    assert "It is in <b>I1 Wall cabinet › Upper drawer</b>" in missed


def evidence_of(answered: Presentation) -> set[tuple[str, str, str]]:
    rows = Evidence.objects.filter(source__endswith=answered.token)
    return set(rows.values_list("fact__item__key", "fact__place__key", "outcome"))


def test_what_the_layout_says_is_wrong_here_and_tells_against_nothing_it_says(
    hire: Person, keeper: Person, rig: Rig, everything: Recipe
) -> None:
    """Whoever knows both places of the layout knows the other one too."""
    tell_difference(rig, thing="tourniquet", place="BAG-M", here="", by=keeper, now=NOW)
    player, presentation = until(started(hire, rig, everything), "tourniquet")

    answered = player.answer(presentation, ["BAG-M"])

    assert (answered.outcome, answered.place) == ("wrong", "I1A")
    assert evidence_of(answered) == set()


def test_what_neither_says_tells_against_the_place_it_has(
    hire: Person, keeper: Person, rig: Rig, everything: Recipe
) -> None:
    tell_difference(rig, thing="tourniquet", place="BAG-M", here="", by=keeper, now=NOW)
    player, presentation = until(started(hire, rig, everything), "tourniquet")

    answered = player.answer(presentation, ["P1"])

    assert evidence_of(answered) == {("tourniquet", "I1A", "wrong")}


def test_who_has_not_learned_where_this_rig_has_it_is_asked_for_that(
    hire: Person, rig: Rig, everything: Recipe, told: RigDifference
) -> None:
    player, presentation = until(started(hire, rig, everything), "splint")

    answered = player.answer(presentation, ["S1A"])

    assert evidence_of(answered) == {("splint", "I1A", "wrong")}


def test_contents_as_the_layout_says_them_tell_against_nothing_it_says(
    hire: Person, keeper: Person, rig: Rig, everything: Recipe
) -> None:
    tell_difference(rig, thing="tourniquet", place="BAG-M", here="", by=keeper, now=NOW)
    tell_difference(rig, thing="gauze roll", place="", here="BAG-M", by=keeper, now=NOW)
    player, presentation = until(started(hire, rig, everything), "BAG-M")

    answered = player.answer(presentation, ["tourniquet"])

    assert answered.not_there == ["tourniquet"]
    assert evidence_of(answered) == {
        *(("gauze roll", "BAG-M", "wrong"), ("trauma dressing", "BAG-M", "wrong"))
    }


@pytest.fixture
def brought_whole(hire: Person, keeper: Person, rig: Rig) -> Presentation:
    """The response bag, brought whole on a rig that has the tourniquet of it in a cabinet."""
    tell_difference(rig, thing="tourniquet", place="BAG-M", here="S1", by=keeper, now=NOW)
    bleeding_call(rig.revision)
    run = started(hire, rig, RecipeFactory.create(kinds="stage:1", call_types=["bleeding"]))
    player = Player(run)
    answered = player.answer(player.begin(), ["BAG"])
    while (following := player.serve()) is not None:
        player.answer(following, [])
    return answered


def test_whoever_decides_on_a_mark_reads_of_the_bag_as_this_rig_has_it(
    client_of: ClientOf, fto: Person, brought_whole: Presentation
) -> None:
    contest(brought_whole.run, token=brought_whole.token, because="It hung there.", now=NOW)

    page = client_of(fto).get(reverse("runs:contests")).content.decode()

    assert "Tourniquet-limb: 0 of 1" in page


def test_the_export_of_a_person_says_what_lay_in_the_bag_on_this_rig(
    hire: Person, brought_whole: Presentation
) -> None:
    (run,) = record_of(hire)["runs"]

    assert "Tourniquet-limb: 0 of 1" in run["answers"][0]["missed"]


def test_what_one_rig_has_elsewhere_did_not_move_with_the_revision(
    hire: Person, keeper: Person, rig: Rig
) -> None:
    tell_difference(rig, thing="splint", place="", here="I1A", by=keeper, now=NOW)
    before = rig.revision
    new = on_rig(practice_rig(), [Elsewhere("traffic cone", "S1", "I1")])
    import_layout(new, by=keeper, now=NOW, publish=True)
    rig.refresh_from_db()
    moved = RecipeFactory.create(slug="moved", kinds="moved:auto", order="moved first")

    drill = make_drill(
        moved,
        revision=rig.revision,
        seed=SEED,
        weights={},
        held=set(),
        now=NOW,
        differences=own_of(rig),
        since=before,
    )

    assert [each.subject for each in drill.prompts.filter(is_spare=False)] == ["traffic cone"]


def test_contents_are_those_of_the_rig(
    hire: Person, keeper: Person, rig: Rig, everything: Recipe
) -> None:
    tell_difference(rig, thing="gauze roll", place="", here="BAG-M", by=keeper, now=NOW)

    asked = prompts_of(started(hire, rig, everything), CONTENTS)

    bleeding = "circulation and bleeding"
    assert asked["BAG-M", bleeding] == ["gauze roll", "tourniquet", "trauma dressing"]
    assert ("I1A", bleeding) not in asked


def test_what_is_not_aboard_is_neither_asked_nor_a_choice_nor_brought(
    hire: Person, rig: Rig, everything: Recipe, keeper: Person
) -> None:
    tell_difference(rig, thing="splint", place="", here="", by=keeper, now=NOW)
    bleeding_call(rig.revision)
    bring = RecipeFactory.create(slug="bring", kinds="stage:1", call_types=["bleeding"])

    run, kit = started(hire, rig, everything), started(hire, rig, bring)

    assert "splint" not in {subject for subject, _ in prompts_of(run, LOCATE)}
    assert not any("splint" in each.choices for each in run.drill.prompts.all())
    wanted = wanted_in(kit.drill.prompts.filter(is_spare=False).get().answer)
    splints = next(each for each in wanted if each.need == "board-splints")
    assert (splints.quantity, splints.short, splints.things) == (0, 1, ())


def test_a_kit_without_it_is_judged_and_told_without_fault(
    client_of: ClientOf, hire: Person, rig: Rig, keeper: Person
) -> None:
    """What was missed lies somewhere; what is not aboard lies nowhere, and nobody missed it."""
    tell_difference(rig, thing="splint", place="", here="", by=keeper, now=NOW)
    bleeding_call(rig.revision)
    bring = RecipeFactory.create(slug="bring", kinds="stage:1", call_types=["bleeding"])
    run = started(hire, rig, bring)
    player = Player(run)
    presentation = player.begin()

    answered = player.answer(presentation, [])
    while (following := player.serve()) is not None:
        player.answer(following, [])

    assert answered.missed == ["tourniquet-limb"]
    assert client_of(hire).get(reverse("runs:debrief", args=[run.pk])).status_code == 200


def test_another_rig_of_the_layout_is_drilled_as_the_layout_says(
    hire: Person, rig: Rig, everything: Recipe, told: RigDifference
) -> None:
    other = rig_on(practice_rig(), unit="12")

    assert prompts_of(started(hire, other, everything), LOCATE)["splint", "immobilisation"] == [
        "S1A"
    ]
    assert prompts_of(started(hire, rig, everything), LOCATE)["splint", "immobilisation"] == ["I1A"]


def test_a_drill_stays_as_the_rig_was_when_it_was_made(
    client_of: ClientOf, hire: Person, keeper: Person, rig: Rig, everything: Recipe
) -> None:
    """A debrief read next week judges nobody by what was moved since."""
    told = tell_difference(rig, thing="splint", place="", here="I1A", by=keeper, now=NOW)
    run = started(hire, rig, everything)
    player = Player(run)
    player.finish(lambda each: ["S1A"] if each.subject == "splint" else right(each))

    end_difference(told, by=keeper, now=NOW)

    assert layout_asked(run.drill).things["splint"].places == ("I1A",)
    page = client_of(hire).get(reverse("runs:debrief", args=[run.pk])).content.decode()
    assert "It is in <b>I1 Wall cabinet › Upper drawer</b>" in page
    later = prompts_of(started(hire, rig, everything), LOCATE)
    assert later["splint", "immobilisation"] == ["S1A"]


def test_what_is_told_during_a_run_is_asked_no_more_in_it(
    hire: Person, keeper: Person, rig: Rig, everything: Recipe
) -> None:
    """Neither the thing, nor what is in the places that it left and came to."""
    run = started(hire, rig, everything)
    player = Player(run)
    presentation: Presentation | None = player.past_warm_ups()
    open_one = presentation.subject if presentation else ""
    tell_difference(rig, thing="midazolam", place="", here="BAG-L", by=keeper, now=NOW)

    asked = set()
    while presentation is not None:
        player.answer(presentation, right(presentation))
        presentation = player.serve()
        asked |= {presentation.subject} if presentation else set()

    assert not asked & ({"midazolam", "I1B", "BAG-L"} - {open_one})
    assert {"fentanyl", "suction tip", "BAG-M"} <= asked | {open_one}


def test_without_a_rig_it_is_the_layout_that_is_asked(
    hire: Person, rig: Rig, everything: Recipe, told: RigDifference
) -> None:
    run = start_run(hire, recipe=everything, revision=rig.revision, rig=None, now=NOW, seed=SEED)

    assert prompts_of(run, LOCATE)["splint", "immobilisation"] == ["S1A"]
