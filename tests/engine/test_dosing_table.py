"""The table of published cases in the guide is the one that the cases make."""

from pathlib import Path

from tests.bench.published import KINDS, table
from tests.engine.published import CASES

GUIDE = Path(__file__).parents[2] / "drills" / "guide" / "dosing-figures.md"


def test_the_guide_gives_the_published_cases_as_they_are() -> None:
    """Kinds, counts and sources; `python -m tests.bench.published` prints them anew."""
    assert table() in GUIDE.read_text("utf-8")


def test_every_kind_of_case_is_in_the_table() -> None:
    """None is counted for nothing, and no kind is told that there is not."""
    told = {kind for kinds in KINDS.values() for kind in kinds.split()}

    assert told == {row["kind"] for row in CASES if not row["kind"].startswith("flagged_")}
