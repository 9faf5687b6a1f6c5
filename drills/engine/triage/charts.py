"""A triage chart read from its table, and one patient's way through it.

A row of a chart is one branch: at its step, when its findings are so, it leads to another step or
to a category. At a step the first row that fits is taken. Where none fits and a finding of one is
unknown, that finding is needed; a row that says `otherwise` is taken where nothing is unknown and
no other fits. So any one "no" of a box of questions settles it, whatever the rest are.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from drills.engine.tables.kinds import Sourced
from drills.engine.tables.reading import TableError, read_file

FOLDER = Path(__file__).parent
OTHERWISE = "otherwise"

Known = Mapping[str, Any]
# True or false of what is known; None where it cannot be said.
Test = Callable[[Known], bool | None]

_CONDITION = re.compile(r"(?P<finding>\w+) (?P<answer>.+)")
_LIMIT = re.compile(r"(?P<least>\d+)( \+ (?P<times>\d+) × (?P<by>\w+))?|(?P<other>[a-z_]+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch(Sourced):
    """One branch of a chart: `when` at `step`, then `leads_to`, told in `words`."""

    step: str
    when: str
    leads_to: str
    words: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """Where a chart leads.

    `category` is None where a finding is missing, and `needs` names it. `path` tells the branches
    that were taken in readable lines, `rows` are their rows with the source of each.
    """

    category: str | None
    needs: str | None
    rows: tuple[Branch, ...]
    path: tuple[str, ...]


@dataclass(frozen=True)
class Chart:
    """The branches of a published scheme, in the order of its text; it begins at the first step."""

    name: str
    branches: tuple[Branch, ...]

    @cached_property
    def categories(self) -> tuple[str, ...]:
        """What it leads to that is no step, in the order of its rows."""
        ends = (each.leads_to for each in self.branches)
        return tuple(dict.fromkeys(end for end in ends if end not in self._steps))

    @cached_property
    def findings(self) -> frozenset[str]:
        """Every finding that a branch asks for."""
        return frozenset(
            name for step in self._steps.values() for _, names, _ in step for name in names
        )

    def follow(self, known: Known, *, begins: str = "") -> Outcome:
        """The way through it for what is known; a finding that is missing or None is unknown.

        It begins at its first step, or at the one named, which must be one of the chart.
        """
        step, taken = begins or self.branches[0].step, list[Branch]()
        while step in self._steps:
            branch, needs = self._taken(step, known)
            if branch is None:
                return _outcome(None, needs, taken, known)
            taken.append(branch)
            step = branch.leads_to
        return _outcome(step, None, taken, known)

    def met(self, known: Known) -> tuple[Branch, ...]:
        """Every branch whose findings are so, whichever is taken, in the order of its rows."""
        return tuple(branch for branch in self._tests if self.is_met(branch, known))

    def is_met(self, branch: Branch, known: Known) -> bool:
        """Whether the findings of one branch are so; `KeyError` for one that is not of this chart,
        or that is taken otherwise."""
        return bool(self._tests[branch](known))

    def _taken(self, step: str, known: Known) -> tuple[Branch | None, str | None]:
        """The branch that is taken at a step, or the finding that is needed to say which."""
        needs: str | None = None
        for branch, names, test in self._steps[step]:
            fits = test(known)
            if fits and (branch.when != OTHERWISE or needs is None):
                return branch, None
            if fits is None and needs is None:
                needs = next(name for name in names if known.get(name) is None)
        return None, needs

    @cached_property
    def _tests(self) -> Mapping[Branch, Test]:
        """What each branch tests, without those that are taken otherwise."""
        rows = (row for step in self._steps.values() for row in step)
        return {branch: test for branch, _, test in rows if branch.when != OTHERWISE}

    @cached_property
    def _steps(self) -> Mapping[str, tuple[tuple[Branch, tuple[str, ...], Test], ...]]:
        read = [(each, *_read(each.when)) for each in self.branches]
        names = dict.fromkeys(each.step for each in self.branches)
        return {name: tuple(row for row in read if row[0].step == name) for name in names}


def chart(name: str) -> Chart:
    """The chart of a file beside this one; `TableError` for a row that cannot be read."""
    found = Chart(name, read_file(FOLDER / f"{name}.csv", Branch))
    # Read now: a row that is malformed is found when the program starts.
    if not found.findings:
        raise TableError(f"{name}.csv: it asks for nothing.")
    steps = list(dict.fromkeys(each.step for each in found.branches))
    for each in found.branches:
        if each.leads_to in steps[: steps.index(each.step) + 1]:
            raise TableError(f"{name}.csv, {each.step}: it leads back to {each.leads_to}.")
    return found


def _outcome(
    category: str | None, needs: str | None, taken: Iterable[Branch], known: Known
) -> Outcome:
    rows = tuple(taken)
    told = {name: _figure(value) for name, value in known.items()}
    return Outcome(category, needs, rows, tuple(each.words.format_map(told) for each in rows))


def _figure(value: Any) -> str:
    return f"{value:g}" if isinstance(value, int | float) else str(value)


def _read(when: str) -> tuple[tuple[str, ...], Test]:
    """The findings of a condition in their order, and its test: all of its parts hold."""
    if when == OTHERWISE:
        return (), lambda known: True
    parts = [_part(each) for each in when.split(", ")]
    tests = [test for _, test in parts]
    return tuple(dict.fromkeys(name for names, _ in parts for name in names)), _all(tests)


def _all(tests: Iterable[Test]) -> Test:
    """One that does not hold settles it, also where others cannot be said."""
    each = tuple(tests)

    def holds(known: Known) -> bool | None:
        found = [test(known) for test in each]
        return False if False in found else None if None in found else True

    return holds


def _part(text: str) -> tuple[tuple[str, ...], Test]:
    told = _CONDITION.fullmatch(text)
    if told is None or told["answer"] in _COMPARED:
        raise TableError(f"when: {text!r}; accepted is a finding and what it is.")
    finding, answer = told["finding"], told["answer"]
    if answer.endswith(" or untold"):
        wanted = _plain(answer.removesuffix(" or untold"))
        return (finding,), lambda known: known.get(finding) in (None, wanted)
    for word, compare in _COMPARED.items():
        if answer.startswith(f"{word} "):
            return _compared(finding, answer.removeprefix(f"{word} "), compare)
    if span := re.fullmatch(r"(\d+) to (\d+)", answer):
        least, most = map(int, span.groups())
        return (finding,), _known(finding, lambda value: least <= value <= most)
    if answer.startswith("has "):
        member = answer.removeprefix("has ")
        return (finding,), _known(finding, lambda value: member in value)
    wanted = _plain(answer)
    return (finding,), _known(finding, lambda value: value == wanted)


_COMPARED: Mapping[str, Callable[[Any, Any], bool]] = {
    "over": lambda value, limit: value > limit,
    "under": lambda value, limit: value < limit,
    "at most": lambda value, limit: value <= limit,
    "at least": lambda value, limit: value >= limit,
}


def _plain(answer: str) -> bool | str:
    return {"yes": True, "no": False}.get(answer, answer)


def _known(finding: str, test: Callable[[Any], bool]) -> Test:
    def holds(known: Known) -> bool | None:
        value = known.get(finding)
        return None if value is None else test(value)

    return holds


def _compared(
    finding: str, limit: str, compare: Callable[[Any, Any], bool]
) -> tuple[tuple[str, ...], Test]:
    """A comparison with a number, with another finding, or with a number and so many times one."""
    told = _LIMIT.fullmatch(limit)
    if told is None:
        raise TableError(f"when: {limit!r}; accepted is such as 30, 70 + 2 × age_y, or a finding.")
    by = told["other"] or told["by"]
    if by is None:
        fixed = int(told["least"])
        return (finding,), _known(finding, lambda value: compare(value, fixed))
    least, times = int(told["least"] or 0), int(told["times"] or 1)

    def holds(known: Known) -> bool | None:
        value, other = known.get(finding), known.get(by)
        if value is None or other is None:
            return None
        return compare(value, least + times * other)

    return (finding, by), holds
