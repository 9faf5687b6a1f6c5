"""How a number and its unit are written, by the published rules of safe expression.

Sources: the Joint Commission's do-not-use list with its additional list (copy of 5 March 2009),
and the items of ISMP's list as printed in BMJ Open and by the Royal Society.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass

from drills.engine.figures import last_figure

JOINT_COMMISSION = "Joint Commission do-not-use list (2009 copy)"
ISMP = "ISMP list of error-prone abbreviations (as printed in BMJ Open)"
ISMP_ITEMS = "ISMP items as printed in BMJ Open"
OURS = "ours, no source"
# The number pad of some phones has no comma, so nobody loses marks for one that is not there;
# nor for what no published rule says.
NEVER_MARKED = frozenset({"comma", "needless zero", "capitals"})


@dataclass(frozen=True, slots=True)
class Remark:
    """One rule that was not kept: its lasting key, what to write instead, and who says so."""

    key: str
    words: str
    source: str


@dataclass(frozen=True, slots=True)
class _Rule:
    remark: Remark
    is_broken: Callable[[str, str], bool]


def _rule(key: str, words: str, source: str, is_broken: Callable[[str, str], bool]) -> _Rule:
    """Of the number, and of what stands behind it, the space between them included."""
    return _Rule(Remark(key, words, source), is_broken)


def _ends_in_zero(number: str) -> bool:
    return number.endswith("0") and last_figure(number) != 1


def _trails(number: str, unit: str) -> bool:
    """By a zero or a bare point; the list lets the size of a tube keep its zero, as printed on it.

    What else it exempts, results of a laboratory, is asked nowhere.
    """
    is_size = re.match(r"\s*(mm|millimet(re|er)s?)\b", unit, re.I) is not None
    return number.endswith((".", ",")) or (_ends_in_zero(number) and not is_size)


_RULES = (
    _rule(
        "leading zero",
        "no zero before the point: write 0.5, never .5",
        JOINT_COMMISSION,
        lambda number, _: re.match(r"[.,]", number) is not None,
    ),
    _rule(
        "trailing zero",
        "a zero that ends the number: write 1, never 1.0",
        JOINT_COMMISSION,
        _trails,
    ),
    _rule(
        "mcg",
        "a sign for micro: write mcg, never µg or ug",
        JOINT_COMMISSION,
        lambda _, unit: re.match(r"\s*(µ|μ|u)g\b", unit, re.I) is not None,
    ),
    _rule(
        "units",
        "a letter for units: write units, never U or IU",
        JOINT_COMMISSION,
        lambda _, unit: re.match(r"\s*(U|IU)(?![A-Za-z])", unit, re.I) is not None,
    ),
    _rule(
        "mL",
        "cc: write mL",
        JOINT_COMMISSION,
        lambda _, unit: re.match(r"\s*cc\b", unit, re.I) is not None,
    ),
    _rule(
        "comma",
        "no comma: write 1,000 and above with one",
        ISMP,
        lambda number, _: re.match(r"[1-9][0-9]{3,}", number) is not None,
    ),
    _rule(
        "space",
        "no space before the unit: write 5 mg, never 5mg",
        ISMP_ITEMS,
        lambda number, unit: bool(number) and re.match(r"[^\s%]", unit) is not None,
    ),
    _rule(
        "full stop",
        "a full stop after the unit: write mg, never mg.",
        ISMP_ITEMS,
        lambda _, unit: unit.rstrip().endswith("."),
    ),
    _rule(
        "needless zero",
        "a needless zero in front: write 5, never 05, and 0.5, never 00.5",
        OURS,
        lambda number, _: re.match(r"0[0-9]", number) is not None,
    ),
    _rule(
        "capitals",
        "a unit in capitals: write mg, mcg and kg, never MG, MCG or KG",
        OURS,
        lambda _, unit: re.match(r"\s*(MG|Mg|MCG|Mcg|KG|Kg|ML)\b", unit) is not None,
    ),
)
RULES = tuple(each.remark for each in _RULES)
_PARTS = re.compile(r"\s*([0-9.,]*)(.*)", re.ASCII | re.DOTALL)


def remarks(text: str) -> tuple[Remark, ...]:
    """Every rule that an amount as it was written breaks; nothing is said of its size."""
    match = _PARTS.fullmatch(text)
    number, unit = (match[1], match[2].rstrip()) if match else ("", "")
    return tuple(each.remark for each in _RULES if each.is_broken(number, unit))


def takes_marks(text: str) -> bool:
    """Whether an amount is written in a way that takes marks where writing is marked."""
    return any(each.key not in NEVER_MARKED for each in remarks(text))
