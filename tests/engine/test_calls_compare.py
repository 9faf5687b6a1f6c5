"""What a workbook changes of a call type is told row by row, with what was and what is."""

from typing import Any

from drills.engine.calls_workbook import Step, compared

PHRASE = {"text": "{patient} at {place}, bleeding.", "age_bands": [], "problems": []}


def need(key: str, **other: Any) -> dict[str, Any]:
    row = {"need": key, "grade": "must", "quantity": 1, "per": "call", "problem": ""}
    row |= {"size": "any", "level": "", "serves_instead": [], "wrong_grab": [], "why": "x"}
    return row | other


def a_call(**other: Any) -> dict[str, Any]:
    call: dict[str, Any] = {"name": "Bleeding", "priority": "emergency", "patients_least": 1}
    call |= {"patients_most": 2, "scene": "home", "size_up": "x", "hazards": [], "owner": "test"}
    call |= {"road_kinds": [], "source": "made for a test", "date": "2026-11-28"}
    return call | {"phrases": [PHRASE], "patients": [], "needs": [need("gauze")]} | other


def test_what_is_the_same_is_no_change() -> None:
    """Lists as tuples and the same rows are the same."""
    assert compared(a_call(), a_call()) == ()


def test_a_cell_that_changed_has_what_it_was_and_what_it_is() -> None:
    """Of what the call type says of itself, and of a need found again by what it is of."""
    after = a_call(scene="yard", hazards=["blood"], needs=[need("gauze", quantity=3, why="y")])
    assert compared(a_call(), after) == (
        Step("calls", "changed", "", (("scene", "home", "yard"), ("hazards", "", "blood"))),
        Step("needs", "changed", "gauze", (("quantity", "1", "3"), ("why", "x", "y"))),
    )


def test_a_row_that_comes_and_one_that_goes_are_told_whole() -> None:
    """Another need is no change of the one that went."""
    (come, gone) = compared(a_call(), a_call(needs=[need("splint", quantity=2)]))
    assert (come.what, come.of) == ("added", "splint")
    assert ("quantity", "", "2") in come.cells
    assert (gone.what, gone.of) == ("gone", "gauze")
    assert ("quantity", "1", "") in gone.cells
    assert all(column != "need" for column, _, _ in (*come.cells, *gone.cells))


def test_one_of_two_rows_of_a_need_is_found_by_its_problem() -> None:
    """The other is not taken for it, whichever stands first."""
    before = a_call(needs=[need("gauze", problem="a"), need("gauze", problem="b")])
    after = a_call(needs=[need("gauze", problem="a"), need("gauze", problem="b", quantity=5)])
    (step,) = compared(before, after)
    assert step.cells == (("quantity", "1", "5"),)


def test_a_row_that_changed_its_problem_is_one_change() -> None:
    """No row that goes and another that comes."""
    (step,) = compared(a_call(), a_call(needs=[need("gauze", problem="limb-bleed")]))
    assert (step.what, step.cells) == ("changed", (("problem", "", "limb-bleed"),))


def test_a_phrase_most_of_which_stayed_changed() -> None:
    """One of other words came, and the other went."""
    alike = PHRASE | {"text": "{patient} at {place}, bleeding hard."}
    (step,) = compared(a_call(), a_call(phrases=[alike]))
    assert step.cells == (("phrase", PHRASE["text"], alike["text"]),)
    other = PHRASE | {"text": "Fire on {road}."}
    assert [each.what for each in compared(a_call(), a_call(phrases=[other]))] == ["added", "gone"]


def test_rows_in_another_order_are_told_so() -> None:
    """The order of phrases and patients decides what a seed draws."""
    before = a_call(needs=[need("gauze"), need("splint")])
    assert compared(before, a_call(needs=[need("splint"), need("gauze")])) == (
        Step("needs", "in another order"),
    )
