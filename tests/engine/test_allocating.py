"""Who gets what a rig has too few of: the rule, its ties, and what is counted of the rig."""

import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.choosing import mark_chosen, one_right
from drills.engine.incidents import Sorting, make_incident
from drills.engine.incidents.allocating import Triaged, needing, too_few, triaged, who_gets
from drills.engine.incidents.asking import sorted_call
from drills.engine.incidents.first import patients_told
from drills.engine.incidents.tables import SCARCE, Scarce
from drills.engine.triage import SALT_FAMILY
from tests.engine.fixture_world import call_types, world

OF = {each.key: each for each in SCARCE}
OUTLETS, HANDS = OF["outlets"], OF["hands"]


def person(number: int, urgency: int, *needs: str, kills: tuple[str, ...] = ()) -> Triaged:
    return Triaged(number, "man", "Hurt", "Red", urgency, frozenset(needs), kills)


# Two immediate, two delayed, one who needs none, and one who is dead and can need none.
PEOPLE = (
    person(1, 2, "outlets"),
    person(2, 1, "outlets"),
    person(3, 1, "outlets"),
    person(4, 1),
    person(5, 2, "outlets"),
    person(6, 4),
)


def outcome(count: int, *numbers: int) -> str:
    groups = who_gets(PEOPLE, OUTLETS, count).answer()["groups"]
    return mark_chosen(groups, [f"who:{each}" for each in numbers]).outcome


@pytest.mark.parametrize(
    ("count", "numbers", "found"),
    [
        (1, (2,), "right"),
        (1, (3,), "right"),
        (1, (1,), "wrong"),
        (2, (2, 3), "right"),
        (2, (2,), "wrong"),
        (2, (2, 1), "wrong"),
        (3, (2, 3, 1), "right"),
        (3, (2, 3, 5), "right"),
        (3, (2, 3), "partly"),
        (3, (2, 3, 4), "wrong"),
        (3, (1, 5, 2), "wrong"),
        (4, (1, 2, 3, 5), "right"),
        (5, (1, 2, 3, 5, 4), "partly"),
        (2, (), "wrong"),
    ],
)
def test_the_most_urgent_who_need_it_and_either_of_a_tie(
    count: int, numbers: tuple[int, ...], found: str
) -> None:
    """Somebody left out for another is wrong; one left over, or one too many given, is half."""
    assert outcome(count, *numbers) == found


def test_nobody_is_given_more_than_there_are() -> None:
    """The page asks for as many as the rig has."""
    assert who_gets(PEOPLE, OUTLETS, 2).shown()["groups"][0]["take"] == 2


def everybody(sorting: Sorting) -> Iterator[tuple[Triaged, str, bool]]:
    for call_type in call_types().values():
        for seed in range(8):
            incident = make_incident(
                call_type, world(), seed=str(seed), count=6, sorting=sorting, level=3
            )
            people = triaged(incident, patients_told(incident))
            for each, casualty in zip(people, incident.casualties, strict=True):
                walks = bool(casualty.findings["walks"])
                yield each, str(incident.outcome(casualty).category), walks


@pytest.mark.parametrize("sorting", [Sorting(), Sorting(SALT_FAMILY)], ids=["start", "salt"])
def test_the_dead_need_nothing_and_who_walks_is_not_carried(sorting: Sorting) -> None:
    """And who has trouble of the airway needs suction and oxygen alike."""
    met = set()
    for each, category, walks in everybody(sorting):
        met |= {category, *each.needs}
        if category in ("deceased", "dead", "expectant"):
            assert not each.needs
        if walks:
            assert not {"litters", "cots"} & each.needs
        assert ("litters" in each.needs) == ("cots" in each.needs)
        assert "chairs" not in each.needs or "cots" in each.needs
        assert "suction" not in each.needs or "outlets" in each.needs
    assert met >= {each.key for each in SCARCE}
    assert met & {"deceased", "dead"}


def test_an_answer_that_is_made_is_right_for_any_number() -> None:
    """Of every incident and scarce thing, from one of it to one for everybody."""
    for call_type in list(call_types().values())[:8]:
        incident = make_incident(call_type, world(), seed="a", count=7, sorting=Sorting(), level=3)
        people = triaged(incident, patients_told(incident))
        for thing in SCARCE:
            for count in range(1, 8):
                groups = who_gets(people, thing, count).answer()["groups"]
                said = one_right(groups)
                given_to = [each for each in said if each.startswith("who:")]
                assert len(given_to) == min(count, len(needing(people, thing)))
                if said:
                    assert mark_chosen(groups, said).outcome == "right"


def test_the_rule_and_each_patient_are_told_after() -> None:
    """The rule says that it is ours, and who needs the thing; each patient by category and need."""
    asked = who_gets(PEOPLE, OUTLETS, 2).answer()

    assert asked["source"] == "ours, no source"
    assert "the most urgent category first" in asked["rule"]
    assert "airway, breathing, circulation or mind" in asked["rule"]
    assert asked["why"][3].endswith("no need of it.")


def test_each_patient_is_told_as_found_where_it_is_ticked() -> None:
    """And of who is dead or left for now that they get none."""
    left = replace(PEOPLE[5], is_treated=False)
    asked = who_gets((*PEOPLE[:5], left), OUTLETS, 2)

    assert [note for _, _, note in asked.shown()["groups"][0]["choices"]] == ["Hurt."] * 6
    assert asked.why[5] == "Patient 6: Red, gets none."


PERSONS = st.builds(
    Triaged,
    number=st.just(0),
    who=st.just("man"),
    findings=st.just("Hurt"),
    category=st.just("Red"),
    urgency=st.integers(1, 4),
    needs=st.sampled_from([frozenset(), frozenset({"outlets"})]),
    kills=st.sampled_from([(), ("breathing",)]),
)


@given(st.lists(PERSONS, min_size=2, max_size=9), st.integers(1, 4), st.data())
def test_nobody_gets_a_thing_before_somebody_more_urgent(
    drawn: list[Triaged], count: int, data: st.DataObject
) -> None:
    """Of any answer: right is none that leaves out the more urgent, and all who need it is owed."""
    people = tuple(replace(each, number=at) for at, each in enumerate(drawn, 1))
    needs = [each for each in people if each.needs]
    given_to = data.draw(st.sets(st.sampled_from(people), max_size=count))
    groups = who_gets(people, OUTLETS, count).answer()["groups"]
    found = mark_chosen(groups, [f"who:{each.number}" for each in given_to]).outcome

    is_passed_over = any(
        left.rank < got.rank or not got.needs
        for got in given_to
        for left in needs
        if left not in given_to
    )
    is_wasted = any(not each.needs for each in given_to)
    is_all_given = len([each for each in given_to if each.needs]) == min(count, len(needs))
    if is_passed_over:
        assert found == "wrong"
    if needs and given_to:
        assert (found == "right") == (is_all_given and not is_passed_over and not is_wasted)


def test_of_one_category_first_is_to_whom_something_kills_soon() -> None:
    """Two delayed who cannot walk: the cot is for the one who bleeds, though told last."""
    people = (
        person(1, 2, "cots"),
        person(2, 2, "cots"),
        person(3, 2, "cots", kills=("bleeding",)),
    )
    groups = who_gets(people, OF["cots"], 1).answer()["groups"]

    assert mark_chosen(groups, ["who:3"]).outcome == "right"
    assert mark_chosen(groups, ["who:1"]).outcome == "wrong"
    assert who_gets(people, OF["cots"], 1).why[2] == (
        "Patient 3: Red, trouble: bleeding, needs it."
    )


# The crew of two, four whom something kills soon, and one delayed who needs nobody.
HURT = (
    person(1, 1, "hands", kills=("breathing",)),
    person(2, 1, "hands", kills=("airway", "mind")),
    person(3, 1, "hands", kills=("bleeding",)),
    person(4, 2),
    person(5, 1, "hands", kills=("mind",)),
)


@pytest.mark.parametrize(
    ("said", "found"),
    [
        (("who:1", "who:2", "quick:2", "quick:3"), "right"),
        (("who:2", "who:3", "quick:2", "quick:3"), "right"),
        (("who:1", "who:2", "quick:3"), "partly"),
        (("who:1", "who:2"), "partly"),
        (("who:1", "who:2", "quick:2", "quick:3", "quick:1"), "partly"),
        (("who:1", "who:2", "quick:2", "quick:3", "quick:5"), "right"),
        (("who:1", "who:4", "quick:2", "quick:3"), "wrong"),
        (("quick:2", "quick:3"), "wrong"),
    ],
)
def test_a_crew_stays_with_two_and_does_what_is_quick_for_the_rest(
    said: tuple[str, ...], found: str
) -> None:
    """Airway and bleeding come before anybody stays; missing that takes from the marks alone."""
    asked = who_gets(HURT, HANDS, 2)

    assert mark_chosen(asked.answer()["groups"], said).outcome == found
    assert [each["take"] for each in asked.shown()["groups"]] == [2, None]
    assert "open the airway" in asked.rule


@pytest.mark.parametrize("thing", [each for each in SCARCE if not each.people])
def test_of_a_thing_nothing_quick_is_asked(thing: Scarce) -> None:
    """One group, of who gets it."""
    assert len(who_gets(HURT, thing, 1).groups) == 1


@pytest.mark.parametrize("sorting", [Sorting(), Sorting(SALT_FAMILY)], ids=["start", "salt"])
def test_who_needs_a_thing_follows_from_the_findings_that_are_told(sorting: Sorting) -> None:
    """Each need worked out anew from the words on the page, and from nothing else."""
    met: set[str] = set()
    for each, category, _ in everybody(sorting):
        told = each.findings
        is_left = category in ("deceased", "dead", "expectant")
        does_not_breathe = "Does not breathe" in told
        gone = "No answer to voice" in told or "Stiffens" in told or "does not do" in told
        is_mind = gone and "pushes your hand" not in told
        is_up = "Gets up and walks" in told or "in somebody's arms" in told
        bleeds = "Blood keeps coming" in told
        no_pulse = "No pulse" in told
        met |= each.needs
        if not is_left:
            assert ("cots" in each.needs) == (not is_up), told
            assert ("suction" in each.needs) == (does_not_breathe or is_mind), told
            assert ("monitors" in each.needs) == (does_not_breathe or is_mind or no_pulse), told
            assert {"hands", "outlets"} & each.needs or not (does_not_breathe or no_pulse), told
            assert "hands" in each.needs or not bleeds, told
            if "chairs" in each.needs:
                assert "Awake, does what you ask" in told
                assert not each.kills
                assert any(word in told.casefold() for word in MAY_SIT), told
    assert {"chairs", "hands", "monitors"} <= met


# What is seen of those who may sit: a sore leg, or breath, chest, smoke and gas.
MAY_SIT = (
    *("ankle", "knee", "cough", "wheeze", "skin pulls in", "chest", "soot", "inside"),
    "was in the closed garage",
)


def test_who_was_met_again_is_given_things_as_found_then() -> None:
    """The category, and the findings that are told, are those of the second look."""
    met = 0
    for call_type in list(call_types().values())[:12]:
        for seed in map(str, range(8)):
            incident = make_incident(
                call_type, world(), seed=seed, count=6, sorting=Sorting(), level=5
            )
            call = sorted_call(incident, seed=seed)
            people = {each.number: each for each in call.people}
            for again in call.again:
                met += 1
                word = next(e.word for e in again.choices if e.category == again.answer)
                assert people[again.number].category.startswith(word)
            again_numbers = {each.number for each in call.again}
            for first in call.sorts:
                if first.number not in again_numbers:
                    word = next(e.word for e in first.choices if e.category == first.answer)
                    assert people[first.number].category.startswith(word)
    assert met > 10


def test_of_too_few_to_sort_it_goes_to_whom_something_kills_soon() -> None:
    """Two who cannot walk, and one cot: nobody has a category or is left as dead."""
    seen: set[tuple[int, int]] = set()
    for slug, seed in product(("opioid-overdose", "water-rescue", "offroad-rollover"), range(40)):
        incident = make_incident(call_types()[slug], world(), seed=f"few:{seed}", count=2)
        call = sorted_call(incident, seed=f"{seed}")
        assert not call.people
        assert [each.number for each in call.few] == [1, 2]
        assert all(each.is_treated and each.urgency == 0 for each in call.few)
        lying = needing(call.few, OF["cots"])
        asked = who_gets(call.few, OF["cots"], 1)
        assert "nobody has a category" in asked.rule
        assert not re.search("Red|Yellow|Green|Immediate|Delayed|Minor", " ".join(asked.why))
        first = [each for each in lying if each.kills] or lying
        owed = {*asked.groups[0].right, *asked.groups[0].may}
        assert owed == {str(each.number) for each in first}
        seen |= {(len(lying), len(first))}
    assert (2, 1) in seen


def test_who_is_one_of_few_needs_what_the_same_findings_need_among_many() -> None:
    """But for whom a chart leaves as dead: of few they are treated."""
    for seed in range(20):
        incident = make_incident(call_types()["multi-vehicle"], world(), seed=f"{seed}", count=6)
        told = patients_told(incident)
        for many, few in zip(triaged(incident, told), too_few(incident, told), strict=True):
            assert many.needs == few.needs or not many.is_treated
