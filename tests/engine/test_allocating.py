"""Who gets what a rig has too few of: the rule, its ties, and what is counted of the rig."""

from collections.abc import Iterator

import pytest

from drills.engine.choosing import mark_chosen, one_right
from drills.engine.incidents import Sorting, make_incident
from drills.engine.incidents.allocating import (
    RESOURCES,
    Standing,
    needing,
    standings,
    who_gets,
)
from drills.engine.incidents.first import patients_told
from drills.engine.triage import SALT_FAMILY
from tests.engine.fixture_world import call_types, world

OUTLETS, PORTABLES, LITTERS, COTS, SUCTION = RESOURCES


def person(number: int, urgency: int, *needs: str) -> Standing:
    return Standing(number, "man", "Hurt", "", urgency, frozenset(needs))


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


def everybody(sorting: Sorting) -> Iterator[tuple[Standing, str, bool]]:
    for call_type in call_types().values():
        for seed in range(8):
            incident = make_incident(
                call_type, world(), seed=str(seed), count=6, sorting=sorting, level=3
            )
            people = standings(incident, patients_told(incident))
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
        assert "suction" not in each.needs or "outlets" in each.needs
    assert met >= {each.key for each in RESOURCES}
    assert met & {"deceased", "dead"}


def test_an_answer_that_is_made_is_right_for_any_number() -> None:
    """Of every incident and resource, from one of it to one for everybody."""
    for call_type in list(call_types().values())[:8]:
        incident = make_incident(call_type, world(), seed="a", count=7, sorting=Sorting(), level=3)
        people = standings(incident, patients_told(incident))
        for resource in RESOURCES:
            for count in range(1, 8):
                groups = who_gets(people, resource, count).answer()["groups"]
                said = one_right(groups)
                assert len(said) == min(count, len(needing(people, resource)))
                if said:
                    assert mark_chosen(groups, said).outcome == "right"


def test_the_rule_and_each_patient_are_told_after() -> None:
    """The rule says that it is ours, and who needs the thing; each patient by category and need."""
    asked = who_gets(PEOPLE, OUTLETS, 2).answer()

    assert asked["source"] == "ours, no source"
    assert "the most urgent category first" in asked["rule"]
    assert "airway, breathing, circulation or mind" in asked["rule"]
    assert asked["why"][3].endswith("no need of it.")
