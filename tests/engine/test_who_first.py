"""Fewer patients than are sorted: who comes first, and the reason of each."""

from collections import Counter
from collections.abc import Iterator

import pytest

from drills.engine.choosing import mark_chosen, one_right
from drills.engine.incidents import Incident, Sorting, make_incident
from drills.engine.incidents.asking import sorted_call
from drills.engine.incidents.findings import Whose
from drills.engine.incidents.first import NOTHING, REASONS, who_first
from drills.engine.incidents.threats import threats
from drills.engine.triage import SALT_FAMILY, START_FAMILY
from drills.engine.triage.findings import REFILL
from tests.engine.fixture_world import call_types, world

GROWN = Whose(is_child=False, months=480)
CHILD = Whose(is_child=True, months=48)
WELL = {
    "breathes": True,
    "rate": 18,
    "pulse": True,
    "refill_s": 1.0,
    "obeys": True,
    "purposeful": True,
    "avpu": "A",
    "posturing": False,
    "distress": False,
    "bleeding_controlled": True,
}


def incidents(sorting: Sorting, count: int = 2) -> Iterator[Incident]:
    for call_type in call_types().values():
        for seed in range(10):
            yield make_incident(
                call_type, world(), seed=str(seed), count=count, sorting=sorting, level=3
            )


@pytest.mark.parametrize(
    ("changed", "whose", "sorting", "found"),
    [
        ({}, GROWN, Sorting(), ()),
        ({"breathes": False, "rate": 0}, GROWN, Sorting(), ("airway",)),
        ({"rate": 30}, GROWN, Sorting(), ()),
        ({"rate": 31}, GROWN, Sorting(), ("breathing",)),
        ({"rate": 31}, GROWN, Sorting(SALT_FAMILY), ()),
        ({"distress": True}, GROWN, Sorting(SALT_FAMILY), ("breathing",)),
        ({"rate": 46}, CHILD, Sorting(), ("breathing",)),
        ({"rate": 14}, CHILD, Sorting(), ("breathing",)),
        ({"pulse": False}, GROWN, Sorting(), ("circulation",)),
        ({"refill_s": 2.5}, GROWN, Sorting(), ()),
        ({"refill_s": 2.5}, GROWN, Sorting(perfusion=REFILL), ("circulation",)),
        ({"refill_s": 2.0}, GROWN, Sorting(perfusion=REFILL), ()),
        ({"obeys": False}, GROWN, Sorting(), ()),
        ({"obeys": False, "purposeful": False}, GROWN, Sorting(), ("mind",)),
        ({"avpu": "U"}, CHILD, Sorting(), ("mind",)),
        ({"bleeding_controlled": False}, GROWN, Sorting(), ("bleeding",)),
    ],
)
def test_what_kills_soon_is_found_at_the_limits_of_the_scheme(
    changed: dict[str, object], whose: Whose, sorting: Sorting, found: tuple[str, ...]
) -> None:
    """Who moves on purpose and does not obey may not understand: nothing of the mind."""
    assert threats(WELL | changed, whose, sorting) == found


@pytest.mark.parametrize("family", [START_FAMILY, SALT_FAMILY])
def test_whoever_the_chart_calls_immediate_has_a_reason(family: str) -> None:
    """But for who does not understand what is asked; and who is delayed has none that it counts."""
    sorting, met = Sorting(family), Counter[str]()
    for incident in incidents(sorting):
        for each in incident.casualties:
            category = incident.outcome(each).category
            found = threats(each.findings, each.whose, sorting)
            met[str(category)] += 1
            if category == "immediate" and each.pattern.pattern != "other language":
                assert found, each
    assert met["immediate"] > 20
    assert met["delayed"] > 20


def test_first_is_who_has_a_reason_and_else_the_most_urgent() -> None:
    """Every answer that is made is right, and another patient is wrong whatever is said of why."""
    reasons, without = set[str](), 0
    for incident in incidents(Sorting()):
        asked = who_first(incident)
        groups = asked.answer()["groups"]
        said = one_right(groups)
        right = groups[0]["right"]
        assert mark_chosen(groups, said).outcome == "right"
        threatened = {
            f"who:{each.number}"
            for each in incident.casualties
            if threats(each.findings, each.whose, Sorting())
        }
        assert set(right) == threatened or not threatened
        without += not threatened
        reasons |= {key.partition(":")[2] for why in groups[1]["by"].values() for key in why}
        for key, *_ in asked.shown()["groups"][0]["choices"]:
            if key not in right:
                for why in REASONS:
                    assert mark_chosen(groups, [key, f"why:{why}"]).outcome == "wrong"
    assert without
    assert reasons >= {"airway", "breathing", "circulation", "mind", NOTHING}


def test_the_threshold_says_which_is_asked() -> None:
    """With as many as it takes everybody is sorted, with one fewer nobody is."""
    for threshold, is_sorted in ((2, True), (3, False)):
        call = sorted_call(next(incidents(Sorting(threshold=threshold))), seed="1")

        assert len(call.sorts) == (2 if is_sorted else 0)
        assert (call.first is None) == is_sorted


def test_everybody_is_told_with_every_finding() -> None:
    """Two patients by number, and what the chart would not ask for as well."""
    asked = who_first(next(incidents(Sorting())))

    assert [number for number, *_ in asked.told] == [1, 2]
    assert asked.shown()["groups"][1]["choices"][0] == ["why:airway", REASONS["airway"], ""]
