"""What a list requires, which needs answer it, and how what is carried measures up to it.

Two kinds of unit meet here: *theirs*, in which the list counts (each, pair, litre), and *ours*, in
which stock lines do. How many of theirs one of ours holds is said by whoever ties a row and is
never guessed from the names of units.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import partial

MANDATORY, OPTIONAL, UNSAID = "mandatory", "optional", "not said"
OBLIGATIONS = (MANDATORY, OPTIONAL, UNSAID)
MET, SHORT, MISSING, NOT_TIED = "met", "short", "missing", "not tied"
STATES = (MISSING, SHORT, NOT_TIED, MET)  # what asks for work first

MAX_QUANTITY = 99_999
MAX_HOLDS = 9_999
MAX_PARTS = 12  # needs that one row may ask for, alternatives counted together

_PART = re.compile(r"(.+?)(?:\s*>=\s*([0-9]+))?(?:\s*\(\s*one is ([0-9]+)\s*\))?")
_KEY = re.compile("[a-z0-9-]+")
NOTATION = "a need, or several as KEY >= 2; KEY >= 1, either of two as KEY or KEY"


@dataclass(frozen=True, slots=True)
class Requirement:
    """One row of a list. `quantity` is in `unit` of the list, None where it gives no number.

    `row` is the row a person sees in a spreadsheet. `status` says how sure the words are, in the
    words of whoever made the list.
    """

    row: int
    source: str
    item: str
    level: str = ""
    quantity: int | None = None
    unit: str = ""
    obligation: str = UNSAID
    status: str = ""

    @property
    def key(self) -> tuple[str, str]:
        """What makes it the same row when the list comes again: its level and its item."""
        return self.level.casefold(), self.item.casefold()

    @property
    def asked(self) -> int:
        """How many of theirs at least; one where the list gives no number."""
        return self.quantity or 1


@dataclass(frozen=True, slots=True)
class Part:
    """A need that answers a row, or a part of it. One of ours holds `holds` of theirs.

    `quantity` is in theirs; None is what the row asks, whatever that is when the list changes.
    """

    need: str
    quantity: int | None = None
    holds: int = 1


# Any one of the alternatives is enough; of an alternative every part is wanted. Empty: not tied.
Wanted = tuple[tuple[Part, ...], ...]


@dataclass(frozen=True, slots=True)
class Weighed:
    """A part against what is carried: `asked` in theirs, `carried` and `suggested` in ours.

    `units` is in how many units the lines of the need count that are confirmed, and
    `units_if_confirmed` with those that are suggested. A factor is of one unit, so of a need in
    several that has one nothing is counted.
    """

    part: Part
    asked: int
    carried: int
    suggested: int = 0
    units: int = 1
    units_if_confirmed: int = 1

    @property
    def is_uncounted(self) -> bool:
        """Whether the factor cannot be of all lines, so that somebody has to look."""
        return self.part.holds > 1 and self.units > 1

    @property
    def lacking(self) -> int:
        """How many of theirs are not there; what is merely suggested does not count."""
        return self.asked if self.is_uncounted else max(0, self.asked - self._holds(self.carried))

    @property
    def lacking_if_confirmed(self) -> int:
        """The same, if what is suggested were confirmed."""
        if self.part.holds > 1 and self.units_if_confirmed > 1:
            return self.asked
        return max(0, self.asked - self._holds(self.carried + self.suggested))

    def _holds(self, ours: int) -> int:
        return ours * self.part.holds


@dataclass(frozen=True, slots=True)
class Judged:
    """A row judged: its state, and the parts of the alternative that comes nearest.

    `if_confirmed` are the parts of the one that suggested ties would meet, which may be another.
    """

    state: str
    parts: tuple[Weighed, ...] = ()
    if_confirmed: tuple[Weighed, ...] = ()

    @property
    def is_met_if_confirmed(self) -> bool:
        """Whether confirming what is suggested would meet the row."""
        return bool(self.if_confirmed)

    @property
    def lacking(self) -> tuple[Weighed, ...]:
        """The parts that are short, or not there at all."""
        return tuple(each for each in self.parts if each.lacking)


def judge(
    asked: int,
    wanted: Wanted,
    carried: Mapping[str, int],
    suggested: Mapping[str, int] | None = None,
    units: Mapping[str, tuple[int, int]] | None = None,
) -> Judged:
    """How a row stands that asks for so many of theirs.

    `carried` is par by need of confirmed ties, in ours; `suggested` that of ties nobody has
    confirmed, which never make a row met. `units` is in how many units a need is carried, as
    `Weighed` has them, one where it is left out. Short is when something of it is carried, missing
    when nothing is.
    """
    if not wanted:
        return Judged(NOT_TIED)
    weigh = partial(
        _weighed, asked=asked, carried=carried, suggested=suggested or {}, units=units or {}
    )
    weighed = [tuple(map(weigh, parts)) for parts in wanted]
    nearest = min(weighed, key=_distance)
    if not any(each.lacking for each in nearest):
        return Judged(MET, nearest)
    return Judged(_short_or_missing(nearest), nearest, next(filter(_would_be_met, weighed), ()))


def _short_or_missing(parts: tuple[Weighed, ...]) -> str:
    return SHORT if any(each.carried for each in parts) else MISSING


def _would_be_met(parts: tuple[Weighed, ...]) -> bool:
    return not any(each.lacking_if_confirmed for each in parts)


def _weighed(
    part: Part,
    *,
    asked: int,
    carried: Mapping[str, int],
    suggested: Mapping[str, int],
    units: Mapping[str, tuple[int, int]],
) -> Weighed:
    need = part.need
    now, then = units.get(need, (1, 1))
    counts = carried.get(need, 0), suggested.get(need, 0)
    return Weighed(part, part.quantity or asked, *counts, now, then)


def _distance(parts: tuple[Weighed, ...]) -> tuple[int, int]:
    """How far an alternative is from being met: parts short first, then how much is carried."""
    return sum(each.lacking > 0 for each in parts), -sum(each.carried > 0 for each in parts)


def as_key(words: str) -> str:
    """The words, if they are written as the key of a need is; for what was written from keys."""
    return words if _KEY.fullmatch(words) else ""


def read_wanted(text: str, need_of: Callable[[str], str] = as_key) -> Wanted:
    """Needs as a keeper writes them: `KEY >= 100 (one is 100); KEY or KEY`.

    A semicolon is *and*, `or` stands between alternatives, a part without a number asks what its
    row asks. `need_of` gives the key of the need that some words name, or nothing. `ValueError`
    says what came in and what is accepted.
    """
    if key := need_of(text.strip()):  # a name may itself have an *or* in it
        return ((Part(key),),)
    alternatives = [each.split(";") for each in re.split(r"\s+or\s+", text.strip())]
    if (count := sum(map(len, alternatives))) > MAX_PARTS:
        raise ValueError(f"{count} needs came in for one row. At most {MAX_PARTS} are kept.")
    return tuple(tuple(_part(part.strip(), need_of) for part in each) for each in alternatives)


def _part(text: str, need_of: Callable[[str], str]) -> Part:
    match = _PART.fullmatch(text)
    if match is None:
        raise ValueError(f"“{text[:80]}” came in. Accepted is {NOTATION}.")
    key = need_of(match[1])
    if not key:
        raise ValueError(
            f"“{match[1][:80]}” came in. A need is named by its key, its name in either spelling, "
            f"or a word that it alone has; several as {NOTATION.partition('several as ')[2]}."
        )
    quantity = _number(match[2], MAX_QUANTITY) if match[2] else None
    return Part(key, quantity, _number(match[3], MAX_HOLDS) if match[3] else 1)


def _number(digits: str, most: int) -> int:
    number = int(digits[:9])
    if not 1 <= number <= most or len(digits) > len(str(most)):
        raise ValueError(f"“{digits[:20]}” came in. A number from 1 to {most} is accepted.")
    return number


def write_wanted(wanted: Wanted) -> str:
    """The needs as `read_wanted` reads them."""
    return " or ".join("; ".join(map(_written, parts)) for parts in wanted)


def _written(part: Part) -> str:
    quantity = f" >= {part.quantity}" if part.quantity else ""
    return f"{part.need}{quantity}" + (f" (one is {part.holds})" if part.holds > 1 else "")


@dataclass(frozen=True, slots=True)
class ListChanges:
    """What a list that comes again would change. Of each changed row what it was and will be."""

    added: tuple[Requirement, ...] = ()
    changed: tuple[tuple[Requirement, Requirement], ...] = ()
    removed: tuple[Requirement, ...] = ()
    same: int = 0

    @property
    def is_none(self) -> bool:
        """Whether nothing would be changed."""
        return not (self.added or self.changed or self.removed)


def list_changes(before: Iterable[Requirement], now: Iterable[Requirement]) -> ListChanges:
    """Tell two states of a list apart; where a row stands in its file is no change."""
    old, new = {each.key: each for each in before}, {each.key: each for each in now}
    kept = [(old[key], row) for key, row in new.items() if key in old]
    changed = tuple((was, row) for was, row in kept if replace(was, row=row.row) != row)
    return ListChanges(
        added=tuple(row for key, row in new.items() if key not in old),
        changed=changed,
        removed=tuple(row for key, row in old.items() if key not in new),
        same=len(kept) - len(changed),
    )


def keeps_tie(before: Requirement, now: Requirement, wanted: Wanted) -> bool:
    """Whether what ties a row still answers it when its words have changed.

    Another unit makes the factor untrue; another number makes untrue what was tied as a number of
    its own, and not what asks whatever the row asks.
    """
    if before.unit.casefold() != now.unit.casefold():
        return False
    follows = all(part.quantity is None for parts in wanted for part in parts)
    return before.quantity == now.quantity or follows
