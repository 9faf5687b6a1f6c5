"""A draw that takes more than one fill of the largest syringe says how many, and one that takes
more than three is refused."""

from dataclasses import replace
from typing import Any

import pytest

from drills.engine.devices import BAG, SYRINGES
from drills.engine.dosing import judge
from drills.engine.dosing.drawing import MOST_FILLS
from drills.engine.dosing.reading import read_problem, told_solution
from drills.engine.dosing.treatment import work_out
from drills.engine.medicines import Asked, problem_asked
from tests.engine.treating import GROWN, carrying, rule


@pytest.mark.parametrize(
    ("dose", "syringes", "told"),
    [
        ("21.6 mg", [1, 3, 10], "of the 10 mL syringe 0.2 mL apart, filled 3 times: 21.6 mL"),
        ("30 mg", [10], "of the 10 mL syringe 0.2 mL apart, filled 3 times: 30 mL"),
        ("30.04 mg", [10], "of the 10 mL syringe 0.2 mL apart, filled 3 times: 30 mL"),
        ("60 mg", [60], "of the 60 mL syringe 1 mL apart: 60 mL"),
        ("10.2 mg", [10], "of the 10 mL syringe 0.2 mL apart, filled 2 times: 10.2 mL"),
    ],
)
def test_a_draw_says_how_often_the_largest_syringe_is_filled(
    dose: str, syringes: list[int], told: str
) -> None:
    """One fill is not counted."""
    problem = {"kind": "dose", "fixed": dose, "concentration": "1 mg/mL", "syringes": syringes}
    assert read_problem(problem).solve().steps[-1].endswith(told)


def test_a_bag_is_filled_by_nobody() -> None:
    """It runs on, whatever it holds."""
    assert BAG.fills(BAG.holds * 3) == 1
    assert SYRINGES[3].fills(SYRINGES[3].holds) == 1


def drawn(dose: str, packed: Any, syringes: list[int], **given: Any) -> dict[str, Any]:
    problem = {"kind": "dose", "fixed": dose, "concentration": packed, "syringes": syringes}
    return told_solution(read_problem(problem | given).solve())


@pytest.mark.parametrize(
    ("dose", "syringes", "exact", "fills"),
    [
        ("14 mg", [1], "14", 14),
        ("61.6 mg", [1, 3, 10], "61.6", 7),
        ("30.2 mg", [10], "30.2", 4),
        ("180.4 mg", [60], None, None),
        ("181 mg", [60], "181", 4),
    ],
)
def test_more_than_three_fillings_are_refused_and_the_arithmetic_is_not(
    dose: str, syringes: list[int], exact: str | None, fills: int | None
) -> None:
    """180.4 mL are set as 180 mL, three fillings of 60 mL."""
    told = drawn(dose, "1 mg/mL", syringes)

    volume = told["results"]["volume"]
    if fills is None:
        assert volume["rounded"] == "180"
        assert "refused" not in told
        return
    assert (volume["exact"], volume["rounded"]) == (exact, None)
    assert told["refused"]["because"] == (
        f"{exact} mL takes {fills} fillings of the {syringes[-1]} mL syringe, the largest aboard, "
        f"and no more than {MOST_FILLS} are accepted."
    )
    assert f"{dose} / 1 mg/mL = {exact} mL" in told["steps"][-1]


@pytest.mark.parametrize(
    ("packed", "given", "instead"),
    [
        ("1 mg/mL", {}, ["Use a larger syringe, of 20 mL or more.", "bag"]),
        (
            "1 mg/mL",
            {"others": ["10 mg/mL", "0.5 mg/mL"]},
            ["Use what is aboard of 10 mg/mL: 4 mL.", "Use a larger syringe", "bag"],
        ),
        (
            {"amount": "50 mg", "in": "50 mL"},
            {},
            ["Use a larger syringe", "If its 50 mL come ready to give, give it from them.", "bag"],
        ),
        (
            {"amount": "200 mg", "in": "200 mL"},
            {},
            ["Use a larger syringe", "Run it in from the 200 mL that it comes in"],
        ),
    ],
)
def test_the_ways_out_of_many_fillings(
    packed: Any, given: dict[str, Any], instead: list[str]
) -> None:
    """What can be drawn of what else is aboard stands first; a weaker one is none."""
    told = drawn("40 mg", packed, [3, 10], **given)["refused"]["instead"]

    assert len(told) == len(instead)
    assert all(words in each for words, each in zip(instead, told, strict=True))


def test_no_larger_syringe_is_named_where_none_does() -> None:
    """No size that is known holds a third of 240 mL."""
    told = drawn("240 mg", "1 mg/mL", [60])["refused"]["instead"]
    assert told == ["Run it in from a bag, as your protocols say."]


@pytest.mark.parametrize(
    ("dose", "packed", "syringes", "last"),
    [
        ("50 g", {"amount": "25 g", "in": "50 mL"}, [10], "2 containers of 50 mL, given whole"),
        ("1 mg", {"amount": "1 mg", "in": "10 mL"}, [1, 3], "1 container of 10 mL, given whole"),
        ("300 mg", {"amount": "150 mg", "in": "3 mL"}, [10], "of the 10 mL syringe 0.2 mL apart"),
    ],
)
def test_whole_containers_that_come_ready_are_not_counted_in_fillings(
    dose: str, packed: Any, syringes: list[int], last: str
) -> None:
    """Where they are fewer than the fillings."""
    told = drawn(dose, packed, syringes)

    assert "refused" not in told
    assert last in told["steps"][-1]
    assert told["results"]["volume"]["rounded"] == told["results"]["volume"]["exact"]


def test_what_comes_in_a_syringe_is_not_drawn_up() -> None:
    """80 mL of syringes of 50 mL; out of vials they would be eight fillings."""
    packed = {"amount": "50 mEq", "in": "50 mL"}
    told = drawn("80 mEq", packed, [10], container="syringe")

    assert told["results"]["volume"]["rounded"] == "80"
    assert told["steps"][-1] == ("By marks 0.2 mL apart, given from its own syringes: 80 mL")
    assert "refused" in drawn("80 mEq", packed, [10], container="vial")
    small = drawn("8 mEq", packed, [10], container="syringe")
    assert small["steps"][-1] == "By marks of the 10 mL syringe 0.2 mL apart: 8 mL"


def test_a_rule_whose_medicine_comes_in_a_syringe_says_so() -> None:
    """In a drill and where it is worked out for a patient alike; not where it is mixed first."""
    vial = rule("80 mg", packed="50 mg / 50 mL", route="IV")
    ready = replace(vial, comes_as=(replace(vial.comes_as[0], is_ready=True),))
    stock = replace(carrying("50 mg / 50 mL"), syringes=(10,))
    held = replace(stock.containers[0], container=ready.comes_as[0])

    assert work_out(GROWN, vial, stock).refusal is not None
    assert work_out(GROWN, ready, replace(stock, containers=(held,))).refusal is None
    for given, is_refused in ((vial, True), (ready, False)):
        problem = problem_asked(given, Asked(syringes=[10]))
        assert (read_problem(problem).solve().refusal is not None) == is_refused


def test_many_whole_containers_are_refused_as_well() -> None:
    """Five of 10 mL with a syringe of 10 mL are as many."""
    assert "refused" in drawn("5 mg", {"amount": "1 mg", "in": "10 mL"}, [10])


def test_the_figure_is_right_and_refused_where_it_is_judged() -> None:
    """The arithmetic can be right."""
    asked = {"kind": "dose", "fixed": "14 mg", "concentration": "1 mg/mL", "syringes": [1]}
    judged = judge(read_problem(asked), "volume", "14 mL")
    wrong = judge(read_problem(asked), "volume", "20 mL")

    assert judged.sentence.startswith("Right as a figure, and refused: 14 mL takes 14 fillings")
    assert wrong.sentence.endswith("= 14 mL, which takes 14 fillings of the 1 mL syringe.")


def test_of_a_range_the_low_end_decides() -> None:
    """That much is right, and is drawn."""
    assert "refused" not in drawn("3 mg", "1 mg/mL", [1], high="5 mg")
    assert "refused" in drawn("4 mg", "1 mg/mL", [1], high="5 mg")


def test_what_is_aboard_and_takes_fewer_fillings_is_taken() -> None:
    """200 mL of the one, 20 mL of the other."""
    weak, strong = "40 mg / 40 mL", "40 mg / 4 mL"
    given = rule("200 mg", packed=weak, route="IV")
    both = work_out(GROWN, given, carrying(weak, strong))
    one = work_out(GROWN, given, carrying(weak))

    assert both.refusal is None
    assert both.volume is not None
    assert both.volume.answer == "20 mL"
    assert one.refusal is not None
    assert "200 mL takes 4 fillings of the 60 mL syringe" in one.refusal.because
