"""Where published dose rules disagree, and where they do not.

The rows of `contradictions.csv` are printed in the sources named there: P25 is a US EMS protocol
book of 2025 whose introduction keeps it to its own programme (figures for arithmetic alone); AHA10
the American Heart Association, Circulation 2010, paediatric Table 1; AHA20 its adult arrest
algorithm of 2020; NAS3 the national model EMS guidelines, version 3.0 of 2022, from memory; ABLS
Advanced Burn Life Support 2010.
"""

from dataclasses import replace
from fractions import Fraction
from itertools import groupby
from typing import Any

import pytest

from drills.engine.contradictions import (
    CHILD_ABOVE_ADULT,
    DOSE,
    INTERVAL,
    MAXIMUM,
    MINIMUM,
    SAME_DOSE,
    SAME_USE,
    TOTAL,
    Differing,
    Stated,
    contradictions,
)
from tests.reference import table

PAIRS = {
    pair: list(rows)
    for pair, rows in groupby(table("contradictions.csv"), key=lambda row: row["pair"])
}
A = Stated(
    code="A", medicine="m", indication="seizure", route="IM", dose="0.2 mg/kg", maximum="10 mg"
)
B = replace(A, code="B")


def stated(row: dict[str, str]) -> Stated:
    """A row of the table as a rule."""
    bound = [
        Fraction(row[name]) if row[name] else None
        for name in ("age_from_y", "age_below_y", "weight_from_kg", "weight_below_kg")
    ]
    same: tuple[str, ...] = (
        "code",
        "medicine",
        "indication",
        "route",
        "dose",
        "dose_high",
        "minimum",
        "maximum",
    )
    said: dict[str, Any] = {name: row[name] for name in same}
    return Stated(
        **said,
        over=int(row["over_min"]) if row["over_min"] else None,
        ages=(bound[0], bound[1]),
        weights=(bound[2], bound[3]),
    )


@pytest.mark.parametrize("pair", PAIRS)
def test_published_rules_are_held_against_each_other(pair: str) -> None:
    """Each pair is found for its reason with what differs, in either order; or not found."""
    first, second = PAIRS[pair]
    a, b = stated(first), stated(second)

    found = contradictions([a, b])

    expected = [(first["found"], first["differs"])] if first["found"] else []
    assert [(each.kind, ";".join(d.name for d in each.differs)) for each in found] == expected
    turned = contradictions([b, a])
    assert [(each.kind, {d.name for d in each.differs}) for each in turned] == [
        (each.kind, {d.name for d in each.differs}) for each in found
    ]
    for one, other in zip(found, turned, strict=True):
        assert [(d.second, d.first) for d in one.differs] == [
            (d.first, d.second) for d in other.differs
        ]


def test_the_table_has_every_kind_and_pairs_that_do_not_disagree() -> None:
    """So that neither always nor never finding one passes."""
    kinds = {rows[0]["found"] for rows in PAIRS.values()}
    assert kinds == {SAME_USE, SAME_DOSE, CHILD_ABOVE_ADULT, ""}
    assert all(len(rows) == 2 for rows in PAIRS.values())


@pytest.mark.parametrize(
    ("fields", "differs"),
    [
        ({"dose": "200 mcg/kg", "maximum": "0.01 g"}, []),
        ({"dose": "0.2 mg/kg", "dose_high": "0.2 mg/kg"}, []),
        ({"dose_high": "0.4 mg/kg"}, [Differing(DOSE, "0.2 mg/kg", "0.2 mg/kg to 0.4 mg/kg")]),
        ({"dose": "0.2 mg"}, [Differing(DOSE, "0.2 mg/kg", "0.2 mg")]),
        ({"maximum": ""}, [Differing(MAXIMUM, "10 mg", "")]),
        ({"minimum": "1 mg"}, [Differing(MINIMUM, "", "1 mg")]),
        ({"total": "20 mg"}, []),
        ({"dose": "as told"}, [Differing(DOSE, "0.2 mg/kg", "as told")]),
    ],
)
def test_figures_are_compared_and_not_their_words(
    fields: dict[str, Any], differs: list[Differing]
) -> None:
    """1,000 mg is 1 g; a limit that one alone names differs, a total does not."""
    found = contradictions([A, replace(B, **fields)])

    assert [each for one in found for each in one.differs] == differs


def test_totals_and_intervals_that_both_name_are_compared() -> None:
    """Each in its own words."""
    (found,) = contradictions(
        [replace(A, total="1,000 mg", interval=5), replace(B, total="2 g", interval=3)]
    )

    assert found.differs == (
        Differing(TOTAL, "1,000 mg", "2 g"),
        Differing(INTERVAL, "5 min", "3 min"),
    )


@pytest.mark.parametrize(
    "apart",
    [
        {"medicine": "n"},
        {"route": "IV/IO"},
        {"indication": "seizure, repeat"},
        {"indication": "pain"},
        {"weights": (Fraction(40), None)},
        {"ages": (Fraction(14), None)},
    ],
)
def test_rules_for_something_else_or_for_others_do_not_disagree(apart: dict[str, Any]) -> None:
    """Another medicine, route, step, use, weight or age; a window that ends where one begins."""
    a = replace(A, weights=(None, Fraction(40)), ages=(None, Fraction(14)))
    b = replace(a, code="B", dose="0.1 mg/kg")
    assert contradictions([a, b])

    assert not contradictions([a, replace(b, **apart)])


def test_a_problem_that_both_are_for_makes_the_use_the_same() -> None:
    """Whatever they call it; not where the severities are apart."""
    a = replace(A, uses=(("fit", (1, 2)),))
    b = replace(B, indication="status", dose="0.1 mg/kg", uses=(("fit", (2, 3)),))

    assert [each.kind for each in contradictions([a, b])] == [SAME_USE]
    assert contradictions([a, replace(b, uses=(("fit", ()),))])
    assert not contradictions([a, replace(b, uses=(("fit", (3,)),))])


def test_a_child_may_have_as_much_as_an_adult() -> None:
    """The ceiling itself is not past it, and an adult's larger maximum is none."""
    child = replace(A, ages=(None, Fraction(14)))
    adult = replace(B, ages=(Fraction(14), None), dose="5 mg")

    assert not contradictions([child, replace(adult, maximum="10 mg")])
    assert not contradictions([child, replace(adult, maximum="11 mg")])
    (found,) = contradictions([child, replace(adult, maximum="9 mg")])
    assert found.differs == (Differing(MAXIMUM, "10 mg", "9 mg"),)


@pytest.mark.parametrize(
    ("fields", "most", "is_found"),
    [
        ({"dose_high": "1 g/kg"}, "25 g", True),
        ({"dose_high": "1 g/kg", "maximum": "25 g"}, "25 g", False),
        ({"dose_high": "1 g/kg", "weights": (None, Fraction(25))}, "25 g", False),
        ({"dose_high": "1 g/kg", "weights": (None, Fraction(26))}, "25 g", True),
        ({}, "200 g", False),
        ({"dose": "1 mEq/kg"}, "25 g", False),
    ],
)
def test_a_dose_by_weight_without_a_maximum_is_held_against_the_adults(
    fields: dict[str, Any], most: str, is_found: bool
) -> None:
    """At the heaviest that the rule is for, by its own limit or by its ages."""
    child = replace(A, dose="0.5 g/kg", maximum="", ages=(None, Fraction(14)))
    adult = replace(B, ages=(Fraction(14), None), dose="10 g", maximum=most)

    for pair in ([replace(child, **fields), adult], [adult, replace(child, **fields)]):
        found = contradictions(pair)
        assert [each.kind for each in found] == ([CHILD_ABOVE_ADULT] if is_found else [])
    for each in found:
        (differing,) = each.differs
        assert differing.first == most
        assert differing.second.startswith("1 g/kg without a maximum at ")
