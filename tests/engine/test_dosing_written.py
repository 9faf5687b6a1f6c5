"""How an answer is written: published rules, and what a mark of thousands may have meant."""

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.reading import read_problem
from drills.engine.writing import remarks, takes_marks


@pytest.mark.parametrize(
    ("text", "keys", "is_marked"),
    [
        ("5mg", ["space"], True),
        ("5 mg.", ["full stop"], True),
        ("00.5 mL", ["needless zero"], False),
        ("05 mL", ["needless zero"], False),
        ("5 MG", ["capitals"], False),
        ("5 mg", [], False),
        ("0.5 mL", [], False),
        ("20%", [], False),
        ("5U", ["units", "space"], True),
        ("5 mEq", [], False),
        ("5.0 mm", [], False),
        ("5.0 millimeters", [], False),
        ("5.0mm", ["space"], True),
        ("5. mm", ["trailing zero"], True),
        ("5.0 mmHg", ["trailing zero"], True),
        ("5.0", ["trailing zero"], True),
    ],
)
def test_each_rule_is_said_once(text: str, keys: list[str], is_marked: bool) -> None:
    """With its source; what is ours takes no marks."""
    assert [each.key for each in remarks(text)] == keys
    assert takes_marks(text) == is_marked


def test_a_point_of_thousands_may_have_been_misread() -> None:
    """1.500 for 1,500 is a slip of units, or a mark that is read otherwise here."""
    dose = read_problem({"kind": "dose", "fixed": "1500 mg"})
    small = read_problem({"kind": "dose", "fixed": "1.5 mg"})

    assert "point was meant for thousands" in judge(dose, "dose", "1.500 mg").sentence
    assert "comma was meant for decimals" in judge(small, "dose", "1,500 mg").sentence
    assert "comma was meant for thousands" in judge(dose, "dose", "1,50 mg").sentence
    # Near to it too, and not where the other reading is wrong as well.
    assert "comma was meant for decimals" in judge(small, "dose", "1,499 mg").sentence
    assert "meant for" not in judge(small, "dose", "1,800 mg").sentence
    assert "comma was meant for decimals" in judge(dose, "dose", "1,500 g").sentence
    assert "thousands" not in judge(dose, "dose", "1.5 mg").sentence
