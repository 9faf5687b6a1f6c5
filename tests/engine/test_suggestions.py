"""What an item without a tie may be: alike by name, never of another category or size."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from drills.engine.layout import CATEGORIES, StockLine
from drills.engine.suggestions import (
    SUGGESTED_FROM,
    SizedNeed,
    Suggester,
    Untied,
    measures_of,
    patients_of,
)
from drills.engine.ties import NeedWords
from tests.layouts import DEMO_LAYOUTS, demo_layout
from tests.reference import fixture, need_index, suggester, table

CHILDS = ("Pedi", "Paedi", "Ped", "Peds", "Paeds", "Kid", "Kids", "Kid's", "Youth", "Bairn")
INFANTS = ("Preemie", "Premie", "Prem", "Premature", "Neo", "Neonate")
BLEEDING, MONITORING = "circulation and bleeding", "monitoring"


def need(
    key: str, name: str, *aliases: str, category: str = MONITORING, size: str = ""
) -> SizedNeed:
    return SizedNeed(NeedWords(key, (name,), aliases), category, size)


def keys(needs: list[SizedNeed], item: Untied) -> list[str]:
    return [each.need for each in Suggester(needs).suggest(item)]


CUFFS = [
    need("cuff-child", "Pressure cuff, child", size="child"),
    need("cuff-adult", "Pressure cuff, adult", size="adult"),
    need("cuff-infant", "Pressure cuff, infant", size="infant"),
]


@pytest.mark.parametrize(
    ("name", "first"),
    [
        ("Cuff for adults", "cuff-adult"),
        ("Cuff, peds", "cuff-child"),
        ("Paediatric cuff", "cuff-child"),
        ("Children's cuff", "cuff-child"),
        ("Cuff, newborn", "cuff-infant"),
    ],
)
def test_a_size_that_is_said_is_the_only_one_suggested(name: str, first: str) -> None:
    """Of an adult's, a child's and an infant's need only the one that the item says."""
    assert keys(CUFFS, Untied(name, category=MONITORING)) == [first]


def test_a_size_is_read_from_the_aliases_when_the_name_says_none() -> None:
    """A name that says a size is believed before its aliases."""
    assert keys(CUFFS, Untied("Cuff", ("kids and infants cuff",), MONITORING)) == [
        "cuff-child",
        "cuff-infant",
    ]
    assert keys(CUFFS, Untied("Cuff, child", ("adult cuff",), MONITORING)) == ["cuff-child"]


def test_where_no_size_is_said_the_adults_comes_first() -> None:
    """Crews leave the adult's size unsaid; the others follow, for the keeper to see."""
    assert keys(CUFFS, Untied("Cuff", category=MONITORING)) == [
        "cuff-adult",
        "cuff-child",
        "cuff-infant",
    ]


def test_a_need_of_the_size_said_comes_before_one_of_no_size() -> None:
    """Alike to the same degree, the size decides."""
    needs = [need("any", "Arm splint"), need("small", "Arm splint, child", size="child")]

    assert keys(needs, Untied("Arm splint, child", category=MONITORING)) == ["small", "any"]


def test_another_category_is_never_suggested() -> None:
    """Two of the ten that differ rule a need out; a word of the agency's own rules out none."""
    needs = [need("pads", "Pads", category=MONITORING), need("gauze", "Pads", category=BLEEDING)]

    assert keys(needs, Untied("Pads", category=BLEEDING)) == ["gauze"]
    assert keys(needs, Untied("Pads", category="consumables")) == ["gauze", "pads"]
    assert keys(needs, Untied("Pads")) == ["gauze", "pads"]


@pytest.mark.parametrize(
    ("name", "presentation", "found"),
    [
        ("3 cc syringe", "", ["syringe-3"]),
        ("Syringe", "", ["syringe-10", "syringe-3", "syringe-litre"]),
        ("Syringe, 5 mL", "", []),
        ("Syringe, 1 L", "", ["syringe-litre"]),
        ("Syringe, 5 mL", "1 mg / 10 mL", ["syringe-10"]),
    ],
)
def test_another_measure_is_never_suggested(name: str, presentation: str, found: list[str]) -> None:
    """Measures in the same unit must meet; the presentation is believed before the name."""
    needs = [
        need("syringe-3", "Syringe", size="3 mL"),
        need("syringe-10", "Syringe", size="10 mL"),
        need("syringe-litre", "Syringe", size="1,000 mL"),
    ]

    assert keys(needs, Untied(name, category=MONITORING, presentation=presentation)) == found


@pytest.mark.parametrize(
    ("text", "measures"),
    [
        ("1 mg / 10 mL", {"mg": {"1"}, "ml": {"10"}}),
        ("1,000 mL bag", {"ml": {"1000"}}),
        ("0.4 mg", {"mg": {"0.4"}}),
        ("1 L", {"ml": {"1000"}}),
        ("100 mcg / 2 mL", {"mg": {"0.1"}, "ml": {"2"}}),
        ("14-16 ga", {"ga": {"14", "16"}}),
        ("20G catheter", {"ga": {"20"}}),
        ("14-16 G", {"ga": {"14", "16"}}),
        ("20 g", {"mg": {"20000"}}),
        ("1 G", {"mg": {"1000"}}),
        ("10.5 G", {"mg": {"10500"}}),
        ("0,5 mg", {"mg": {"0.5"}}),
        ("0,125 mg", {"mg": {"0.125"}}),
        ("1,250.5 mL", {"ml": {"1250.5"}}),
        ("12 lead cable", {}),
        ("", {}),
    ],
)
def test_measures_are_read(text: str, measures: dict[str, set[str]]) -> None:
    """Amounts by unit, litres as millilitres, micrograms as milligrams."""
    assert measures_of(text) == {
        unit: {Decimal(amount) for amount in amounts} for unit, amounts in measures.items()
    }


@pytest.mark.parametrize(
    ("text", "patients"),
    [
        ("Adult and child", {"adult", "child"}),
        ("neonatal", {"infant"}),
        ("Newborn to child", {"infant", "child"}),
        *((f"{word} mask", {"child"}) for word in CHILDS),
        *((f"{word} mask", {"infant"}) for word in INFANTS),
        ("childproof lock", set()),
        ("pedal, kidney dish, neoprene, premium", set()),
        ("", set()),
    ],
)
def test_whose_size_is_read_in_whole_words(text: str, patients: set[str]) -> None:
    """A part of another word says no size."""
    assert patients_of(text) == patients


@pytest.mark.parametrize("name", ["", ", ; –", "adult", "zzz"])
def test_words_that_say_nothing_suggest_nothing(name: str) -> None:
    """Neither signs alone nor a size alone are alike to anything."""
    assert keys(CUFFS, Untied(name, category=MONITORING)) == []


def test_nothing_below_the_similarity_stated_is_suggested() -> None:
    """What is suggested is at least as alike as stated, and no more than the same."""
    found = [
        each.similarity
        for name in DEMO_LAYOUTS
        for line in demo_layout(name).stock
        for each in suggester().suggest(untied(line))
    ]

    assert min(found) >= SUGGESTED_FROM
    assert max(found) <= 1


def untied(line: StockLine) -> Untied:
    return Untied(line.item, line.aliases, line.category, line.presentation)


def right_needs(layout: str, *, waiting: bool) -> list[tuple[StockLine, str]]:
    """Items of a layout with the need that each is, as tied by rule or as listed to confirm."""
    listed = {row["item"]: row["suggested_need"] for row in table("to_confirm.csv")}
    items = {line.key: line for line in reversed(demo_layout(layout).stock)}
    found = []
    for line in items.values():
        tied = need_index().tie(
            given=line.need, name=line.item, aliases=line.aliases, presentation=line.presentation
        )
        if bool(tied) != waiting:
            found.append((line, tied or listed[line.item]))
    return found


def place_of(line: StockLine, right: str) -> int:
    """The place of the right need among the suggestions, 0 when it is none of them."""
    found = [each.need for each in suggester().suggest(untied(line))]
    return found.index(right) + 1 if right in found else 0


@pytest.mark.parametrize("row", table("suggestions.csv"), ids=lambda row: row["layout"])
def test_the_right_need_is_suggested_as_often_as_measured(
    row: dict[str, str], record_property: Callable[[str, object], None]
) -> None:
    """Of what waits, and of what is tied if no rule tied it: first, and in the first three."""
    for which in ("waiting", "tied"):
        lines = right_needs(row["layout"], waiting=which == "waiting")
        places = [place_of(line, right) for line, right in lines]

        first, in_three = places.count(1), sum(0 < each <= 3 for each in places)

        assert len(places) == int(row[which])
        assert first >= int(row[f"{which}_first"])
        assert in_three >= int(row[f"{which}_in_three"])
        counts = f"{len(places)} {which}, {first} first, {in_three} in the first three"
        record_property("told", f"Suggested right on {row['layout']}: {counts}.")


@pytest.mark.parametrize("layout", DEMO_LAYOUTS)
def test_of_what_waits_the_first_suggestion_is_never_a_wrong_need(layout: str) -> None:
    """The right need comes first or nothing is suggested, since the first serves unconfirmed."""
    lines = right_needs(layout, waiting=True)
    firsts = {
        line.item: (found[0].need, right)
        for line, right in lines
        if (found := suggester().suggest(untied(line)))
    }

    assert {item: pair for item, pair in firsts.items() if pair[0] != pair[1]} == {}


@pytest.mark.parametrize("layout", DEMO_LAYOUTS)
def test_no_size_or_category_is_taken_for_another_on_a_layout(layout: str) -> None:
    """Held against the needs' own columns, whatever the words are."""
    needs = {each["key"]: each for each in fixture("needs.json")}
    small, grown = {"child", "infant", "newborn"}, {"adult", "large adult"}
    crossed = []
    for line in demo_layout(layout).stock:
        name = line.item.casefold()
        is_child, is_adult = "child" in name or "peds" in name, "adult" in name
        for each in suggester().suggest(untied(line)):
            found = needs[each.need]
            wrong = grown if is_child else small if is_adult else set()
            if found["size"] in wrong and not (is_child and is_adult):
                crossed.append((line.item, each.need))
            if line.category in CATEGORIES and found["category"] != line.category:
                crossed.append((line.item, each.need))

    assert crossed == []


# How crews write whose size a thing is; the needs' own columns say which they are.
SPELLINGS = {
    "adult": ("adult", "Adults", "ADULT"),
    "child": ("child", "paediatric", "pediatric", "peds", "paed", "children's", "toddler"),
    "infant": ("infant", "neonate", "neonatal", "newborn", "baby"),
}
CLASS_OF = {
    "adult": "adult",
    "large adult": "adult",
    "child": "child",
    "infant": "infant",
    "newborn": "infant",
}
SIZED = [each for each in fixture("needs.json") if each["size"] in CLASS_OF]
# Whose each is: by its column, and of the few that serve two ages by its key, which names both.
WHOSE = {
    each["key"]: {CLASS_OF[each["size"]], *(CLASS_OF.get(word) for word in each["key"].split("-"))}
    for each in SIZED
}
ARRANGED = ("{name}, {size}", "{size} {name}", "{name} ({size})")


def unsized(name: str) -> str:
    """A name without the words of whose size it is."""
    words = [word for word in name.split() if not patients_of(word.strip(",()"))]
    return " ".join(words).strip(",; ") or name


@pytest.mark.parametrize("whose", sorted(SPELLINGS))
def test_no_need_of_another_size_is_ever_suggested(
    whose: str, record_property: Callable[[str, object], None]
) -> None:
    """Every need with a size, named as each of the others' sizes is written, in each order: what
    is suggested is never of another size. So each pair is tried from both ends."""
    crossed, tried = [], 0
    for need in SIZED:
        for name in {unsized(need["name_us"]), unsized(need["name_intl"])}:
            for spelling in SPELLINGS[whose]:
                for arranged in ARRANGED:
                    item = Untied(arranged.format(name=name, size=spelling), (), need["category"])
                    found = [each.need for each in suggester().suggest(item)]
                    tried += 1
                    crossed += [
                        (item.name, key) for key in found if whose not in WHOSE.get(key, {whose})
                    ]

    record_property("told", f"Written as of {whose}: {tried} names, {len(crossed)} of another size")
    assert len(SIZED) >= 50
    assert crossed == []


def test_a_size_in_an_alias_alone_is_kept_apart_too() -> None:
    """Every need of a size, with the size in the alias: none of another size."""
    crossed = [
        (need["key"], spelling, found.need)
        for need in SIZED
        for whose, spellings in SPELLINGS.items()
        for spelling in spellings
        for found in suggester().suggest(
            Untied(unsized(need["name_us"]), (f"{spelling} one",), need["category"])
        )
        if whose not in WHOSE.get(found.need, {whose})
    ]

    assert crossed == []


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("Suction catheter 8 Fr", ["small"]),
        ("Suction catheter 16 French", ["large"]),
        ("Suction catheter, 14fr", ["large"]),
        ("Suction catheter CH 8", ["large", "small"]),
        ("Suction catheter 8 Ch", ["small"]),
        ("Suction catheter 12 Fr", []),
        ("Suction catheter 6-8 Fr", ["small"]),
        ("Suction catheter", ["large", "small"]),
    ],
)
def test_a_french_gauge_is_read_as_crews_write_it(name: str, found: list[str]) -> None:
    """A range takes what is between its ends; a figure before no unit says nothing."""
    needs = [
        need("small", "Suction catheter", size="6-10 Fr"),
        need("large", "Suction catheter", size="14-18 Fr"),
    ]

    assert sorted(keys(needs, Untied(name, category=MONITORING))) == found


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("Tracheal tube 6.0 mm", ["six"]),
        ("Tracheal tube 6 mm", ["six"]),
        ("Tracheal tube 0.6 cm", ["six"]),
        ("Tracheal tube 7.5 mm", ["seven"]),
        ("Tracheal tube 3 mm", []),
    ],
)
def test_millimetres_keep_apart(name: str, found: list[str]) -> None:
    """An inner diameter that is said rules out every other."""
    needs = [
        need("six", "Tracheal tube", size="6 mm"),
        need("seven", "Tracheal tube", size="7.5 mm"),
    ]

    assert keys(needs, Untied(name, category=MONITORING)) == found


@pytest.mark.parametrize(
    ("item", "guards"),
    [
        (Untied("Cuff, child", (), MONITORING), ("the same category", "both child")),
        (Untied("Cuff, child"), ("category not compared", "both child")),
        (Untied("Cuff"), ("category not compared", "the item does not say child")),
    ],
)
def test_what_was_compared_is_said(item: Untied, guards: tuple[str, ...]) -> None:
    """Beside how alike the words are stands what kept the need from being ruled out."""
    (found,) = Suggester([CUFFS[0]]).suggest(item)

    assert found.guards == guards


def test_measures_and_packing_are_said_too() -> None:
    """A measure that meets, one that the item does not say, and how a medicine is packed."""
    syringe = need("syringe", "Syringe", size="10 mL")
    drug = SizedNeed(NeedWords("drug", ("Drug",), (), "1 mg / 10 mL"), MONITORING, "1 mg / 10 mL")

    assert Suggester([syringe]).suggest(Untied("Syringe 10 cc"))[0].guards[1:] == (
        "measures meet in ml",
    )
    assert Suggester([syringe]).suggest(Untied("Syringe"))[0].guards[1:] == (
        "the item says no such measure",
    )
    (found,) = Suggester([drug]).suggest(Untied("Drug", presentation="1 mg / 10 mL"))
    assert found.guards[-1] == "packed alike"
