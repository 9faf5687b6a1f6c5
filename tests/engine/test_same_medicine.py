"""The same medicine packed otherwise: told apart, and never suggested as if it were the same."""

import pytest

from drills.engine.packing import read_packing
from drills.engine.same_medicine import SameMedicine, strengths_apart, volumes_apart
from drills.engine.suggestions import SizedNeed, Untied
from tests.layouts import DEMO_LAYOUTS, demo_layout
from tests.reference import fixture, suggester, table, words_of

KNOWN = SameMedicine(
    SizedNeed(words_of(need), need["category"], need["size"]) for need in fixture("needs.json")
)


def item_of(row: dict[str, str]) -> Untied:
    return Untied(row["item"], (), row["category"], row["presentation"])


@pytest.mark.parametrize("row", table("same_medicine.csv"), ids=lambda row: row["item"])
def test_the_same_medicine_packed_otherwise_is_found_as_the_table_says(row: dict[str, str]) -> None:
    """Each need with both strengths in words; what merely sounds alike is none."""
    found = KNOWN.near(item_of(row))

    assert [each.need for each in found] == list(filter(None, row["need"].split(";")))
    assert [each.there for each in found] == list(filter(None, row["there"].split(";")))
    assert {(each.medicine, each.kind, each.here) for each in found} == (
        {(row["medicine"], row["kind"], row["here"])} if row["need"] else set()
    )


@pytest.mark.parametrize(
    "row",
    [row for row in table("same_medicine.csv") if row["kind"] == "strength"],
    ids=lambda row: row["item"],
)
def test_another_strength_is_never_suggested(row: dict[str, str]) -> None:
    """Whatever the words are, no need of that medicine is among the suggestions as the same."""
    suggested = {each.need for each in suggester().suggest(item_of(row))}

    assert suggested.isdisjoint(row["need"].split(";"))


@pytest.mark.parametrize("layout", DEMO_LAYOUTS)
def test_what_the_demonstration_carries_in_a_strength_of_its_own(layout: str) -> None:
    """All is packed as a need is but what injects by itself, whose needs name no strength."""
    lines = {line.key: line for line in demo_layout(layout).stock}
    found = [
        line.item.split(",")[0]
        for line in lines.values()
        if KNOWN.near(Untied(line.item, line.aliases, line.category, line.presentation))
    ]

    assert len(found) == 2
    assert set(found) <= {"Epinephrine auto-injector", "Epi auto", "Epinephrine pen"}


@pytest.mark.parametrize("row", table("packings_beside.csv"), ids=lambda row: f"{row['one']} {row}")
def test_strengths_are_named_where_they_differ_alone(row: dict[str, str]) -> None:
    """Volumes only where the strength is the same; nothing where either is not known."""
    one, other = read_packing(row["one"]), read_packing(row["other"])

    strengths, volumes = strengths_apart(one, other), volumes_apart(one, other)

    assert bool(strengths) == (row["strength"] == "other")
    assert bool(volumes) == (row["strength"] == "same" and row["volume"] == "other")
    assert strengths_apart(None, other) == volumes_apart(one, None) == ""


def test_both_strengths_are_named_with_their_units() -> None:
    """What is here first."""
    here, there = read_packing("1 mg / 1 mL"), read_packing("1 mg / 10 mL")

    assert strengths_apart(here, there) == "1 mg/mL here, 0.1 mg/mL there"
    assert volumes_apart(read_packing("30 mg / 30 mL"), here) == "30 mL here, 1 mL there"
