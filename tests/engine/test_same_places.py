"""Which of the places that are gone a new one may be."""

from dataclasses import replace
from typing import Any

import pytest

from drills.engine.layout import Layout
from drills.engine.merging import changes, settle, to_relearn
from drills.engine.same_places import answered, questions
from tests.layouts import practice_rig

BEFORE = settle(practice_rig(), {})
USED = {each.key for each in BEFORE.compartments}


def recoded(codes: dict[str, str], **fields: Any) -> Layout:
    """The practice rig under other codes, without a key for any place, as a workbook comes in."""
    rig = practice_rig()
    new = replace(
        rig,
        compartments=tuple(
            replace(
                each,
                code=codes.get(each.code, each.code),
                inside=codes.get(each.inside, each.inside),
                **(fields if each.code in codes else {}),
            )
            for each in rig.compartments
        ),
        stock=tuple(
            replace(each, compartment=codes.get(each.compartment, each.compartment))
            for each in rig.stock
        ),
        points=tuple(
            replace(each, serves=tuple(codes.get(code, code) for code in each.serves))
            for each in rig.points
        ),
    )
    return settle(new, {each.code: each.key for each in BEFORE.compartments}, used=USED)


def asked(now: Layout) -> list[tuple[str, str]]:
    """The codes that are asked about, each with the likeliest place."""
    return [(each.code, each.gone[0].key) for each in questions(BEFORE, now, USED)]


def test_a_place_under_another_code_is_asked_with_the_old_one_first():
    """Of two places that are gone the one with the same things in it comes first."""
    now = recoded({"I1A": "Z1", "S1A": "Z2"})

    assert set(asked(now)) == {("Z1", "I1A"), ("Z2", "S1A")}


def test_the_contents_find_a_place_that_is_named_otherwise_as_well():
    """The items that lie in it say what it is where neither code nor name does."""
    now = recoded({"BAG-M": "Q7", "P1": "Q8"}, name="Something else")

    found = {each.code: each.gone for each in questions(BEFORE, now, USED)}

    assert [each.key for each in found["Q7"]] == ["BAG-M", "P1"]
    assert (found["Q7"][0].shared, found["Q7"][0].items) == (2, 2)
    assert found["Q7"][0].likeness > found["Q7"][1].likeness


def test_what_lies_deeper_counts_as_well():
    """A cabinet that holds nothing itself is known by what its drawers hold."""
    now = recoded({"I1": "Z1"})

    [question] = questions(BEFORE, now, USED)

    assert (question.gone[0].key, question.gone[0].shared) == ("I1", 4)


def test_nothing_is_asked_where_nothing_is_gone():
    """A place that is only added is new, and so is all of a first revision."""
    rig = practice_rig()
    more = replace(rig.compartments[5], code="I2", name="Second cabinet")
    now = settle(replace(rig, compartments=(*rig.compartments, more)), {}, used=USED)

    assert asked(replace(now, compartments=(*BEFORE.compartments, now.compartments[-1]))) == []


def test_nothing_is_asked_where_nothing_is_new():
    """Places that are only gone are gone."""
    without = [each for each in BEFORE.compartments if each.code != "P1"]

    assert asked(replace(BEFORE, compartments=tuple(without), points=())) == []


def test_a_place_that_comes_back_is_not_asked_about():
    """Its key was in force in an earlier revision, so it is known which place it is."""
    now = recoded({"I1A": "Z1"})

    assert questions(BEFORE, now, {*USED, "Z1"}) == ()


def test_an_answer_makes_a_rename_of_what_was_removed_and_added():
    """The place is the same one, so nobody has to learn it anew."""
    now = recoded({"I1A": "Z1"})

    same = answered(BEFORE, now, USED, {"Z1": "I1A"})

    assert {each.what for each in changes(BEFORE, now)} >= {"added", "removed"}
    assert [(each.what, each.name) for each in changes(BEFORE, same)] == [
        ("renamed", "Upper drawer")
    ]
    assert len(to_relearn(BEFORE, now)) == 2
    assert to_relearn(BEFORE, same) == ()
    assert questions(BEFORE, same, USED) == ()


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        ({"Z9": "I1A"}, "Z9 came in; the places that count as new are Z1, Z2."),
        ({"S1": "I1A"}, "S1 came in; the places that count as new are Z1, Z2."),
        ({"Z1": "S1"}, "S1 came in for Z1; in this draft it is S1 already."),
        ({"Z1": "nowhere"}, "nowhere came in for Z1; the places that are gone are I1A, S1A."),
        ({"Z1": "I1A", "Z2": "I1A"}, "I1A came in for Z1 and for Z2. It can be one of them alone."),
    ],
)
def test_an_answer_that_cannot_be_is_refused_by_name(answers, said):
    """A key in use, of no place that is gone, or given twice would make two places one."""
    with pytest.raises(ValueError, match="came in") as refused:
        answered(BEFORE, recoded({"I1A": "Z1", "S1A": "Z2"}), USED, answers)

    assert str(refused.value) == said
