"""Tying items to needs by rule: never by guess."""

from collections import Counter
from collections.abc import Callable

import pytest

from drills.engine.layout import StockLine, item_key
from drills.engine.ties import NeedIndex, NeedWords
from tests.layouts import demo_layout
from tests.reference import fixture, need_index, table

INDEX = NeedIndex(
    [
        NeedWords("bvm-adult", ("Bag-valve-mask, adult", "Resuscitator, adult"), ("BVM",)),
        NeedWords(
            "bvm-child", ("Bag-valve-mask, child", "Resuscitator, child"), ("BVM", "blue bag")
        ),
        NeedWords("shears", ("Trauma shears",), ("scissors", "shears")),
        NeedWords("knife", ("Rescue knife",), ("cutter",)),
        NeedWords("twin-one", ("Twin",), ("left twin",)),
        NeedWords("twin-two", ("Twin",), ("right twin",)),
    ]
)


@pytest.mark.parametrize(
    ("given", "name", "aliases", "need"),
    [
        ("shears", "Anything", (), "shears"),
        ("shears", "Rescue knife", ("cutter",), "shears"),
        ("no-such-need", "Rescue knife", (), "knife"),
        ("", "trauma  SHEARS", (), "shears"),
        ("", "Resuscitator, child", (), "bvm-child"),
        ("", "Trauma shears", ("cutter",), "shears"),
        ("", "House name", ("scissors",), "shears"),
        ("", "House name", ("scissors", "shears"), "shears"),
        ("", "House name", ("scissors", "word of nobody"), "shears"),
        ("", "House name", ("BVM", "blue bag"), "bvm-child"),
        ("", "shears", (), "shears"),
    ],
)
def test_a_rule_ties(given: str, name: str, aliases: tuple[str, ...], need: str) -> None:
    """By the need named, else the only name, else words that all lead to one need."""
    assert INDEX.tie(given=given, name=name, aliases=aliases) == need


@pytest.mark.parametrize(
    ("name", "aliases"),
    [
        ("BVM", ()),
        ("House name", ("BVM",)),
        ("House name", ("scissors", "cutter")),
        ("House name", ()),
        ("Twin", ()),
        ("", ()),
        ("Trauma shear", ()),
    ],
)
def test_no_rule_ties_a_shared_or_unknown_word(name: str, aliases: tuple[str, ...]) -> None:
    """Words that several needs have, that lead to two, or that are merely alike tie nothing."""
    assert INDEX.tie(given="", name=name, aliases=aliases) == ""


def test_no_needs_tie_nothing() -> None:
    """An empty index answers that nothing ties."""
    assert NeedIndex([]).tie(given="shears", name="Trauma shears", aliases=()) == ""


RULES = ("by_key", "by_name", "by_alias", "to_confirm")


def how_tied(line: StockLine) -> str:
    """By which rule, found in another way than the index finds it."""
    names = Counter(
        (item_key(name), need["key"])
        for need in fixture("needs.json")
        for name in {need["name_us"], need["name_intl"]}
    )
    keys = {need["key"] for need in fixture("needs.json")}
    if line.need in keys:
        return "by_key"
    if sum(1 for name, _ in names if name == line.key) == 1:
        return "by_name"
    tied = need_index().tie(
        given="", name=line.item, aliases=line.aliases, presentation=line.presentation
    )
    return "by_alias" if tied else "to_confirm"


@pytest.mark.parametrize("row", table("ties.csv"), ids=lambda row: row["layout"])
def test_items_of_the_demonstration_tie_as_counted(
    row: dict[str, str], record_property: Callable[[str, object], None]
) -> None:
    """By key, name and alias as many items tie as another program counted; the rest wait."""
    items = {line.key: line for line in reversed(demo_layout(row["layout"]).stock)}

    found = Counter(how_tied(line) for line in items.values())

    assert len(items) == int(row["items"])
    assert found == {rule: int(row[rule]) for rule in RULES}
    counts = ", ".join(f"{found[rule]} {rule.replace('_', ' ')}" for rule in RULES)
    record_property("told", f"Ties of {row['layout']}: {len(items)} items, {counts}.")


@pytest.mark.parametrize("row", table("ties.csv"), ids=lambda row: row["layout"])
def test_the_rule_that_is_said_is_the_one_that_tied(row: dict[str, str]) -> None:
    """A keeper is told of each item the rule that another way of looking finds."""
    said = {
        line.key: need_index().ruled(
            given=line.need,
            name=line.item,
            aliases=line.aliases,
            presentation=line.presentation,
        )
        for line in reversed(demo_layout(row["layout"]).stock)
    }

    assert {key: ruled.rule.replace(" ", "_") or "to_confirm" for key, ruled in said.items()} == {
        line.key: how_tied(line) for line in reversed(demo_layout(row["layout"]).stock)
    }


@pytest.mark.parametrize("row", table("ties.csv"), ids=lambda row: row["layout"])
def test_no_two_items_of_a_layout_tie_to_one_need(row: dict[str, str]) -> None:
    """A need that two items answer would be counted twice."""
    tied = {
        line.key: need_index().tie(
            given=line.need, name=line.item, aliases=line.aliases, presentation=line.presentation
        )
        for line in demo_layout(row["layout"]).stock
    }
    counts = Counter(need for need in tied.values() if need)

    assert [need for need, count in counts.items() if count > 1] == []


@pytest.mark.parametrize("row", table("ties.csv"), ids=lambda row: row["layout"])
def test_what_waits_for_a_keeper_is_what_is_listed(row: dict[str, str]) -> None:
    """The items that no rule ties are those of the list to confirm, each with its suggestion."""
    waiting = {
        line.item
        for line in demo_layout(row["layout"]).stock
        if not need_index().tie(
            given=line.need, name=line.item, aliases=line.aliases, presentation=line.presentation
        )
    }

    listed = {
        each["item"]
        for each in table("to_confirm.csv")
        if row["layout"] in each["layouts"].split(";")
    }
    assert waiting == listed


@pytest.mark.parametrize(
    ("presentation", "need"),
    [
        ("10 mg / 2 mL", "midazolam"),
        ("5 mg / 5 mL", ""),
        ("10 mg / 20 mL", ""),
        ("", ""),
    ],
)
def test_no_word_ties_a_medicine_of_another_strength(presentation: str, need: str) -> None:
    """Fivefold apart under one name: only its need column may say what it is."""
    midazolam = NeedWords("midazolam", ("Midazolam",), ("versatile",), packed="10 mg / 2 mL")
    index = NeedIndex([midazolam])

    for name, aliases in (("Midazolam", ()), ("House name", ("versatile",))):
        found = index.tie(given="", name=name, aliases=aliases, presentation=presentation)
        assert found == need
    given = index.tie(given="midazolam", name="x", aliases=(), presentation=presentation)
    assert given == "midazolam"


def test_a_tablet_is_packed_as_its_amount_says() -> None:
    aspirin = NeedWords("aspirin-81", ("Aspirin",), (), packed="81 mg")

    assert aspirin.is_packed_as("81 mg tablet")
    assert not aspirin.is_packed_as("810 mg tablet")
    assert not aspirin.is_packed_as("300 mg tablet")


@pytest.mark.parametrize(
    ("presentation", "is_it"),
    [
        ("1 g / 10 mL", True),
        ("1000 mg / 10 mL", True),
        ("1 g / 10 mL prefilled", True),
        ("100 mg / 1 mL", False),
        ("1 g powder", False),
        ("", False),
    ],
)
def test_another_unit_of_the_same_packing_is_the_same(presentation: str, is_it: bool) -> None:
    """A gram is a thousand milligrams; the same strength in another volume is told, not tied."""
    assert NeedWords("txa", ("TXA",), (), packed="1 g / 10 mL").is_packed_as(presentation) is is_it
