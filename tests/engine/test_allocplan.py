"""What a rig has of what may be scarce, and which of it a drill asks for."""

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.allocplan import allocations, drawn_of, rig_has, scarce_of
from drills.engine.calls import Call
from drills.engine.incidents.allocating import Triaged, needing
from drills.engine.incidents.tables import SCARCE
from drills.engine.layout import Layout, StockLine
from tests.layouts import practice_rig

A_CALL = Call("crash", "Crash", "Two hurt.", (), ())
KEYS = [each.key for each in SCARCE]


def rig(*stock: tuple[str, int]) -> tuple[Layout, dict[str, str]]:
    """The practice rig, with so many things of each need in its street cabinet and no others."""
    lines = tuple(StockLine("S1", need, par) for need, par in stock)
    layout = replace(practice_rig(), stock=lines)
    return layout, {line.key: line.item for line in layout.stock}


@pytest.mark.parametrize(
    ("stock", "key", "count"),
    [
        ((("monitor-defibrillator", 1), ("aed", 1)), "monitors", 0),
        ((("monitor-defibrillator", 1), ("defibrillation-pads-adult", 2)), "monitors", 1),
        (
            (("monitor-defibrillator", 1), ("aed", 2), ("defibrillation-pads-child", 2)),
            "monitors",
            2,
        ),
        ((("defibrillation-pads-adult", 4),), "monitors", 0),
        ((("oxygen-cylinder-portable", 3), ("oxygen-regulator-portable", 1)), "portables", 1),
        ((("oxygen-cylinder-portable", 3),), "portables", 0),
        ((("scoop-stretcher", 1), ("carry-sheet", 2), ("cot", 1)), "litters", 3),
        ((("cot", 1), ("stair-chair", 2)), "cots", 1),
        ((("cot", 1), ("stair-chair", 2)), "chairs", 2),
        ((("cot", 1),), "hands", 2),
        ((("cot", 1),), "outlets", 1),
    ],
)
def test_what_does_nothing_without_another_thing_counts_with_it(
    stock: tuple[tuple[str, int], ...], key: str, count: int
) -> None:
    """A defibrillator has its pads and a cylinder its regulator; a crew is two."""
    layout, ties = rig(*stock)
    assert rig_has(layout, ties)[key] == count


def test_what_is_reported_missing_is_not_given_out() -> None:
    """Nor is what nobody has tied to a need."""
    layout, ties = rig(("cot", 1), ("stair-chair", 2))
    chair = next(key for key, need in ties.items() if need == "stair-chair")

    assert rig_has(layout, ties, {(chair, "")})["chairs"] == 0
    assert rig_has(layout, {})["cots"] == 0


def person(number: int, needs: frozenset[str]) -> Triaged:
    return Triaged(number, "man", "Hurt", "Red", 1, needs)


SETS = st.frozensets(st.sampled_from(KEYS))
HAS = st.fixed_dictionaries({key: st.integers(0, 4) for key in KEYS})


@given(st.lists(SETS, max_size=6), HAS, st.integers(1, 4), st.text(max_size=4))
def test_only_what_is_aboard_and_too_little_is_asked_for_and_a_seed_gives_the_same(
    needs: list[frozenset[str]], has: dict[str, int], most: int, seed: str
) -> None:
    """Each once, oxygen first where it is scarce, and others' needs before the same ones'."""
    people = tuple(person(at, each) for at, each in enumerate(needs, 1))
    scarce = scarce_of(people, has)
    found = drawn_of(scarce, most, seed)

    assert found == drawn_of(scarce, most, seed)
    assert len(found) == min(most, len(scarce))
    assert max(Counter(each.key for each, _ in found).values(), default=1) == 1
    for each, count in found:
        assert 0 < count == has[each.key] < len(needing(people, each))
    if any(each.is_oxygen for each, _ in scarce):
        assert found[0][0].is_oxygen
    words = {each.needed_by for each, _ in found}
    assert len(words) == min(most, len({each.needed_by for each, _ in scarce}))


def test_another_seed_asks_for_something_else() -> None:
    """Of all that is scarce everything comes up."""
    people = tuple(person(at, frozenset(KEYS)) for at in range(1, 5))
    scarce = scarce_of(people, dict.fromkeys(KEYS, 1))
    met = {each.key for seed in range(60) for each, _ in drawn_of(scarce, 2, str(seed))}

    assert met == set(KEYS)


def test_how_many_there_are_is_told_in_words_of_our_own() -> None:
    """An abbreviation keeps its letters at the beginning of a sentence too."""
    people = tuple(person(at, frozenset({"monitors"})) for at in (1, 2))
    monitors = next(each for each in SCARCE if each.key == "monitors")
    made = next(allocations(A_CALL, people, [(monitors, 1)], lambda _call, _count: None))

    assert made.text == "Defibrillators with their pads, monitors and AEDs: 1."
    assert (made.kind, made.subject) == ("allocate", "monitors")
