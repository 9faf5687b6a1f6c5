"""The tables of a crew that arrives: whole, and each word of them one of those that are read."""

import json
from pathlib import Path

import pytest

from drills.engine import scoring as judged
from drills.engine.arriveplan import Arrival
from drills.engine.arriving.crews import FIRST, SECOND, crew_of, told_to
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
    UNASKED,
    WORN,
    WRONG,
    keys_in,
)
from drills.engine.calls import MUST
from drills.engine.chance import seeded
from drills.engine.choosing import Choosing, mark_chosen, one_right
from drills.engine.dispatch import make_call
from drills.engine.incidents.tables import APPEARANCES
from tests.engine.fixture_world import call_types, world
from tests.layouts import demo_layout

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


def met_by(role: str, slug: str, difficulty: int) -> dict[str, Choosing]:
    """The questions of arriving at a call of many, as a crew of that role meets them."""
    kind, layout = call_types()[slug], demo_layout("mesa-box")
    seed = f"second:{slug}:{difficulty}"
    made = make_call(kind, world(), seeded(seed), least=3)
    crew = crew_of(made, 3, is_second=role == SECOND, is_told=True)
    assert crew.role == role
    arrival = Arrival(layout, {}, (), (kind,), world(), 3, difficulty)
    asked = arrival.asked(told_to(made, crew), crew, lambda needs: (), seeded(seed))
    return {each.subject: each.choosing for each in asked if each.choosing}


@pytest.mark.parametrize("slug", [slug for slug, kind in call_types().items() if kind.most >= 3])
def test_the_second_crew_never_sorts_anew_and_never_takes_charge(slug: str) -> None:
    """It gives no first report; the rest of its answer right, to sort or to take charge as well
    takes marks, while of a first crew that lacks either as much is asked."""
    offered = set()
    for difficulty in range(1, 6):
        met = met_by(SECOND, slug, difficulty)
        assert "report" not in met
        groups = [each.answer() for each in met["crew"].groups]
        best = one_right(groups)
        assert mark_chosen(groups, best).outcome == judged.RIGHT
        for mistake in {"sort", "charge"} & {each.key for each in met["crew"].groups[1].choices}:
            offered.add(mistake)
            assert mark_chosen(groups, [*best, f"does:{mistake}"]).outcome != judged.RIGHT

        first = [each.answer() for each in met_by(FIRST, slug, difficulty)["crew"].groups]
        best = one_right(first)
        for duty in ("does:sort", "does:charge"):
            without = [each for each in best if each != duty]
            assert len(without) < len(best)
            assert mark_chosen(first, without).outcome == judged.WRONG
    assert offered


def test_what_is_worn_is_a_need_and_is_against_hazards_that_are_told() -> None:
    """Every key leads somewhere; gloves alone are for everybody."""
    needs = {each["fields"]["key"] for each in json.loads((FIXTURES / "needs.json").read_text())}
    assert set(WORN) <= needs
    for worn in WORN.values():
        assert set(worn.against.split(";")) <= set(HAZARDS)
    assert [each.need for each in WORN.values() if each.is_for_all] == ["gloves-exam"]


def test_words_of_a_caller_name_hazards_that_are_told() -> None:
    """Every key leads somewhere, nothing is there and not there, and no words stand twice."""
    for row in SAID:
        assert {*row.named, *row.not_there} <= set(HAZARDS)
        assert not {*row.named} & {*row.not_there}
        assert {*keys_in(row.asks), *keys_in(row.spares)} <= set(RESOURCES)
        assert not {*keys_in(row.asks)} & {*keys_in(row.spares)}
    assert len({row.words.casefold() for row in SAID}) == len(SAID)
    assert set(HAZARDS) >= ACCESS
    for resource in RESOURCES.values():
        assert set(keys_in(resource.against)) <= set(HAZARDS)


def test_every_word_is_said_by_some_caller_and_by_no_name_of_a_place() -> None:
    """Or seen of a patient, and then it names no hazard; a place that is called like a hazard has
    none for it."""
    texts = [each.text for kind in call_types().values() for each in kind.phrases]
    said = {row.words for text in texts for row in said_in(text)}
    states = [state.findings for each in world().problems.values() for state in each.states]
    looks = [*states, *(each.seen for each in APPEARANCES)]
    seen = {row.words for look in looks for row in said_in(look)}
    assert said | seen == {row.words for row in SAID}
    assert not [row.words for row in SAID if row.words not in said and row.named]
    names = (*world().places, *(name for name, _ in world().roads))
    assert [name for name in names if said_in(name)] == []
