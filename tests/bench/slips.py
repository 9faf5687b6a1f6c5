"""How often the slip detector is right: problems, slips and answers made by another arithmetic.

Run it as `python -m tests.bench.slips`; with a number of problems it takes that many of each part
instead of 20,000. Each problem, what every slip with it gives, and how answers are written are
worked out here with plain fractions and nothing of the solver. It ends with status 1 where a
figure misses what we hold ourselves to.
"""

import sys
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from math import floor, log10
from random import Random

from drills.engine.dosing import RIGHT, judge
from drills.engine.dosing.reading import read_problem
from drills.engine.quantities import exact_text
from tests.bench.slip_cases import KINDS, Case

F = Fraction
LEAST_NAMED, MOST_FALSE = F(98, 100), F(6, 100)
WIDEST, SET_WITHIN = F(1, 50), F(1, 10)


def to_figures(amount: F, figures: int, *, down: bool = False) -> F:
    """So many figures of an amount."""
    step = F(10) ** (floor(log10(amount)) - figures + 1)
    return (amount / step + (0 if down else F(1, 2))).__floor__() * step


@dataclass(frozen=True)
class Way:
    """One way to write answers down: by the `marks` of the device, or with so many figures."""

    figures: int
    is_down: bool
    marks: Callable[[F], F] | None = None

    def __call__(self, amount: F) -> F:
        if self.marks is None:
            return to_figures(amount, self.figures, down=self.is_down)
        step = self.marks(amount)
        return (amount / step + (0 if self.is_down else F(1, 2))).__floor__() * step

    @property
    def widest(self) -> F:
        """How far off what a slip gives an answer still tells it: a device is set so far off."""
        return WIDEST if self.marks is None else SET_WITHIN


def ways(case: Case, random: Random) -> Way:
    """By the device, or with two to four figures."""
    figures = random.choice([0, 2, 3, 4])
    return Way(figures or 3, case.is_down, None if figures else case.marks)


def text(amount: F, unit: str) -> str:
    """As people write it: no needless zero, and a comma from 1,000."""
    whole, _, part = exact_text(amount).partition(".")
    return f"{int(whole):,}{'.' if part else ''}{part} {unit}"


@dataclass
class Counted:
    """What came of it."""

    pairs: int = 0
    named: int = 0
    left_out: Counter[str] = field(default_factory=Counter)
    ambiguous: Counter[str] = field(default_factory=Counter)
    missed: Counter[str] = field(default_factory=Counter)
    examples: list[str] = field(default_factory=list)


def slip_pairs(random: Random) -> Iterator[tuple[Case, str, F, Way]]:
    """Problems with one slip each, without end, every slip of a kind as often."""
    while True:
        case = random.choice(KINDS)(random)
        made = case.every_slip()
        slip = random.choice(sorted(made))
        yield case, slip, random.choice(made[slip]), ways(case, random)


def _undecided(case: Case, slip: str, value: F, write: Way) -> str:
    """Why what was written does not tell this slip from all else; empty where it does."""
    written = write(value)
    if not written or abs(written - value) > write.widest * value:
        return "written too coarsely to tell what the slip gives"
    if written == write(case.right) or abs(value - case.right) < F(1, 1000) * case.right:
        return "written as the right answer would be"
    same = [
        key
        for key, values in case.every_slip().items()
        if key != slip and any(write(each) == written for each in values if each)
    ]
    return "ambiguous: " + " = ".join(sorted([slip, *same])) if same else ""


def count_pairs(random: Random, many: int) -> Counted:
    """The right slip is named alone, wherever what was written tells it from all others."""
    found = Counted()
    for case, slip, value, write in slip_pairs(random):
        if found.pairs == many:
            return found
        if why := _undecided(case, slip, value, write):
            group, _, which = why.partition(": ")
            found.left_out[group] += 1
            if group == "ambiguous":
                found.ambiguous[which] += 1
            continue
        judged = judge(read_problem(case.problem), case.asked, text(write(value), case.unit))
        if judged.verdict == RIGHT:
            found.left_out["right by the marks of the device"] += 1
            continue
        found.pairs += 1
        named = [each.key for each in judged.slips]
        found.named += named == [slip]
        if named != [slip]:
            found.missed[f"{slip} -> {' + '.join(named) or 'nothing'}"] += 1
            written = text(write(value), case.unit)
            found.examples.append(f"{slip}: {written} is {named} as {case.asked} of {case.problem}")
    return found


def count_right(random: Random, many: int) -> tuple[int, list[str]]:
    """How many right answers are called a slip, and those that are not judged right.

    Each is worked out here, and written as its device or a calculator shows it.
    """
    called, otherwise = 0, []
    for _ in range(many):
        case = random.choice(KINDS)(random)
        # What a device measures as it shows it, or as a calculator does; else three figures, and
        # all before the point.
        figures = 6 if case.marks else max(3, floor(log10(case.right)) + 1)
        way = Way(figures, case.is_down, random.choice([case.marks, None]))
        amount = way(case.right)
        is_far = not amount or abs(amount - case.right) >= way.widest * case.right
        if is_far and not case.is_down:
            amount = case.right  # no mark comes near: the figure itself
        if case.most is not None and amount > case.most:
            amount = to_figures(case.most, 6, down=True)
        entered = text(amount, case.unit)
        judged = judge(read_problem(case.problem), case.asked, entered)
        called += bool(judged.slips)
        if judged.verdict != RIGHT:
            otherwise.append(f"{entered} is {judged.verdict} as {case.asked} of {case.problem}")
    return called, otherwise


def count_wrong(random: Random, many: int) -> tuple[int, Counter[str]]:
    """How many answers that no slip made are given a name all the same."""
    named, names = 0, Counter[str]()
    for _ in range(many):
        case = random.choice(KINDS)(random)
        off = 1.0
        while abs(off - 1) < 0.2:
            off = 10 ** random.uniform(-2, 2)
        amount = ways(case, random)(case.right * F(off))
        if amount <= 0 or abs(amount / case.right - 1) < F(1, 5):
            amount = to_figures(case.right * F(off), 3)
        found = judge(read_problem(case.problem), case.asked, text(amount, case.unit)).slips
        named += bool(found)
        names.update(each.key for each in found)
    return named, names


def listed(counter: Counter[str]) -> str:
    """The commonest first, a line each."""
    return "".join(f"    {times:6} {what}\n" for what, times in counter.most_common(40))


def main(many: int, seed: int = 20) -> int:
    """Print the figures; 1 where one misses its bound."""
    tell = sys.stdout.write
    random = Random(seed)  # noqa: S311 - problems, no secrets
    pairs = count_pairs(random, many)
    share = pairs.named / pairs.pairs
    tell(f"Slips: {pairs.named} of {pairs.pairs} named alone, {share:.2%} (98% or more)\n")
    for name, counter in (
        ("left out", pairs.left_out),
        ("ambiguous", pairs.ambiguous),
        ("missed", pairs.missed),
    ):
        tell(f"  {name}: {counter.total()}\n" + listed(counter))
    for each in pairs.examples[:5]:
        tell(f"  such as {each}\n")
    called, otherwise = count_right(random, many)
    tell(f"Right answers called a slip: {called} of {many} (none)\n")
    tell(f"Right answers not judged right: {len(otherwise)} of {many} (none)\n")
    for each in otherwise[:5]:
        tell(f"  such as {each}\n")
    named, names = count_wrong(random, many)
    share = named / many
    tell(f"Wrong answers of no slip given a name: {named} of {many}, {share:.2%} (at most 6%)\n")
    tell(listed(names))
    is_kept = pairs.named >= LEAST_NAMED * pairs.pairs and named <= MOST_FALSE * many
    return 0 if is_kept and not called and not otherwise else 1


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 20_000))
