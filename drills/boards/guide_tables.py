"""The tables that the manual prints from what the engine goes by, so that none is retyped."""

from collections.abc import Callable, Iterator, Mapping
from itertools import groupby

from drills.engine import moves, writing
from drills.engine.dosing.bounds import BOUNDS
from drills.engine.dosing.slips import ALL_SLIPS
from drills.engine.evaluated import page as evaluated_page
from drills.engine.flagging import seen
from drills.engine.knobs import page as knobs_page
from drills.engine.optimum import page as optimum_page
from drills.engine.tables.page import as_markdown, markdown
from drills.engine.targets import TARGETS
from drills.engine.triage import page as triage_page


def named_slips() -> str:
    """Every slip by its key and in words, under a heading for each class."""
    return "\n\n".join(_slips_by_class())


def _slips_by_class() -> Iterator[str]:
    in_order = sorted(ALL_SLIPS, key=lambda slip: slip.error)
    for error, slips in groupby(in_order, key=lambda slip: slip.error):
        rows = [(f"`{slip.key}`", slip.words) for slip in slips]
        yield f"### {error.capitalize()}\n\n{as_markdown(('slip', 'what was done'), rows)}"


def rules_of_writing() -> str:
    """Every rule of writing: what is wrong, what to write instead, and who says so."""
    rows = [(rule.words, rule.source) for rule in writing.RULES]
    return as_markdown(("what is told", "source"), rows)


def sizes_accepted() -> str:
    """What the fields of a problem are at least and at most."""
    rows = [(each.what, str(each.least), str(each.most)) for each in BOUNDS]
    return as_markdown(("what", "at least", "at most"), rows)


def target_times() -> str:
    """What one step of each kind should take, with where that is from."""
    rows = [
        (row.words, f"{row.seconds} s", "; ".join(filter(None, (row.source, row.note))))
        for row in TARGETS.values()
    ]
    return as_markdown(("step", "should take", "where that is from"), rows)


def moves_of_a_drill() -> str:
    """Every state of a drill that was given or started, and every move from it."""
    heads = ("state", "what it means", "what can be done → what it is then")
    return as_markdown(heads, moves.as_rows())


# What stands in double brackets on a line of its own in a chapter, and what is put there.
PRINTED: Mapping[str, Callable[[], str]] = {
    "named slips": named_slips,
    "rules of writing": rules_of_writing,
    "published figures": markdown,
    "difficulty: knobs": knobs_page.as_table,
    "sizes that are accepted": sizes_accepted,
    "target times": target_times,
    "moves of a drill": moves_of_a_drill,
    **triage_page.PRINTED,
    **optimum_page.PRINTED,
    **evaluated_page.PRINTED,
    **seen.PRINTED,
}


def put_in(text: str) -> str:
    """A chapter with its tables where it names them."""
    for name, table in PRINTED.items():
        marker = f"[[{name}]]"
        if marker in text:
            text = text.replace(marker, table())
    return text
