"""The tables of a crew that arrives: whole, and each word of them one of those that are read."""

import json
from pathlib import Path

from drills.engine.arriving.reporting import ACCESS, CONDITIONS
from drills.engine.arriving.sight import said_in
from drills.engine.arriving.tables import (
    DOES,
    DUTIES,
    ELEMENTS,
    EVERYWHERE,
    HAZARDS,
    MAY,
    REPORTS,
    RESOURCES,
    RIGHT,
    SAID,
    TOGETHER,
    UNASKED,
    WORN,
    WRONG,
    keys_in,
)
from drills.engine.calls import MUST
from tests.engine.fixture_world import call_types, world

FIXTURES = Path(__file__).parents[2] / "fixtures"


def test_every_grade_is_one_that_is_judged() -> None:
    """A misspelt grade would make a choice wrong without a word."""
    for element in ELEMENTS:
        assert {element.of_few, element.of_many} <= {MUST, MAY, WRONG, UNASKED}
        assert element.when in {EVERYWHERE, *CONDITIONS}
        assert element.otherwise in {MAY, WRONG, UNASKED}
    for duty in DUTIES:
        accepted = {DOES: {MUST, MAY, WRONG, UNASKED}, REPORTS: {RIGHT, WRONG, UNASKED}}[duty.asks]
        assert {duty.first, duty.second} <= accepted


def test_the_second_crew_never_sorts_anew_and_never_takes_charge() -> None:
    """What a first crew must do and a second must not."""
    grades = {each.duty: (each.first, each.second) for each in DUTIES}
    assert grades["sort"] == grades["charge"] == (MUST, WRONG)
    assert grades["task"] == (UNASKED, MUST)


def test_what_is_worn_is_a_need_and_is_against_hazards_that_are_told() -> None:
    """Every key leads somewhere; gloves alone are for everybody."""
    needs = {each["fields"]["key"] for each in json.loads((FIXTURES / "needs.json").read_text())}
    assert set(WORN) <= needs
    for worn in WORN.values():
        assert set(worn.against.split(";")) <= set(HAZARDS)
    assert [each.need for each in WORN.values() if each.is_for_all] == ["gloves-exam"]


def test_what_comes_together_is_of_needs_and_runs_in_no_circle() -> None:
    """Whatever it begins with ends with something that takes nothing more."""
    needs = {each["fields"]["key"] for each in json.loads((FIXTURES / "needs.json").read_text())}
    takes = {each.need: each.comes_with for each in TOGETHER}
    assert {*takes, *takes.values()} <= needs
    assert len(takes) == len(TOGETHER)
    for need in takes:
        seen = {need}
        while need := takes.get(need, ""):
            assert need not in seen
            seen.add(need)


def test_words_of_a_caller_name_hazards_that_are_told() -> None:
    """Every key leads somewhere, nothing is there and not there, and no words stand twice."""
    for row in SAID:
        assert {*row.named, *row.not_there} <= set(HAZARDS)
        assert not {*row.named} & {*row.not_there}
    assert len({row.words.casefold() for row in SAID}) == len(SAID)
    assert set(HAZARDS) >= ACCESS
    for resource in RESOURCES.values():
        assert set(keys_in(resource.against)) <= set(HAZARDS)


def test_every_word_is_said_by_some_caller_and_by_no_name_of_a_place() -> None:
    """A place that is called like a hazard has none for it."""
    texts = [each.text for kind in call_types().values() for each in kind.phrases]
    said = {row.words for text in texts for row in said_in(text)}
    assert said == {row.words for row in SAID}
    names = (*world().places, *(name for name, _ in world().roads))
    assert [name for name in names if said_in(name)] == []
