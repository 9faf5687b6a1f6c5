"""What is made to harm the reader is refused in words that name it."""

import pytest

from drills.engine.workbook import read_workbook
from tests.bench.hostile import MOST_MB, MOST_S, measured
from tests.engine.workbook_hostile import CORPUS

HEAVIEST = (
    *("a million rows", "a million cells", "a million shared texts", "a million pieces of text"),
    *("a cell of forty megabytes", "all the text that is read, in one row"),
    *("all the cells that are read, in one row", "ten million empty cells"),
)


def test_the_corpus_has_more_than_fifty_files():
    """Fifty ways to harm a reader are tried beside the plain mistakes."""
    assert len(CORPUS) > 50


@pytest.mark.parametrize("name", CORPUS)
def test_a_hostile_file_is_refused_by_what_it_is(name):
    """No layout comes of it, and a problem of its sheet says what came in."""
    hostile = CORPUS[name]

    parsed = read_workbook(hostile.make(), name=hostile.name)

    assert parsed.layout is None
    found = [str(each) for each in parsed.problems if each.sheet == hostile.sheet]
    assert any(hostile.said in sentence for sentence in found), parsed.problems[:5]


@pytest.mark.parametrize("name", HEAVIEST)
def test_the_heaviest_take_little_memory_and_time(name):
    """The whole process, Python and libraries included, stays within its bounds."""
    hostile = CORPUS[name]

    found = measured(hostile.make(), hostile.name)

    assert found.problems
    assert found.peak_mb < MOST_MB
    assert found.seconds < MOST_S
