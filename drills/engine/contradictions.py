"""Where two dose rules of one formulary say different things of the same patient.

Published rules do disagree: that is no fault of a file, and nothing here refuses one. It is for
whoever approves a formulary to look at.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations

from drills.engine.dosing.patient import RARE
from drills.engine.weights import weight_at

Bounds = tuple[Fraction | None, Fraction | None]
Uses = tuple[tuple[str, tuple[int, ...]], ...]

SAME_USE = "same use"
SAME_DOSE = "same dose"
CHILD_ABOVE_ADULT = "child above adult"
DOSE, MINIMUM, MAXIMUM = "dose", "minimum", "maximum"
TOTAL, TIME, INTERVAL = "total", "time to give", "interval"

# Words that tell one step of a treatment from the next, which is no contradiction.
_STEPS = {
    *("second", "third", "repeat", "later", "next"),
    *("starting", "loading", "maintenance", "push", "infusion"),
}
_FILLING = {
    *("or", "and", "of", "in", "a", "the", "to", "with", "without", "over", "under", "first"),
    *("kg", "y", "h"),
}
_SIZES = {"mcg": ("mcg", 1), "mg": ("mcg", 1_000), "g": ("mcg", 1_000_000), "L": ("mL", 1_000)}
_FIGURE = re.compile(r"([0-9][0-9,]*(?:\.[0-9]+)?) ?([A-Za-z]+)((?:/[A-Za-z%]+)*)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Stated:
    """A rule as it is printed. Amounts are texts such as `0.1 mg/kg`, empty where none is given.

    `ages` in years and `weights` in kg are from the first figure to below the second; None is no
    bound. `route` may name several, with a stroke between. `uses` are problems, each with the
    severities it is for; none is any. `over` and `interval` are minutes.
    """

    code: str
    medicine: str
    indication: str
    route: str
    dose: str
    dose_high: str = ""
    minimum: str = ""
    maximum: str = ""
    total: str = ""
    over: int | None = None
    interval: int | None = None
    ages: Bounds = (None, None)
    weights: Bounds = (None, None)
    uses: Uses = ()

    @property
    def printed(self) -> str:
        return f"{self.dose} to {self.dose_high}" if self.dose_high else self.dose

    @property
    def most(self) -> str:
        """The most of one dose: its maximum, or a fixed dose itself."""
        top = self.dose_high or self.dose
        return self.maximum or ("" if "/" in top else top)


@dataclass(frozen=True, slots=True)
class Differing:
    """One thing that two rules say differently, each in its own words."""

    name: str
    first: str
    second: str


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Two rules, by their codes, why they are held against each other, and what differs.

    `SAME_USE`: one patient would be under both. `SAME_DOSE`: one dose has two maximums, by what
    it is given for. `CHILD_ABOVE_ADULT`: a child may have more than an adult; that an adult's
    dose is a child's ceiling is printed in the introduction of a US protocol book of 2025.
    """

    first: str
    second: str
    kind: str
    differs: tuple[Differing, ...]


def contradictions(rules: Iterable[Stated]) -> tuple[Contradiction, ...]:
    """Every pair of rules that disagree, in the order of the rules."""
    return tuple(found for a, b in combinations(rules, 2) if (found := _between(a, b)))


def _between(a: Stated, b: Stated) -> Contradiction | None:
    if a.medicine != b.medicine or not _routes(a) & _routes(b) or _step(a) != _step(b):
        return None
    meets = _overlap(a.ages, b.ages) and _overlap(a.weights, b.weights)
    if meets and _same_use(a, b):
        return _told(a, b, SAME_USE, tuple(_differences(a, b)))
    if meets:
        return _told(a, b, SAME_DOSE, tuple(_two_caps(a, b)))
    return _told(a, b, CHILD_ABOVE_ADULT, tuple(_child_above(a, b)))


def _told(a: Stated, b: Stated, kind: str, differs: Sequence[Differing]) -> Contradiction | None:
    return Contradiction(a.code, b.code, kind, tuple(differs)) if differs else None


def _differences(a: Stated, b: Stated) -> Iterator[Differing]:
    """Dose and limits of one, each against the other's; a total, time or interval where both
    name one."""
    if _doses(a) != _doses(b):
        yield Differing(DOSE, a.printed, b.printed)
    for name, one, other in ((MINIMUM, a.minimum, b.minimum), (MAXIMUM, a.most, b.most)):
        if _read(one) != _read(other):
            yield Differing(name, one, other)
    for name, one, other in (
        (TOTAL, a.total, b.total),
        (TIME, _minutes(a.over), _minutes(b.over)),
        (INTERVAL, _minutes(a.interval), _minutes(b.interval)),
    ):
        if one and other and _read(one) != _read(other):
            yield Differing(name, one, other)


def _doses(rule: Stated) -> tuple[tuple[Fraction | None, str], ...]:
    return _read(rule.dose), _read(rule.dose_high or rule.dose)


def _minutes(minutes: int | None) -> str:
    return "" if minutes is None else f"{minutes} min"


def _two_caps(a: Stated, b: Stated) -> Iterator[Differing]:
    """One dose by weight with two maximums, by what it is given for."""
    if "/" not in a.dose or _doses(a) != _doses(b) or not (a.maximum and b.maximum):
        return
    if _read(a.maximum) != _read(b.maximum):
        yield Differing(MAXIMUM, a.maximum, b.maximum)


def _child_above(a: Stated, b: Stated) -> Iterator[Differing]:
    """A maximum of the younger that is above that of the older, for what both are given for."""
    if not (_same_use(a, b) or _words(a) & _words(b)):
        return
    if (_is_younger(a, b) and _is_more(a, b)) or (_is_younger(b, a) and _is_more(b, a)):
        yield Differing(MAXIMUM, _most_told(a), _most_told(b))


def _is_more(a: Stated, b: Stated) -> bool:
    """Whether the most of one is above the other's; amounts of another kind are not compared."""
    (one, unit), (other, of) = _most(a), _read(b.most)
    return one is not None and other is not None and unit == of and one > other


def _most(rule: Stated) -> tuple[Fraction | None, str]:
    """The most of one dose; by weight and without a maximum that of the heaviest of its ages."""
    kg = _heaviest_kg(rule)
    if rule.most or kg is None:
        return _read(rule.most)
    amount, unit = _read(rule.dose_high or rule.dose)
    if amount is None or "/kg" not in unit:
        return None, unit
    return amount * kg, unit.replace("/kg", "", 1)


def _most_told(rule: Stated) -> str:
    """The most in the rule's own words, or the dose by weight and how much the heaviest weigh."""
    return (
        rule.most or f"{rule.dose_high or rule.dose} without a maximum at {_heaviest_kg(rule)} kg"
    )


def _heaviest_kg(rule: Stated) -> int | None:
    """What whoever a rule is for weighs at most, in whole kg: its own limit, or what one in a
    thousand of its ages are above (that share is ours, no source); None where neither ends."""
    ends = [] if rule.weights[1] is None else [float(rule.weights[1])]
    if rule.ages[1]:
        ends.append(
            max(weight_at(1 - RARE, float(rule.ages[1]), is_female=f) for f in (True, False))
        )
    return int(min(ends)) if ends else None


def _is_younger(a: Stated, b: Stated) -> bool:
    below, start = a.ages[1], b.ages[0]
    return below is not None and start is not None and below <= start


def _same_use(a: Stated, b: Stated) -> bool:
    """By a problem that both are for, or by what they are for in words: all those of one."""
    return _words(a) <= _words(b) or _words(b) <= _words(a) or _shared(a.uses, b.uses)


def _shared(uses: Uses, others: Uses) -> bool:
    return any(
        use == other and (not severities or not theirs or bool({*severities} & {*theirs}))
        for use, severities in uses
        for other, theirs in others
    )


def _routes(rule: Stated) -> set[str]:
    return {each.strip().casefold() for each in rule.route.split("/")}


def _step(rule: Stated) -> set[str]:
    return _STEPS & set(re.findall(r"[^\W\d]+", rule.indication.casefold()))


def _words(rule: Stated) -> set[str]:
    return set(re.findall(r"[^\W\d]+", rule.indication.casefold())) - _FILLING - _STEPS


def _overlap(bounds: Bounds, others: Bounds) -> bool:
    starts = [each for each in (bounds[0], others[0]) if each is not None]
    ends = [each for each in (bounds[1], others[1]) if each is not None]
    return not starts or not ends or max(starts) < min(ends)


def _read(text: str) -> tuple[Fraction | None, str]:
    """A figure in the smallest unit of its kind; what reads as none is compared as it stands."""
    match = _FIGURE.fullmatch(text.strip())
    if match is None:
        return None, text.strip()
    unit, size = _SIZES.get(match[2], (match[2], 1))
    return Fraction(match[1].replace(",", "")) * size, unit + match[3]
