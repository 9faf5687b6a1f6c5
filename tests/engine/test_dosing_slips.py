"""The slip detector on problems made at random; `tests.bench.slips` takes many more of them."""

from random import Random

from tests.bench.slips import LEAST_NAMED, MOST_FALSE, count_pairs, count_right, count_wrong


def test_the_right_slip_is_named_alone_wherever_it_can_be_told() -> None:
    """By an arithmetic of its own, with answers written as people and devices write them."""
    found = count_pairs(Random(1), 600)  # noqa: S311 - problems, no secrets

    assert found.named >= LEAST_NAMED * found.pairs, found.examples
    assert found.ambiguous  # counted, and never counted as named


def test_a_right_answer_is_judged_right_and_never_called_a_slip() -> None:
    """Worked out by another arithmetic, as the device gives it and to three figures."""
    called, otherwise = count_right(Random(2), 600)  # noqa: S311 - problems, no secrets

    assert (called, otherwise) == (0, [])


def test_few_wrong_answers_that_no_slip_made_are_given_a_name() -> None:
    """From a hundredth to a hundred times the truth, a fifth or more off."""
    named, names = count_wrong(Random(3), 600)  # noqa: S311 - problems, no secrets

    assert named <= MOST_FALSE * 600, names
