"""The preview of a drill, as a command."""

import json
from collections import Counter
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from drills.demo.factories import RecipeFactory, published
from drills.engine.incidents import make_incident
from drills.engine.incidents.asking import sorted_call
from drills.engine.incidents.first import who_first
from drills.engine.prompts import Prompt
from drills.engine.recipes import TRIAGE
from drills.engine.sortplan import asked_of
from drills.engine.triage import CATEGORIES, START_FAMILY
from drills.rigs.reading import layout_of
from drills.scenarios.describing import asked, describe
from tests.engine.fixture_world import call_types, world
from tests.layouts import practice_rig

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def layout(db: None) -> None:
    published(practice_rig())


def preview(recipe: str, *, seed: int = 1, layout: str = "practice-rig") -> str:
    out = StringIO()
    call_command(
        "preview_drill",
        f"--layout={layout}",
        f"--recipe={recipe}",
        f"--seed={seed}",
        "--json",
        stdout=out,
    )
    return out.getvalue()


def document(recipe: str, *, seed: int = 1) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(preview(recipe, seed=seed))
    return found


def test_prints_one_document_with_the_answers() -> None:
    RecipeFactory.create(slug="find", kinds="locate:4;contents:1")

    found = document("find", seed=3)

    assert (found["layout"], found["revision"], found["recipe"]) == ("practice-rig", 1, "find")
    assert (found["seed"], found["varies"], len(found["prompts"])) == (3, True, 5)
    by_name = {thing.name: thing for thing in practice_rig().things.values()}
    for prompt in found["prompts"]:
        if prompt["kind"] == "locate":
            assert tuple(prompt["answer"]) == by_name[prompt["subject"]].places


def test_the_same_seed_gives_the_same_bytes() -> None:
    RecipeFactory.create(slug="find", kinds="locate:4;contents:1")

    assert preview("find", seed=8) == preview("find", seed=8)


def test_another_seed_differs_where_it_varies() -> None:
    RecipeFactory.create(slug="find", kinds="locate:4")

    drills = {json.dumps(document("find", seed=seed)["prompts"]) for seed in range(8)}

    assert len(drills) > 1


def test_a_fixed_order_does_not_vary() -> None:
    RecipeFactory.create(slug="walk", kinds="locate:4", order="by compartment")

    first, second = document("walk", seed=1), document("walk", seed=2)

    assert first["varies"] is False
    assert first["prompts"] == second["prompts"]


def test_a_focus_not_built_yet_exits_3_and_names_it(capsys: pytest.CaptureFixture[str]) -> None:
    RecipeFactory.create(slug="later", kinds="locate:4;dose:2", focus=["what glows"])

    with pytest.raises(SystemExit) as stop:
        preview("later")

    captured = capsys.readouterr()
    assert stop.value.code == 3
    assert captured.out == ""
    assert captured.err.count("\n") == 1
    assert "what glows" in captured.err


def test_an_unknown_slug_is_named_with_what_there_is() -> None:
    RecipeFactory.create(slug="find")

    with pytest.raises(CommandError, match="No recipe 'fnid'; there are: find"):
        preview("fnid")
    with pytest.raises(CommandError, match="there are: practice-rig"):
        preview("find", layout="practise-rig")


def test_prints_plainly_for_people(capsys: pytest.CaptureFixture[str]) -> None:
    RecipeFactory.create(slug="find", kinds="locate:2")

    call_command("preview_drill", "--layout=practice-rig", "--recipe=find", "--seed=1")

    out = capsys.readouterr().out
    assert out.startswith("practice-rig rev. 1, find, seed 1")
    assert out.count("Where is it?") == 2


def test_who_is_sorted_is_told_with_the_category_and_the_way() -> None:
    incident = make_incident(call_types()["multi-vehicle"], world(), seed="1", count=6)
    asked_for = asked_of(sorted_call(incident, seed="1"))

    told = [describe(practice_rig(), prompt) for prompt in asked_for]

    one, counted = told[0], told[6]
    first = incident.casualties[0]
    assert one["answer"]["category"] == incident.outcome(first).category
    assert one["patients"][0]["findings"].startswith(first.seen)
    assert one["answer_text"][1:] == list(incident.outcome(first).path)
    met = Counter(incident.outcome(each).category for each in incident.casualties)
    words = {each.category: each.word for each in CATEGORIES if each.schemes == START_FAMILY}
    for category, number in met.items():
        assert f"{number} {words[category or '']}" in counted["answer_text"][0]


def test_what_is_chosen_in_groups_is_told_with_what_is_right() -> None:
    incident = make_incident(call_types()["multi-vehicle"], world(), seed="1", count=2)
    choosing = who_first(incident)

    told = describe(
        practice_rig(),
        Prompt(TRIAGE, "who first", "Who comes first.", "", "focus", choosing=choosing),
    )

    right = choosing.groups[0].right
    assert told["answer"] == choosing.answer()
    assert told["answer_text"][0].count(". ") >= 1
    assert all(f"{number}. " in told["answer_text"][0] for number in right)
    assert told["answer_text"][-len(choosing.why) :] == list(choosing.why)
    assert asked(told["name"], told["text"]) == "Who comes first."


def test_a_revision_reads_back_as_it_was_imported() -> None:
    revision = published(practice_rig("another-rig"))

    read, given = layout_of(revision), practice_rig("another-rig")

    assert read.things == given.things
    assert [each.code for each in read.compartments] == [each.code for each in given.compartments]
