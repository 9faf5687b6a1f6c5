"""A layout goes out and comes back the same, and goes out again in the same bytes."""

from drills.engine.layout import FACES
from drills.engine.workbook import read_workbook, to_zip
from tests.bench.big import big_layout


def test_the_big_rig_is_one_that_our_own_reader_takes():
    """What is measured with is a workbook like any other, and as large as it says."""
    big = big_layout()

    parsed = read_workbook(to_zip(big))

    assert (parsed.problems, parsed.remarks) == ((), ())
    assert parsed.layout == big
    assert (len(big.compartments), len(big.stock)) == (400, 5_000)
    assert len({line.key for line in big.stock}) == 1_500
    assert {big.face_of(each.code) for each in big.compartments} == set(FACES)
    assert max(len(big.chain(each.code)) for each in big.compartments) == 5
